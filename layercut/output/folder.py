"""Writing a folder to the disk, whole or not at all.

Enters: a folder and its files as bytes. Leaves: the disk, changed entirely or left as it was. What layercut didn't
write, or what was changed since, is never lost: the folder is refused, or the old one set aside.

A folder that is replaced changes places with the new one in one step, where the system has one: whoever looks in, and
whatever stops the run, there is the old folder or the new one. A run that is killed may leave its hidden temporary
folder (`.<name>.<letters>`) beside it, which nothing minds.
"""

import ctypes
import errno
import itertools
import os
import shutil
import tempfile
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager, suppress
from pathlib import Path, PurePosixPath

from layercut.errors import InternalError, OutputError
from layercut.output.files import NAME_PART, as_output_error, keep_rights, resolved
from layercut.output.old_folder import find_stranger, is_empty

_ATTEMPTS = 50  # at putting a folder in its place while other runs do the same
_OVERTAKEN = {errno.ENOENT, errno.ENOTEMPTY, errno.EEXIST}  # what a rename says when another run was quicker
_NO_SUCH_STEP = {errno.ENOSYS, errno.EINVAL, errno.ENOTSUP, errno.EOPNOTSUPP, errno.EPERM}
# How the system lets two names change places: renameat2 with RENAME_EXCHANGE on Linux, renamex_np with RENAME_SWAP on
# macOS; False and True stand for the two paths, -100 for AT_FDCWD.
_EXCHANGES = (("renameat2", (-100, False, -100, True, 2)), ("renamex_np", (False, True, 2)))
_SYSTEM = ctypes.CDLL(None, use_errno=True) if os.name == "posix" else None


def write_folder(folder: Path, files: Mapping[str, bytes], *, keep_old: bool = False) -> Path | None:
    """Write `files` (relative names with `/`) as `folder`, which appears whole or not at all.

    Missing parents are made. An existing folder is replaced as `check_folder` allows, or with `keep_old` set aside
    beside it; returns where, None where nothing was. Raises OutputError, after which the disk is as it was.
    """
    for name in files:
        _check_name(name)
    check_folder(folder, keep_old=keep_old)
    target = resolved(folder)
    with as_output_error(folder), _parents(target.parent):
        # One holder beside the target, so that both renames stay on one file system; the folder inside it is made
        # with the usual permissions, which a temporary folder itself doesn't have.
        holder = Path(tempfile.mkdtemp(prefix=f".{target.name[:NAME_PART]}.", dir=target.parent))
        try:
            fresh = holder / "new"
            _fill(fresh, files)
            aside = _put(fresh, folder, holder / "old", keep_old=keep_old)
        except BaseException:
            if not (holder / "old").exists():
                shutil.rmtree(holder, ignore_errors=True)
            raise
        shutil.rmtree(holder, ignore_errors=True)
        return aside


LOOKS = 50
"""How often a folder is looked at that other runs go on replacing."""


def check_folder(folder: Path, inputs: Iterable[Path] = (), *, keep_old: bool = False) -> None:
    """Raise OutputError unless `folder` is free: missing, empty, or written by layercut, unchanged and holding
    nothing else; with `keep_old`, whatever it holds.

    `inputs` are files that must not lie in it, because it would be replaced.
    """
    with as_output_error(folder):
        target = resolved(folder)
        for path in inputs:
            if resolved(path).is_relative_to(target):
                raise OutputError(
                    "folder-not-ours", f"holds '{path}' itself.", "Choose another with --out.", file=str(folder)
                )
        for look in range(LOOKS):
            before = _identity(target)
            try:
                _check_target(folder, target, keep_old=keep_old)
            except (FileNotFoundError, OutputError):
                # Another run may just have put its own folder there: what was looked at is gone, so look again.
                if _identity(target) == before or look == LOOKS - 1:
                    raise
            else:
                return


def _identity(target: Path) -> tuple[int, int] | None:
    """Which folder it is, and when it changed, as its number is free as soon as it is gone; None for none."""
    try:
        status = target.stat()
    except FileNotFoundError:
        return None
    return status.st_ino, status.st_ctime_ns


def _check_target(folder: Path, target: Path, *, keep_old: bool) -> None:
    """The part of `check_folder` that looks at what is there now."""
    if not target.exists():
        return
    if not target.is_dir():
        raise _not_ours(folder, "is a file, not a folder.")
    if Path.cwd().is_relative_to(target):
        raise _not_ours(folder, "is the folder you are working in, or one around it.")
    if not keep_old:
        _check_old(folder, target)


def _check_old(folder: Path, old: Path) -> None:
    """Raise OutputError where an old folder holds what would be lost with it."""
    stranger = find_stranger(old)
    if stranger is not None:
        message = f"holds '{stranger.name}', {stranger.why}, and would be replaced."
        hint = "Move it away, choose another folder with --out, or set the old one aside with --keep-old."
        raise OutputError("folder-not-ours", message, hint, file=str(folder))


def _not_ours(folder: Path, message: str) -> OutputError:
    return OutputError("folder-not-ours", message, "Choose another with --out.", file=str(folder))


def _check_name(name: str) -> None:
    parts = PurePosixPath(name).parts
    if not parts or "\0" in name or "\\" in name or name.startswith("/") or ".." in parts:
        raise InternalError("output-name", f"the file name {name!r} would leave the folder.")


def _fill(folder: Path, files: Mapping[str, bytes]) -> None:
    folder.mkdir()
    for name, data in files.items():
        path = folder.joinpath(*PurePosixPath(name).parts)
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)


def _put(fresh: Path, folder: Path, old: Path, *, keep_old: bool) -> Path | None:
    """Put `fresh` in the folder's place, though another run may be doing the same; returns where the old one was set
    aside, if it was.

    What another run puts there in the meantime is looked at again, and replaced as any folder is.
    """
    for attempt in range(_ATTEMPTS):
        target = resolved(folder)
        try:
            if not target.exists():
                fresh.rename(target)
                return None
            _take_over_rights(target, fresh)
            if keep_old and not is_empty(target):
                return _set_aside(fresh, target)
            gone = fresh if exchange(fresh, target) else _swap(fresh, target, old)
            _check_replaced(folder, target, gone)
        except OSError as error:
            if error.errno not in _OVERTAKEN or attempt == _ATTEMPTS - 1:
                raise
            check_folder(folder, keep_old=keep_old)
        else:
            return None
    return None


def _take_over_rights(old: Path, new: Path) -> None:
    """Rights and group of a folder go on to the new one, file by file."""
    keep_rights(old, new)
    for path in new.rglob("*"):
        before = old / path.relative_to(new)
        if before.exists() and not before.is_symlink():
            keep_rights(before, path)


def _check_replaced(folder: Path, target: Path, gone: Path) -> None:
    """Put the replaced folder back, and raise OutputError, where something came into it at the last moment."""
    try:
        _check_old(folder, gone)
    except OutputError:
        if not exchange(gone, target):
            _swap(gone, target, gone.with_name("unwanted"))
        raise


def _set_aside(fresh: Path, target: Path) -> Path:
    """Put `fresh` in the target's place, which gets the first free number; at every moment one of the two is there.

    Where the system can't let folders change places, the target is away for a moment.
    """
    aside = _free_name(target)
    try:
        fresh.rename(aside)  # over the empty folder that holds the name
        if not exchange(aside, target):
            aside.rename(fresh)
            target.rename(aside)
            fresh.rename(target)
    except BaseException:
        if not fresh.exists():
            aside.rename(fresh)
        elif not target.exists() and aside.exists():
            aside.rename(target)
        with suppress(OSError):
            aside.rmdir()
        raise
    return aside


def _free_name(target: Path) -> Path:
    """An empty folder made beside the target, with the first number that is free."""
    for number in itertools.count(1):
        aside = target.with_name(f"{target.name}-old-{number}")
        with suppress(FileExistsError):
            aside.mkdir()
            return aside
    raise AssertionError


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


def _swap(fresh: Path, target: Path, old: Path) -> Path:
    """Put `fresh` in the target's place in two steps; what stood there goes to `old`, which is returned, or back if
    that fails."""
    target.rename(old)
    try:
        fresh.rename(target)
    except BaseException:
        if not target.exists():
            old.rename(target)
        elif find_stranger(old) is None:
            shutil.rmtree(old, ignore_errors=True)  # another run has put its own there
        raise
    return old


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
