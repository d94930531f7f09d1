"""Single files on the disk, whole or not at all; what layercut didn't write is not written over.

Enters: a path and bytes. Leaves: the disk, changed entirely or left as it was. A file that is replaced passes on its
rights, its group and its other names (hard links).
"""

import os
import shutil
import stat
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from layercut.errors import OutputError
from layercut.output.seal import is_sealed
from layercut.reading import TooLargeError, read_plain

OWN_LIMIT = 2**30
"""A file larger than this, bytes, isn't layercut's."""

NAME_PART = 40
"""So many characters of a name are in that of its temporary folder, which must not grow too long."""


def check_file(path: Path, *, force: bool) -> None:
    """Raise OutputError `file-exists` unless a file may be written there: none is, or one that layercut wrote and
    nobody changed, or any plain one with `force`."""
    with as_output_error(path):
        target = resolved(path)
        if not target.exists():
            return
        if not target.is_file():
            raise OutputError("output-unwritable", "is not a plain file.", "Choose another name.", file=str(path))
        if not force and not _is_own(target):
            message = "is there already, and is not a file that layercut wrote and nobody changed."
            hint = "Choose another name, move it away, or write over it with --force."
            raise OutputError("file-exists", message, hint, file=str(path))


def write_file(path: Path, data: bytes) -> None:
    """Write one file, whole or not at all; an existing plain file is replaced. Raises OutputError.

    One that has other names, hard links, is written in place, so that all of them name the new content.
    """
    with as_output_error(path):
        target = resolved(path)
        if target.exists() and not target.is_file():
            raise OutputError("output-unwritable", "is not a plain file.", "Choose another name.", file=str(path))
        with written_beside(target, data) as fresh:
            _put(fresh, target)


@contextmanager
def written_beside(target: Path, data: bytes) -> Iterator[Path]:
    """The data in a file on the target's own disk, ready to take its place; gone afterwards if it hasn't."""
    # In a folder of its own, as a file in a temporary folder has the usual rights, and a temporary file hasn't.
    holder = Path(tempfile.mkdtemp(prefix=f".{target.name[:NAME_PART]}.", dir=target.parent))
    try:
        fresh = holder / "new"
        fresh.write_bytes(data)
        yield fresh
    finally:
        shutil.rmtree(holder, ignore_errors=True)


def keep_rights(old: Path, new: Path) -> None:
    """Give a file or folder the group, owner, rights and access lists of the one whose place it takes, as far as the
    system lets."""
    status = old.stat()
    if hasattr(os, "chown"):
        for owner, group in ((-1, status.st_gid), (status.st_uid, -1)):
            with suppress(OSError):
                os.chown(new, owner, group)
    with suppress(OSError):
        new.chmod(stat.S_IMODE(status.st_mode))
    if hasattr(os, "listxattr"):
        with suppress(OSError):
            for name in os.listxattr(old):
                if name.startswith("system.posix_acl"):
                    os.setxattr(new, name, os.getxattr(old, name))


def resolved(path: Path) -> Path:
    """The place itself, links followed, so that a link stays a link."""
    with suppress(RuntimeError):  # how Python before 3.13 reports a loop of links
        place = path.resolve()
        if not place.is_symlink():  # since 3.13 a loop resolves to one of its links
            return place
    raise OutputError("output-unwritable", "is a loop of links.", "Choose another place.", file=str(path))


@contextmanager
def as_output_error(path: Path) -> Iterator[None]:
    """Raise OutputError that names `path` for what the system refuses."""
    try:
        yield
    except OSError as error:
        reason = error.strerror or type(error).__name__
        raise OutputError("output-unwritable", f"can't be written ({reason}).", file=str(path)) from None


def _is_own(path: Path) -> bool:
    try:
        return is_sealed(read_plain(path, OWN_LIMIT))
    except TooLargeError:
        return False


def _put(fresh: Path, target: Path) -> None:
    if not target.exists():
        fresh.replace(target)
    elif target.stat().st_nlink > 1:
        _overwrite(fresh, target)
    else:
        keep_rights(target, fresh)
        fresh.replace(target)


def _overwrite(fresh: Path, target: Path) -> None:
    """Write a file's content into another, and the old content back if that fails."""
    kept = fresh.with_name("old")
    shutil.copyfile(target, kept)
    try:
        _pour(fresh, target)
    except BaseException:
        _pour(kept, target)
        raise


def _pour(source: Path, target: Path) -> None:
    with source.open("rb") as reading, target.open("r+b") as writing:
        shutil.copyfileobj(reading, writing)
        writing.truncate()
        writing.flush()
        os.fsync(writing.fileno())
