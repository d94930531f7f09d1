"""The folder appears whole or not at all, and nothing of the maker's is lost."""

import os
import stat
from collections.abc import Callable
from pathlib import Path

import pytest
from own_folder import with_manifest

from layercut.errors import InternalError, OutputError
from layercut.output.files import write_file
from layercut.output.folder import check_folder, write_folder

FILES = with_manifest({"stack.svg": b"<svg/>", "sheets/01-sky.svg": b"<svg/>"})


def tree(folder: Path) -> dict[str, bytes]:
    """Every file under a folder, hidden ones too, by relative name."""
    return {
        path.relative_to(folder).as_posix(): path.read_bytes() for path in sorted(folder.rglob("*")) if path.is_file()
    }


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def test_writes_every_file_and_leaves_nothing_beside(tmp_path: Path) -> None:
    write_folder(tmp_path / "out", FILES)
    assert tree(tmp_path / "out") == FILES
    assert names(tmp_path) == ["out"]


def test_makes_missing_parents(tmp_path: Path) -> None:
    write_folder(tmp_path / "a" / "b" / "out", FILES)
    assert tree(tmp_path / "a" / "b" / "out") == FILES


def test_replaces_its_own_folder_whole(tmp_path: Path) -> None:
    write_folder(tmp_path / "out", with_manifest({"sheets/02-old.svg": b"old", "paint/01-sky.svg": b"old"}))
    write_folder(tmp_path / "out", FILES)
    assert tree(tmp_path / "out") == FILES
    assert names(tmp_path) == ["out"]


def test_fills_an_empty_folder(tmp_path: Path) -> None:
    (tmp_path / "out").mkdir()
    write_folder(tmp_path / "out", FILES)
    assert tree(tmp_path / "out") == FILES


@pytest.mark.parametrize(
    "manifest",
    [None, b"", b"{}", b"[1]", b'{"form', b"\xff\xfe", b"[" * 100_000],
    ids=["none", "empty", "no-format", "list", "broken", "binary", "deep"],
)
def test_refuses_a_folder_that_is_not_ours(tmp_path: Path, manifest: bytes | None) -> None:
    folder = tmp_path / "photos"
    folder.mkdir()
    (folder / "a.jpg").write_bytes(b"precious")
    if manifest is not None:
        (folder / "manifest.json").write_bytes(manifest)
    before = tree(tmp_path)
    with pytest.raises(OutputError) as caught:
        write_folder(folder, FILES)
    assert caught.value.code == "folder-not-ours"
    assert "photos" in caught.value.sentence()
    assert "a.jpg" in caught.value.sentence()
    assert tree(tmp_path) == before


def test_a_manifest_of_another_program_does_not_make_a_folder_ours(tmp_path: Path) -> None:
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "manifest.json").write_bytes(b'{"name": "another"}')
    with pytest.raises(OutputError, match=r"'manifest\.json'"):
        write_folder(tmp_path / "out", FILES)
    assert tree(tmp_path / "out") == {"manifest.json": b'{"name": "another"}'}


@pytest.mark.parametrize("name", ["notes.txt", "sheets/01-sky.project", "house.svg", "sheets/old/01-sky.svg"])
def test_refuses_to_lose_what_the_maker_put_into_our_folder(tmp_path: Path, name: str) -> None:
    write_folder(tmp_path / "out", FILES)
    mine = tmp_path / "out" / name
    mine.parent.mkdir(exist_ok=True)
    mine.write_bytes(b"mine")
    before = tree(tmp_path)
    with pytest.raises(OutputError, match=r"didn't write"):
        write_folder(tmp_path / "out", FILES)
    assert tree(tmp_path) == before


def test_does_not_mind_what_file_managers_leave(tmp_path: Path) -> None:
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / ".DS_Store").write_bytes(b"x")
    write_folder(tmp_path / "out", FILES)
    (tmp_path / "out" / "sheets" / "Thumbs.db").write_bytes(b"x")
    write_folder(tmp_path / "out", FILES)
    assert tree(tmp_path / "out") == FILES


def test_refuses_a_folder_that_holds_an_input(tmp_path: Path) -> None:
    write_folder(tmp_path / "out", FILES)
    with pytest.raises(OutputError, match="itself"):
        check_folder(tmp_path / "out", inputs=[tmp_path / "out" / "sheets" / "01-sky.svg"])
    check_folder(tmp_path / "out", inputs=[tmp_path / "house.svg"])


def test_refuses_the_working_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "out" / "in").mkdir(parents=True)
    monkeypatch.chdir(tmp_path / "out" / "in")
    with pytest.raises(OutputError, match="working in"):
        write_folder(Path(), FILES)
    with pytest.raises(OutputError, match="working in"):
        write_folder(tmp_path / "out", FILES)


def test_refuses_a_file_in_the_way(tmp_path: Path) -> None:
    (tmp_path / "out").write_bytes(b"precious")
    for folder in (tmp_path / "out", tmp_path / "out" / "deeper"):
        with pytest.raises(OutputError) as caught:
            write_folder(folder, FILES)
        assert "\n" not in caught.value.sentence()
    assert tree(tmp_path) == {"out": b"precious"}


def test_follows_a_link_to_a_folder_and_keeps_it(tmp_path: Path) -> None:
    (tmp_path / "real").mkdir()
    (tmp_path / "link").symlink_to("real")
    write_folder(tmp_path / "link", FILES)
    assert (tmp_path / "link").is_symlink()
    assert tree(tmp_path / "real") == FILES


def test_a_loop_of_links_is_one_sentence(tmp_path: Path) -> None:
    (tmp_path / "a").symlink_to("b")
    (tmp_path / "b").symlink_to("a")
    writers: tuple[Callable[[], object], ...] = (
        lambda: write_folder(tmp_path / "a", FILES),
        lambda: write_file(tmp_path / "a", b"x"),
    )
    for write in writers:
        with pytest.raises(OutputError) as caught:
            write()
        assert caught.value.code == "output-unwritable"
    assert names(tmp_path) == ["a", "b"]


def test_a_link_inside_our_folder_is_not_followed(tmp_path: Path) -> None:
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine" / "a.svg").write_bytes(b"precious")
    write_folder(tmp_path / "out", with_manifest({}))
    (tmp_path / "out" / "sheets").symlink_to(tmp_path / "mine")
    with pytest.raises(OutputError, match="sheets"):
        write_folder(tmp_path / "out", FILES)
    assert (tmp_path / "mine" / "a.svg").read_bytes() == b"precious"


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="nothing is read-only to the superuser")
def test_a_read_only_parent_is_one_sentence(tmp_path: Path) -> None:
    tmp_path.chmod(0o555)
    try:
        with pytest.raises(OutputError, match="denied"):
            write_folder(tmp_path / "out", FILES)
    finally:
        tmp_path.chmod(0o755)


def test_a_name_that_is_too_long_is_one_sentence(tmp_path: Path) -> None:
    with pytest.raises(OutputError) as caught:
        write_folder(tmp_path / ("x" * 300), FILES)
    assert caught.value.code == "output-unwritable"
    write_folder(tmp_path / ("é" * 127), FILES)  # 254 bytes: the longest name that most file systems take


@pytest.mark.parametrize("existing", [False, True])
def test_a_full_disk_leaves_everything_as_it_was(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, existing: bool
) -> None:
    if existing:
        write_folder(tmp_path / "new" / "out", with_manifest({"stack.svg": b"the old one"}))
    before = tree(tmp_path)
    real = Path.write_bytes

    def full(self: Path, data: bytes) -> int:
        if self.suffix == ".svg":
            raise OSError(28, "No space left on device")
        return real(self, data)

    monkeypatch.setattr(Path, "write_bytes", full)
    with pytest.raises(OutputError, match="No space left on device"):
        write_folder(tmp_path / "new" / "out", FILES)
    assert tree(tmp_path) == before
    assert names(tmp_path) == (["new"] if existing else [])


@pytest.mark.parametrize("error", [OSError(5, "Input/output error"), KeyboardInterrupt()])
def test_a_failing_swap_restores_the_old_folder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, error: BaseException
) -> None:
    write_folder(tmp_path / "out", with_manifest({"stack.svg": b"the old one"}))
    before = tree(tmp_path)
    real = Path.rename
    monkeypatch.setattr("layercut.output.folder.exchange", lambda *_: False)  # as where the system has no such step

    def failing(self: Path, target: Path) -> Path:
        if self.name == "new":
            raise error
        return real(self, target)

    monkeypatch.setattr(Path, "rename", failing)
    with pytest.raises((OutputError, KeyboardInterrupt)):
        write_folder(tmp_path / "out", FILES)
    assert tree(tmp_path) == before
    assert names(tmp_path) == ["out"]


@pytest.mark.parametrize("name", ["../a.svg", "/a.svg", "sheets/../../a.svg", "", ".", "a\\b.svg", "a\0b"])
def test_a_name_that_leaves_the_folder_is_our_own_fault(tmp_path: Path, name: str) -> None:
    with pytest.raises(InternalError):
        write_folder(tmp_path / "out", {**FILES, name: b"x"})
    assert names(tmp_path) == []


@pytest.mark.skipif(os.name == "nt", reason="permissions of POSIX")
@pytest.mark.parametrize("mask", [0o022, 0o027])
def test_permissions_are_those_of_the_umask(tmp_path: Path, mask: int) -> None:
    old = os.umask(mask)
    try:
        write_folder(tmp_path / "out", FILES)
        write_file(tmp_path / "a.png", b"x")
    finally:
        os.umask(old)
    for path in (tmp_path / "out", tmp_path / "out" / "sheets"):
        assert stat.S_IMODE(path.stat().st_mode) == 0o777 & ~mask
    for path in (tmp_path / "out" / "stack.svg", tmp_path / "a.png"):
        assert stat.S_IMODE(path.stat().st_mode) == 0o666 & ~mask


def test_one_file_is_written_whole_and_replaced(tmp_path: Path) -> None:
    write_file(tmp_path / "a.png", b"one")
    write_file(tmp_path / "a.png", b"two")
    assert tree(tmp_path) == {"a.png": b"two"}


@pytest.mark.parametrize("place", ["missing/a.png", "folder", "/dev/null", "file/a.png"])
def test_a_picture_that_cannot_be_written_is_one_sentence(tmp_path: Path, place: str) -> None:
    (tmp_path / "folder").mkdir()
    (tmp_path / "file").write_bytes(b"precious")
    with pytest.raises(OutputError) as caught:
        write_file(tmp_path / place, b"x")
    assert caught.value.code == "output-unwritable"
    assert caught.value.file == str(tmp_path / place)
    assert names(tmp_path) == ["file", "folder"]
