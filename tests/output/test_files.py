"""Single files: what isn't layercut's own is refused, and what is replaced passes on its rights and names."""

import os
import stat
from pathlib import Path

import pytest

from layercut.cli import main
from layercut.errors import OutputError
from layercut.output import files
from layercut.output.files import check_file, write_file
from layercut.output.seal import is_sealed, seal_svg

DRAWING = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="90mm" height="90mm" viewBox="0 0 90 90">'
    '<g id="back"><rect width="90" height="90"/></g><g id="front"><rect y="50" width="90" height="40"/></g></svg>'
)
OWN = seal_svg(b"<svg/>\n")


def test_only_its_own_file_may_be_written_over(tmp_path: Path) -> None:
    path = tmp_path / "a.svg"
    check_file(path, force=False)
    path.write_bytes(OWN)
    check_file(path, force=False)
    path.write_bytes(OWN + b"<!-- mine -->")
    with pytest.raises(OutputError) as caught:
        check_file(path, force=False)
    assert caught.value.code == "file-exists"
    assert "--force" in caught.value.hint
    check_file(path, force=True)


def test_a_folder_or_device_is_never_written_over(tmp_path: Path) -> None:
    (tmp_path / "folder").mkdir()
    for path in (tmp_path / "folder", Path("/dev/null")):
        with pytest.raises(OutputError) as caught:
            check_file(path, force=True)
        assert caught.value.code == "output-unwritable"


@pytest.mark.skipif(os.name == "nt", reason="permissions of POSIX")
def test_rights_and_group_stay(tmp_path: Path) -> None:
    path = tmp_path / "a.svg"
    path.write_bytes(b"old")
    path.chmod(0o604)
    if os.geteuid() == 0:
        os.chown(path, 1234, 4321)
    write_file(path, b"new")
    status = path.stat()
    assert path.read_bytes() == b"new"
    assert stat.S_IMODE(status.st_mode) == 0o604
    if os.geteuid() == 0:
        assert (status.st_uid, status.st_gid) == (1234, 4321)


@pytest.mark.parametrize(("old", "new"), [(b"old", b"longer than that"), (b"longer than that", b"new")])
def test_other_names_of_a_file_name_the_new_content(tmp_path: Path, old: bytes, new: bytes) -> None:
    path, other = tmp_path / "a.svg", tmp_path / "b.svg"
    path.write_bytes(old)
    os.link(path, other)
    write_file(path, new)
    assert other.read_bytes() == path.read_bytes() == new
    assert path.stat().st_nlink == 2
    assert sorted(entry.name for entry in tmp_path.iterdir()) == ["a.svg", "b.svg"]


def test_a_file_of_two_names_gets_its_content_back_when_writing_fails(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "a.svg"
    path.write_bytes(b"old and whole")
    os.link(path, tmp_path / "b.svg")
    real, calls = files._pour, []

    def pour(source: Path, target: Path) -> None:
        calls.append(source)
        if len(calls) == 1:
            target.write_bytes(b"ne")
            raise OSError(5, "Input/output error")
        real(source, target)

    monkeypatch.setattr(files, "_pour", pour)
    with pytest.raises(OutputError, match="Input/output error"):
        write_file(path, b"new")
    assert path.read_bytes() == b"old and whole"


def test_preview_writes_over_its_own_picture_only(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    drawing, picture, other = (tmp_path / name for name in ("house.svg", "house.png", "garden.svg"))
    drawing.write_text(DRAWING)
    other.write_text(DRAWING)
    words = ["preview", str(drawing), "--width", "60", "-o"]
    assert main([*words, str(picture)]) == 0
    first = picture.read_bytes()
    assert is_sealed(first)
    assert main([*words, str(picture)]) == 0
    assert picture.read_bytes() == first
    capsys.readouterr()
    assert main([*words, str(other)]) == 2
    assert "garden.svg: is there already" in capsys.readouterr().err
    assert other.read_text() == DRAWING
    assert main([*words, str(other), "--force"]) == 0
    assert is_sealed(other.read_bytes())
    assert main([*words, str(drawing), "--force"]) == 2  # the drawing itself is never written over
    assert drawing.read_text() == DRAWING


def test_start_and_coupon_write_over_what_nobody_changed(tmp_path: Path) -> None:
    start = ["start", str(tmp_path / "house"), "--panel", "12in x 9in", "--width"]
    coupon = ["coupon", "-o", str(tmp_path / "coupon.svg"), "--length"]
    assert main([*start, "36ft"]) == main([*coupon, "50mm"]) == 0
    before = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
    assert all(map(is_sealed, before.values()))
    assert main([*start, "24ft"]) == main([*coupon, "60mm"]) == 0
    after = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
    assert after.keys() == before.keys()
    assert after["house.svg"] != before["house.svg"]
    assert after["coupon.svg"] != before["coupon.svg"]
    for name in ("house.svg", "coupon.svg"):
        (tmp_path / name).write_bytes(after[name].replace(b"</svg>", b"<path d='M1 1h9'/></svg>"))
    mine = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
    assert main([*start, "36ft"]) == main([*coupon, "50mm"]) == 2
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == mine
    assert main([*start, "36ft", "--force"]) == main([*coupon, "50mm", "--force"]) == 0
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == before
