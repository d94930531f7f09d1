"""Several new files on the disk, all or none, each whole.

Enters: bytes by path. Leaves: whole files, or none.
"""

import os
from collections.abc import Mapping
from contextlib import ExitStack, suppress
from pathlib import Path

from layercut.errors import OutputError
from layercut.output.files import check_file, write_file, written_beside


def write_new(files: Mapping[Path, bytes], *, force: bool = False) -> None:
    """Write files, all or none, each whole. One that is there must be as layercut wrote it, unless `force`. Raises
    OutputError `file-exists`, `output-unwritable`.

    All are written under other names first, so that a run that is killed leaves no half of one.
    """
    for path in files:
        check_file(path, force=force)
    made: list[Path] = []
    replaced: dict[Path, bytes] = {}
    with ExitStack() as stack:
        try:
            fresh = {path: _prepared(path, data, stack) for path, data in files.items()}
            for path, ready in fresh.items():
                _place(path, ready, replaced, made, force=force)
        except BaseException:
            _take_back(made, replaced)
            raise


def _prepared(path: Path, data: bytes, stack: ExitStack) -> Path:
    """The data in a file beside the one to be."""
    try:
        return stack.enter_context(written_beside(path, data))
    except (OSError, ValueError) as error:
        raise _unwritable(path, error) from None


def _place(path: Path, ready: Path, replaced: dict[Path, bytes], made: list[Path], *, force: bool) -> None:
    """Give a prepared file its name, or an old file its content; what was done is noted, to be taken back."""
    try:
        if path.exists():
            check_file(path, force=force)  # again: another may have put it there meanwhile
            replaced[path] = path.read_bytes()
            write_file(path, ready.read_bytes())
        else:
            _put(ready, path)
            made.append(path)
    except FileExistsError:
        hint = "Choose another name, or move it away; it was not touched."
        raise OutputError("file-exists", "is there already.", hint, file=str(path)) from None
    except (OSError, ValueError) as error:
        raise _unwritable(path, error) from None


def _take_back(made: list[Path], replaced: dict[Path, bytes]) -> None:
    for path in made:
        with suppress(OSError):
            path.unlink()
    for path, data in replaced.items():
        with suppress(OutputError):
            write_file(path, data)


def _put(ready: Path, path: Path) -> None:
    """Give a file its name, unless something bears it. Raises FileExistsError.

    A second name is refused where one is, whatever another run does at the same moment. Some disks know no second
    names: there an empty file takes the name first.
    """
    try:
        os.link(ready, path)
    except FileExistsError:
        raise
    except OSError:
        with path.open("xb"):
            pass
        try:
            ready.replace(path)
        except BaseException:
            with suppress(OSError):
                path.unlink()
            raise


def _unwritable(path: Path, error: Exception) -> OutputError:
    reason = getattr(error, "strerror", None) or "its name can't be used"
    return OutputError("output-unwritable", f"can't be written ({reason}).", file=str(path))
