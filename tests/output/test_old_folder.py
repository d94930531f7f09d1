"""What is there already: only what layercut wrote, and nobody changed, is replaced; all else stays."""

import json
import os
import stat
import sys
from pathlib import Path

import pytest
from own_folder import with_manifest

from layercut.cli import main
from layercut.errors import OutputError
from layercut.output import folder as folder_module
from layercut.output.folder import write_folder

FILES = with_manifest({"stack.svg": b"<svg/>", "sheets/01-sky.svg": b"<svg/>", "paint/01-sky.svg": b"<svg/>"})
NEW = with_manifest({"stack.svg": b"<svg>new</svg>"})
DRAWING = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="90mm" height="90mm" viewBox="0 0 90 90">'
    '<g id="back"><rect width="90" height="90"/></g><g id="front"><rect y="50" width="90" height="40"/></g></svg>'
)


def tree(folder: Path) -> dict[str, bytes]:
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def refused(folder: Path, name: str) -> str:
    """The sentence with which a folder is refused, which names the file, and nothing changes."""
    before = tree(folder.parent)
    with pytest.raises(OutputError) as caught:
        write_folder(folder, NEW)
    assert tree(folder.parent) == before
    assert caught.value.exit_code == 2
    assert f"'{name}'" in caught.value.message
    assert "--keep-old" in caught.value.hint
    return caught.value.message


@pytest.mark.parametrize("name", ["sheets/mine.svg", "paint/mine.svg", "notes.txt", "sheets/old/01.svg", ".hidden"])
def test_a_strange_file_is_refused_by_name(tmp_path: Path, name: str) -> None:
    write_folder(tmp_path / "out", FILES)
    (tmp_path / "out" / name).parent.mkdir(exist_ok=True)
    (tmp_path / "out" / name).write_bytes(b"<svg/>")
    shown = "sheets/old" if "old" in name else name
    assert "which layercut didn't write" in refused(tmp_path / "out", shown)


@pytest.mark.parametrize("name", ["stack.svg", "sheets/01-sky.svg", "paint/01-sky.svg"])
def test_a_file_that_was_edited_by_hand_is_refused_by_name(tmp_path: Path, name: str) -> None:
    write_folder(tmp_path / "out", FILES)
    (tmp_path / "out" / name).write_bytes(b"<svg>mine</svg>")
    assert "was changed since layercut wrote it" in refused(tmp_path / "out", name)


@pytest.mark.parametrize("name", ["stack.svg", "sheets", "sheets/01-sky.svg", "manifest.json"])
def test_a_link_in_the_place_of_a_file_is_refused(tmp_path: Path, name: str) -> None:
    write_folder(tmp_path / "out", FILES)
    (tmp_path / "out" / name).rename(tmp_path / "moved")
    (tmp_path / "out" / name).symlink_to(tmp_path / "moved")
    if name == "manifest.json":
        write_folder(tmp_path / "out", NEW)  # only the link goes
        assert (tmp_path / "moved").exists()
    else:
        refused(tmp_path / "out", name)


def test_an_edited_manifest_is_refused(tmp_path: Path) -> None:
    write_folder(tmp_path / "out", FILES)
    manifest = tmp_path / "out" / "manifest.json"
    manifest.write_text(json.dumps({**json.loads(manifest.read_text()), "note": "mine"}))
    assert "changed" in refused(tmp_path / "out", "manifest.json")


def test_a_folder_of_an_earlier_layercut_is_refused_in_a_clear_sentence(tmp_path: Path) -> None:
    write_folder(tmp_path / "out", FILES)
    manifest = tmp_path / "out" / "manifest.json"
    document = json.loads(manifest.read_text())
    del document["files"]
    manifest.write_text(json.dumps(document, indent=2) + "\n")
    assert "of an earlier layercut, which doesn't say which files are its own" in refused(
        tmp_path / "out", "manifest.json"
    )


@pytest.mark.parametrize(
    "text", ['{"format": 1}', '{"name": "app", "format": 2, "sheets": []}', "[]", "{", '{"files": []}']
)
def test_a_folder_of_another_program_is_refused(tmp_path: Path, text: str) -> None:
    (tmp_path / "out" / "sheets").mkdir(parents=True)
    (tmp_path / "out" / "manifest.json").write_text(text)
    (tmp_path / "out" / "sheets" / "a.svg").write_text("precious")
    assert "which layercut didn't write" in refused(tmp_path / "out", "manifest.json")


@pytest.mark.parametrize("files", ['"all"', "[1]", '[{"file": ["a"], "sha256": 1}]', "{}"])
def test_odd_lists_of_files_are_no_fault(tmp_path: Path, files: str) -> None:
    write_folder(tmp_path / "out", FILES)
    manifest = tmp_path / "out" / "manifest.json"
    document = {**json.loads(manifest.read_text()), "files": json.loads(files)}
    manifest.write_text(json.dumps(document, indent=2) + "\n")
    with pytest.raises(OutputError, match="didn't write"):
        write_folder(tmp_path / "out", NEW)


def test_what_the_maker_took_away_is_no_matter(tmp_path: Path) -> None:
    write_folder(tmp_path / "out", FILES)
    (tmp_path / "out" / "sheets" / "01-sky.svg").unlink()
    write_folder(tmp_path / "out", NEW)
    assert tree(tmp_path / "out") == NEW


@pytest.mark.parametrize("in_one_step", [True, False])
def test_the_old_folder_is_set_aside_under_the_first_free_number(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, in_one_step: bool
) -> None:
    if not in_one_step:
        monkeypatch.setattr(folder_module, "exchange", lambda *_: False)
    target = tmp_path / "out"
    assert write_folder(target, FILES, keep_old=True) is None
    (target / "mine.txt").write_bytes(b"mine")
    assert write_folder(target, NEW, keep_old=True) == tmp_path / "out-old-1"
    assert tree(tmp_path / "out-old-1") == {**FILES, "mine.txt": b"mine"}
    (tmp_path / "out-old-2").write_bytes(b"in the way")
    assert write_folder(target, FILES, keep_old=True) == tmp_path / "out-old-3"
    assert tree(tmp_path / "out-old-3") == NEW
    assert tree(target) == FILES
    assert sorted(path.name for path in tmp_path.iterdir()) == ["out", "out-old-1", "out-old-2", "out-old-3"]


@pytest.mark.parametrize("in_one_step", [True, False])
def test_setting_aside_that_fails_leaves_everything_as_it_was(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, in_one_step: bool
) -> None:
    target = tmp_path / "out"
    write_folder(target, FILES)

    def fail(*_: object) -> bool:
        raise OSError(5, "Input/output error")

    if in_one_step:
        monkeypatch.setattr(folder_module, "exchange", fail)
    else:
        real, calls = Path.rename, []

        def rename(self: Path, other: Path) -> Path:
            calls.append(other)
            return real(self, other) if len(calls) != 4 else fail()  # type: ignore[return-value]

        monkeypatch.setattr(folder_module, "exchange", lambda *_: False)
        monkeypatch.setattr(Path, "rename", rename)
    with pytest.raises(OutputError, match="Input/output error"):
        write_folder(target, NEW, keep_old=True)
    assert tree(tmp_path) == {f"out/{name}": data for name, data in FILES.items()}
    assert [path.name for path in tmp_path.iterdir()] == ["out"]


@pytest.mark.parametrize("in_one_step", [True, False])
def test_a_file_that_is_put_in_at_the_last_moment_is_not_lost(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, in_one_step: bool
) -> None:
    target = tmp_path / "out"
    write_folder(target, FILES)
    whole = folder_module.exchange
    done: list[int] = []

    def late(first: Path, second: Path) -> bool:
        if not done:
            done.append((target / "late.txt").write_bytes(b"mine"))
        return in_one_step and whole(first, second)

    monkeypatch.setattr(folder_module, "exchange", late)
    with pytest.raises(OutputError, match=r"late\.txt"):
        write_folder(target, NEW)
    assert tree(tmp_path) == {f"out/{name}": data for name, data in {**FILES, "late.txt": b"mine"}.items()}


@pytest.mark.skipif(os.name == "nt", reason="permissions of POSIX")
def test_rights_go_on_to_the_new_folder(tmp_path: Path) -> None:
    target = tmp_path / "out"
    write_folder(target, FILES)
    (target / "sheets").chmod(0o750)
    (target / "sheets" / "01-sky.svg").chmod(0o640)
    target.chmod(0o2775)
    if os.geteuid() == 0:
        os.chown(target, -1, 4321)
    write_folder(target, FILES)
    assert stat.S_IMODE(target.stat().st_mode) == 0o2775
    assert stat.S_IMODE((target / "sheets").stat().st_mode) == 0o750
    assert stat.S_IMODE((target / "sheets" / "01-sky.svg").stat().st_mode) == 0o640
    if os.geteuid() == 0:
        assert target.stat().st_gid == 4321


def test_compile_says_where_the_old_folder_is(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    drawing = tmp_path / "house.svg"
    drawing.write_text(DRAWING)
    assert main(["compile", str(drawing)]) == 0
    assert main(["compile", str(drawing)]) == 0  # unchanged: replaced without a word
    sheet = tmp_path / "house-sheets" / "sheets" / "01-back.svg"
    sheet.write_text(sheet.read_text().replace("<title>", "<!-- mine --><title>"))
    capsys.readouterr()
    assert main(["compile", str(drawing)]) == 2
    assert "'sheets/01-back.svg', which was changed since layercut wrote it" in capsys.readouterr().err
    assert main(["compile", str(drawing), "--keep-old"]) == 0
    assert "house-sheets-old-1" in capsys.readouterr().err
    assert "mine" in (tmp_path / "house-sheets-old-1" / "sheets" / "01-back.svg").read_text()


def test_keep_old_never_takes_the_drawing_along(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    drawing = tmp_path / "house.svg"
    drawing.write_text(DRAWING)
    assert main(["compile", str(drawing), "--out", str(tmp_path), "--keep-old"]) == 2
    assert "itself" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == [drawing]


if sys.platform == "win32":  # links need rights there that a test hasn't
    del test_a_link_in_the_place_of_a_file_is_refused
