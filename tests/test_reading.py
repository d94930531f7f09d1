"""Only plain files are read, and none without end."""

import os
import threading
from pathlib import Path

import pytest

from layercut.reading import NotPlainError, TooLargeError, open_plain, read_plain


def test_as_many_bytes_as_are_allowed_and_no_more(tmp_path: Path) -> None:
    path = tmp_path / "a"
    path.write_bytes(b"12345")
    assert read_plain(path, 5) == b"12345"
    with pytest.raises(TooLargeError):
        read_plain(path, 4)
    with open_plain(path, 5) as stream:
        assert stream.read(2) == b"12"


def test_a_link_leads_to_what_it_means(tmp_path: Path) -> None:
    (tmp_path / "a").write_bytes(b"1")
    (tmp_path / "link").symlink_to("a")
    assert read_plain(tmp_path / "link", 9) == b"1"


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no named pipes")
def test_a_pipe_is_refused_at_once(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    caught: list[type[BaseException]] = []

    def read() -> None:
        try:
            read_plain(tmp_path / "pipe", 9)
        except OSError as error:
            caught.append(type(error))

    reader = threading.Thread(target=read, daemon=True)
    reader.start()
    reader.join(20)
    assert caught == [NotPlainError]


def test_a_folder_and_a_device_are_no_plain_files(tmp_path: Path) -> None:
    with pytest.raises(OSError):  # noqa: PT011 - a folder can't be opened, or is none, as the system has it
        read_plain(tmp_path, 9)
    with pytest.raises(NotPlainError):
        read_plain(Path("/dev/zero"), 9)
    with pytest.raises(FileNotFoundError):
        read_plain(tmp_path / "none", 9)


@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="this system has no such files")
def test_a_file_that_is_longer_than_it_says_is_bounded_too() -> None:
    path = Path("/proc/self/status")
    assert path.stat().st_size == 0
    with pytest.raises(TooLargeError):
        read_plain(path, 10)
