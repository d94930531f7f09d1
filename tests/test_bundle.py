"""Bundles: what one machine packs another unpacks and verifies, and every harm to it is told.

Python's own `zipfile` and `hashlib` are the outside that reads them.
"""

import hashlib
import io
import shutil
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest

from layercut.cli import main
from layercut.errors import DrawingError, LayercutError, OutputError
from layercut.output.bundle import bundle_files, write_bundle, zipped
from layercut.proof.verify import verify_folder

DRAWING = """<svg xmlns="http://www.w3.org/2000/svg" width="80mm" height="60mm" viewBox="0 0 80 60">
<g id="sky"><rect width="80" height="60" fill="#a9cfe0"/></g>
<g id="boat"><path fill="#7a3b2e" d="M0 45H80V60H0Z"/><path fill="#ffffff" d="M40 10L60 46H40Z"/></g>
</svg>"""


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A drawing with its job file and its compiled folder."""
    home = tmp_path_factory.mktemp("bundle")
    (home / "boat.svg").write_text(DRAWING)
    (home / "boat.toml").write_text('[material]\nname = "birch plywood"\n')
    assert main(["compile", str(home / "boat.svg")]) == 0
    return home


@pytest.fixture(scope="module")
def packed(home: Path) -> Path:
    path = home / "boat.zip"
    assert main(["bundle", str(home / "boat-sheets"), "-o", str(path)]) == 0
    return path


def names(path: Path) -> set[str]:
    with zipfile.ZipFile(path) as archive:
        assert archive.testzip() is None
        return set(archive.namelist())


def test_a_bundle_holds_the_folder_the_drawing_and_the_job(home: Path, packed: Path) -> None:
    folder = home / "boat-sheets"
    inside = {path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file()}
    assert names(packed) == {*inside, "drawing/boat.svg", "drawing/boat.toml", "SHA256SUMS"}
    with zipfile.ZipFile(packed) as archive:
        for name in inside:
            assert archive.read(name) == (folder / name).read_bytes()
        assert archive.read("drawing/boat.svg") == (home / "boat.svg").read_bytes()
        lines = archive.read("SHA256SUMS").decode().splitlines()
        listed = {name: sha256 for sha256, _, name in (line.partition("  ") for line in lines)}
        for name in names(packed) - {"SHA256SUMS"}:
            assert listed[name] == hashlib.sha256(archive.read(name)).hexdigest()


def test_it_verifies_elsewhere(packed: Path, tmp_path: Path) -> None:
    moved = Path(shutil.copy(packed, tmp_path / "from a friend.zip"))
    assert verify_folder(moved).holds
    assert main(["verify", str(moved)]) == 0


def test_the_same_input_gives_the_same_bytes(home: Path, packed: Path, tmp_path: Path) -> None:
    again = tmp_path / "again.zip"
    write_bundle(home / "boat-sheets", again)
    assert again.read_bytes() == packed.read_bytes()


def test_nothing_of_when_or_how_it_was_packed_is_in_it(packed: Path) -> None:
    with zipfile.ZipFile(packed) as archive:
        entries = archive.infolist()
    assert {entry.date_time for entry in entries} == {(1980, 1, 1, 0, 0, 0)}
    assert {entry.compress_type for entry in entries} == {zipfile.ZIP_STORED}
    assert [entry.filename for entry in entries] == sorted(entry.filename for entry in entries)


def with_changed(files: dict[str, bytes]) -> dict[str, bytes]:
    return {**files, "sheets/01-sky.svg": files["sheets/01-sky.svg"].replace(b"M", b"M ", 1)}


def without_drawing(files: dict[str, bytes]) -> dict[str, bytes]:
    return {name: data for name, data in files.items() if name != "drawing/boat.svg"}


def with_stranger(files: dict[str, bytes]) -> dict[str, bytes]:
    return {**files, "sheets/09-extra.svg": files["sheets/01-sky.svg"]}


def without_list(files: dict[str, bytes]) -> dict[str, bytes]:
    return {name: data for name, data in files.items() if name != "SHA256SUMS"}


def with_other_drawing(files: dict[str, bytes]) -> dict[str, bytes]:
    other = {**without_list(files), "drawing/boat.svg": b"<svg/>"}
    sums = "".join(f"{hashlib.sha256(other[name]).hexdigest()}  {name}\n" for name in sorted(other))
    return {**other, "SHA256SUMS": sums.encode()}


@pytest.mark.parametrize(
    ("harm", "told"),
    [
        (with_changed, "sheets/01-sky.svg"),
        (without_drawing, "drawing/boat.svg"),
        (with_stranger, "sheets/09-extra.svg"),
        (without_list, "SHA256SUMS"),
        (with_other_drawing, "drawing"),
    ],
)
def test_every_harm_is_told(
    harm: Callable[[dict[str, bytes]], dict[str, bytes]], told: str, home: Path, tmp_path: Path
) -> None:
    path = tmp_path / "harmed.zip"
    path.write_bytes(zipped(harm(bundle_files(home / "boat-sheets"))))
    verdict = verify_folder(path)
    assert not verdict.holds
    assert told in {one.file for one in verdict.failures if one.code == "bundle-differs"}


def entry(name: str, mode: int = 0o100644) -> bytes:
    data = io.BytesIO()
    with zipfile.ZipFile(data, "w") as archive:
        info = zipfile.ZipInfo(name)
        info.external_attr = mode << 16
        archive.writestr(info, b"there")
    return data.getvalue()


@pytest.mark.parametrize(
    "data",
    [
        entry("../out.svg"),
        entry("/out.svg"),
        entry("a\\..\\b.svg"),
        entry("link", 0o120777),
        b"PK\3\4 and no more",
        b"",
    ],
    ids=["parent", "root", "backslash", "link", "cut off", "empty"],
)
def test_what_layercut_never_packs_is_refused_whole(data: bytes, tmp_path: Path) -> None:
    path = tmp_path / "odd.zip"
    path.write_bytes(data)
    with pytest.raises(DrawingError) as caught:
        verify_folder(path)
    assert caught.value.code == "bundle-unreadable"
    assert [one.name for one in tmp_path.iterdir()] == ["odd.zip"]


def test_a_bundle_without_a_folder_in_it_is_named_by_its_own_path(tmp_path: Path) -> None:
    path = tmp_path / "other.zip"
    path.write_bytes(entry("photo.jpg"))
    with pytest.raises(DrawingError, match=r"no manifest\.json") as caught:
        verify_folder(path)
    assert caught.value.file == str(path)


def copied(home: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(home, tmp_path / "home"))


def test_a_drawing_that_was_changed_since_is_not_packed(home: Path, tmp_path: Path) -> None:
    mine = copied(home, tmp_path)
    (mine / "boat.svg").write_text(DRAWING.replace("#ffffff", "#fffff0"))
    with pytest.raises(OutputError, match="changed since"):
        write_bundle(mine / "boat-sheets", tmp_path / "boat.zip")
    assert not (tmp_path / "boat.zip").exists()


def test_a_drawing_elsewhere_is_named(home: Path, tmp_path: Path) -> None:
    mine = copied(home, tmp_path)
    (mine / "boat.svg").rename(mine / "kept.svg")
    with pytest.raises(OutputError) as caught:
        write_bundle(mine / "boat-sheets", tmp_path / "boat.zip")
    assert "--drawing" in caught.value.hint
    write_bundle(mine / "boat-sheets", tmp_path / "boat.zip", drawing=mine / "kept.svg", job=mine / "boat.toml")
    assert {"drawing/kept.svg", "drawing/boat.toml"} <= names(tmp_path / "boat.zip")
    assert verify_folder(tmp_path / "boat.zip").holds


def test_a_folder_that_does_not_hold_is_not_packed(home: Path, tmp_path: Path) -> None:
    mine = copied(home, tmp_path)
    (mine / "boat-sheets" / "stack.svg").write_text("<svg/>")
    assert main(["bundle", str(mine / "boat-sheets"), "-o", str(tmp_path / "boat.zip")]) == 1
    assert not (tmp_path / "boat.zip").exists()


@pytest.mark.parametrize(("name", "code"), [("boat.rar", "bundle-name"), ("taken.zip", "file-exists")])
def test_a_wrong_name_is_told_before_the_work(name: str, code: str, home: Path, tmp_path: Path) -> None:
    (tmp_path / "taken.zip").write_bytes(b"someone's")
    with pytest.raises(LayercutError) as caught:
        write_bundle(home / "boat-sheets", tmp_path / name)
    assert caught.value.code == code
    assert (tmp_path / "taken.zip").read_bytes() == b"someone's"
