"""Files that the maker names: only plain ones are opened, and none is read without end.

Enters: a path and a bound. Leaves: bytes, or a stream. A pipe that nobody writes to would hold a reader for good, and
a device may never end.
"""

import os
import stat
from pathlib import Path
from typing import BinaryIO


class NotPlainError(OSError):
    """What is there is no plain file: a folder, a pipe or a device."""


class TooLargeError(OSError):
    """A file that is larger than what it is read for can be."""


def open_plain(path: Path, most_bytes: int) -> BinaryIO:
    """A plain file of at most so many bytes, open for reading.

    Raises OSError with a reason in words; NotPlainError and TooLargeError are kinds of it.
    """
    # Path.open takes no opener; whoever asks closes the stream.
    stream = open(path, "rb", opener=_without_waiting)  # noqa: SIM115
    try:
        _check(stream, most_bytes)
    except BaseException:
        stream.close()
        raise
    return stream


def read_plain(path: Path, most_bytes: int) -> bytes:
    """A plain file's bytes, at most so many. Raises OSError as `open_plain` does."""
    with open_plain(path, most_bytes) as stream:
        data = stream.read(most_bytes + 1)  # some files are longer than they say
    if len(data) > most_bytes:
        raise TooLargeError(0, f"it is larger than {most_bytes} bytes")
    return data


def _without_waiting(name: str, flags: int) -> int:
    """Without this flag, opening a pipe waits for somebody to write to it."""
    return os.open(name, flags | getattr(os, "O_NONBLOCK", 0))


def _check(stream: BinaryIO, most_bytes: int) -> None:
    status = os.fstat(stream.fileno())
    if not stat.S_ISREG(status.st_mode):
        raise NotPlainError(0, "it is not a plain file")
    if status.st_size > most_bytes:
        raise TooLargeError(0, f"it is larger than {most_bytes} bytes")
