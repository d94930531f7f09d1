"""Writing to the disk, whole or not at all.

Enters: a folder and its files as bytes, or one file. Leaves: the disk, changed entirely or left as it was. What
layercut didn't write is never replaced by a folder.

A folder that is replaced changes places with the new one in one step, where the system has one: whoever looks in, and
whatever stops the run, there is the old folder or the new one. A run that is killed may leave its hidden temporary
folder (`.<name>.<letters>`) beside it, which nothing minds.
"""

import ctypes
import errno
import json
import os
import shutil
import stat
import tempfile
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager, suppress
from pathlib import Path, PurePosixPath

from layercut.errors import InternalError, OutputError

_OWN_FILES = {"manifest.json", "stack.svg", "stack.png", "traveller.html"}
_OWN_FOLDERS = {"sheets", "paint"}  # they hold only SVG files
_FILE_MANAGERS = {".DS_Store", "Thumbs.db", "desktop.ini", ".directory"}  # appear by themselves when one looks in
_MANIFEST_LIMIT = 100_000_000
_ATTEMPTS = 50  # at putting a folder in its place while other runs do the same
_OVERTAKEN = {errno.ENOENT, errno.ENOTEMPTY, errno.EEXIST}  # what a rename says when another run was quicker
_NO_SUCH_STEP = {errno.ENOSYS, errno.EINVAL, errno.ENOTSUP, errno.EOPNOTSUPP, errno.EPERM}
# How the system lets two names change places: renameat2 with RENAME_EXCHANGE on Linux, renamex_np with RENAME_SWAP on
# macOS; False and True stand for the two paths, -100 for AT_FDCWD.
_EXCHANGES = (("renameat2", (-100, False, -100, True, 2)), ("renamex_np", (False, True, 2)))
_SYSTEM = ctypes.CDLL(None, use_errno=True) if os.name == "posix" else None
_NAME_PART = 40  # characters of the folder's name in the temporary one's, which must not grow too long


def write_folder(folder: Path, files: Mapping[str, bytes]) -> None:
    """Write `files` (relative names with `/`) as `folder`, which appears whole or not at all.

    Missing parents are made. An existing folder is replaced as `check_folder` allows. Raises OutputError, after which
    the disk is as it was.
    """
    for name in files:
        _check_name(name)
    check_folder(folder)
    target = _resolved(folder)
    with _as_output_error(folder), _parents(target.parent):
        # One holder beside the target, so that both renames stay on one file system; the folder inside it is made
        # with the usual permissions, which a temporary folder itself doesn't have.
        holder = Path(tempfile.mkdtemp(prefix=f".{target.name[:_NAME_PART]}.", dir=target.parent))
        try:
            fresh = holder / "new"
            _fill(fresh, files)
            _put(fresh, folder, holder / "old")
        except BaseException:
            if not (holder / "old").exists():
                shutil.rmtree(holder, ignore_errors=True)
            raise
        shutil.rmtree(holder, ignore_errors=True)


LOOKS = 20
"""How often a folder is looked at that other runs go on replacing."""


def check_folder(folder: Path, inputs: Iterable[Path] = ()) -> None:
    """Raise OutputError unless `folder` is free: missing, empty, or written by layercut and holding nothing else.

    `inputs` are files that must not lie in it, because it would be replaced.
    """
    with _as_output_error(folder):
        target = _resolved(folder)
        for path in inputs:
            if _resolved(path).is_relative_to(target):
                raise OutputError(
                    "folder-not-ours", f"holds '{path}' itself.", "Choose another with --out.", file=str(folder)
                )
        for look in range(LOOKS):
            before = _identity(target)
            try:
                _check_target(folder, target)
            except (FileNotFoundError, OutputError):
                # Another run may just have put its own folder there: what was looked at is gone, so look again.
                if _identity(target) == before or look == LOOKS - 1:
                    raise
            else:
                return


def _identity(target: Path) -> int | None:
    """Which folder it is, None for none."""
    try:
        return target.stat().st_ino
    except FileNotFoundError:
        return None


def _check_target(folder: Path, target: Path) -> None:
    """The part of `check_folder` that looks at what is there now."""
    if target.exists():
        if not target.is_dir():
            raise OutputError(
                "folder-not-ours", "is a file, not a folder.", "Choose another with --out.", file=str(folder)
            )
        if Path.cwd().is_relative_to(target):
            raise OutputError(
                "folder-not-ours",
                "is the folder you are working in, or one around it.",
                "Choose another with --out.",
                file=str(folder),
            )
        entries = sorted(path for path in target.iterdir() if path.name not in _FILE_MANAGERS)
        if not entries:
            return
        stranger = _stranger(target) if _has_manifest(target) else entries[0]
        if stranger is not None:
            raise OutputError(
                "folder-not-ours",
                f"holds '{stranger.relative_to(target)}', which layercut didn't write, and would be replaced.",
                "Move it away, or choose another folder with --out.",
                file=str(folder),
            )


def write_file(path: Path, data: bytes) -> None:
    """Write one file, whole or not at all; an existing regular file is replaced. Raises OutputError."""
    with _as_output_error(path):
        target = _resolved(path)
        if target.exists() and not target.is_file():
            raise OutputError("output-unwritable", "is not a plain file.", "Choose another name.", file=str(path))
        holder = Path(tempfile.mkdtemp(prefix=f".{target.name[:_NAME_PART]}.", dir=target.parent))
        try:
            fresh = holder / "new"
            fresh.write_bytes(data)
            fresh.replace(target)
        finally:
            shutil.rmtree(holder, ignore_errors=True)


def _check_name(name: str) -> None:
    parts = PurePosixPath(name).parts
    if not parts or "\0" in name or "\\" in name or name.startswith("/") or ".." in parts:
        raise InternalError("output-name", f"the file name {name!r} would leave the folder.")


def _resolved(path: Path) -> Path:
    """The place itself, links followed, so that a link to a folder stays a link."""
    try:
        return path.resolve()
    except RuntimeError:  # how Python before 3.13 reports a loop of links
        raise OutputError(
            "output-unwritable", "is a loop of links.", "Choose another place.", file=str(path)
        ) from None


def _has_manifest(folder: Path) -> bool:
    path = folder / "manifest.json"
    if not path.is_file() or path.stat().st_size > _MANIFEST_LIMIT:
        return False
    try:
        document = json.loads(path.read_bytes())
    except (ValueError, RecursionError):
        return False
    return isinstance(document, dict) and "format" in document


def _stranger(folder: Path) -> Path | None:
    """The first thing in the folder that layercut never writes: the maker's notes, or a program's own file."""
    for path in sorted(folder.iterdir()):
        if path.name in _OWN_FOLDERS and path.is_dir() and not path.is_symlink():
            for inner in sorted(path.iterdir()):
                if inner.name not in _FILE_MANAGERS and not _is_plain(inner, suffix=".svg"):
                    return inner
        elif path.name not in _FILE_MANAGERS and not (path.name in _OWN_FILES and _is_plain(path)):
            return path
    return None


def _is_plain(path: Path, suffix: str = "") -> bool:
    return path.name.endswith(suffix) and stat.S_ISREG(path.lstat().st_mode)


def _fill(folder: Path, files: Mapping[str, bytes]) -> None:
    folder.mkdir()
    for name, data in files.items():
        path = folder.joinpath(*PurePosixPath(name).parts)
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)


def _put(fresh: Path, folder: Path, old: Path) -> None:
    """Put `fresh` in the folder's place, though another run may be doing the same.

    What another run puts there in the meantime is looked at again, and replaced as any folder is.
    """
    for attempt in range(_ATTEMPTS):
        target = _resolved(folder)
        try:
            if not target.exists():
                fresh.rename(target)
            elif not exchange(fresh, target):
                _swap(fresh, target, old)
        except OSError as error:
            if error.errno not in _OVERTAKEN or attempt == _ATTEMPTS - 1:
                raise
            check_folder(folder)
        else:
            return


def exchange(first: Path, second: Path) -> bool:
    """Let two folders change places in one step that nothing can interrupt; False where the system has none.

    Raises OSError where it has one and that fails.
    """
    for name, arguments in _EXCHANGES:
        call = getattr(_SYSTEM, name, None)
        if call is None:
            continue
        paths = [os.fsencode(path) for path in (first, second)]
        if call(*(paths[value] if isinstance(value, bool) else value for value in arguments)) == 0:
            return True
        code = ctypes.get_errno()
        if code not in _NO_SUCH_STEP:
            raise OSError(code, os.strerror(code))
    return False


def _swap(fresh: Path, target: Path, old: Path) -> None:
    """Put `fresh` in the target's place in two steps; what stood there goes to `old`, or back if that fails."""
    target.rename(old)
    try:
        fresh.rename(target)
    except BaseException:
        if not target.exists():
            old.rename(target)
        else:
            shutil.rmtree(old, ignore_errors=True)  # another run has put its own there
        raise


@contextmanager
def _parents(folder: Path) -> Iterator[None]:
    """Make the missing folders down to `folder`, and take them away again if the work in them fails."""
    missing = [path for path in (folder, *folder.parents) if not path.exists()]
    try:
        folder.mkdir(parents=True, exist_ok=True)
        yield
    except BaseException:
        for path in missing:
            with suppress(OSError):
                path.rmdir()
        raise


@contextmanager
def _as_output_error(path: Path) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        reason = error.strerror or type(error).__name__
        raise OutputError("output-unwritable", f"can't be written ({reason}).", file=str(path)) from None
