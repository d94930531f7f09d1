"""A bundle read back: unpacked into a folder for a while, its hashes held against its files.

Enters: the path of a ZIP file. Leaves: a folder that `verify_folder` reads as any other, and what is wrong with the
bundle itself. Nothing is unpacked outside that folder, and no more than a bundle can hold.
"""

import hashlib
import re
import stat
import tempfile
import zipfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path, PurePosixPath

from layercut.errors import DrawingError
from layercut.proof.failures import ProofFailure

SUMS = "SHA256SUMS"
"""The list of a bundle's files with their hashes, as `sha256sum` of the GNU core utilities writes and checks it."""

MOST_FILES = 10_000
"""A bundle of more files is none that layercut wrote."""

MOST_BYTES = 2 * 2**30
"""Nor one that unpacks to more than this."""

_LINE = re.compile(r"([0-9a-f]{64})  (.+)")
_HINT = "Give the file that 'layercut bundle' wrote."


def sums_text(files: Mapping[str, bytes]) -> str:
    """The list for some files, in the order of their names."""
    return "".join(f"{hashlib.sha256(files[name]).hexdigest()}  {name}\n" for name in sorted(files))


@contextmanager
def unpacked(path: Path) -> Iterator[Path]:
    """The bundle as a folder, which is gone afterwards. Raises DrawingError `bundle-unreadable`."""
    with tempfile.TemporaryDirectory(prefix="layercut-") as holder:
        folder = Path(holder)
        try:
            with zipfile.ZipFile(path) as archive:
                _check(archive, path)
                archive.extractall(folder)
        except (OSError, ValueError, RuntimeError, NotImplementedError, EOFError, zipfile.BadZipFile) as error:
            reason = "it is damaged" if isinstance(error, zipfile.BadZipFile) else str(error) or type(error).__name__
            raise _unreadable(path, f"can't be unpacked ({reason}).") from None
        yield folder


def bundle_failures(folder: Path) -> Iterator[ProofFailure]:
    """Whether an unpacked bundle holds the very files that its list names, and no others."""
    try:
        lines = (folder / SUMS).read_text(encoding="utf-8").splitlines()
    except (OSError, ValueError):
        yield ProofFailure("bundle-differs", f"has no list {SUMS} that can be read.", SUMS)
        return
    named = {match[2]: match[1] for line in lines if (match := _LINE.fullmatch(line))}
    if len(named) < len(lines):
        yield ProofFailure("bundle-differs", "has lines that name no file, or one file twice.", SUMS)
    found = {path.relative_to(folder).as_posix(): path for path in folder.rglob("*") if path.is_file()}
    for name in sorted({*named, *found} - {SUMS}):
        if name not in found:
            yield ProofFailure("bundle-differs", "is named by the bundle's list, but is not in it.", name)
        elif name not in named:
            yield ProofFailure("bundle-differs", "is in the bundle, but not in its list.", name)
        elif hashlib.sha256(found[name].read_bytes()).hexdigest() != named[name]:
            yield ProofFailure("bundle-differs", "is not the file that was packed.", name)


def drawing_failures(folder: Path, sha256: str) -> Iterator[ProofFailure]:
    """Whether the bundle holds the drawing that its folder was made from."""
    inner = folder / "drawing"
    held = sorted(inner.iterdir()) if inner.is_dir() else []
    if not any(hashlib.sha256(path.read_bytes()).hexdigest() == sha256 for path in held if path.is_file()):
        message = "doesn't hold the drawing that the sheets were made from."
        yield ProofFailure("bundle-differs", message, "drawing")


def _check(archive: zipfile.ZipFile, path: Path) -> None:
    """Refuse what layercut doesn't pack: too much, or a name that leads out of the folder."""
    entries = archive.infolist()
    if len(entries) > MOST_FILES or sum(entry.file_size for entry in entries) > MOST_BYTES:
        raise _unreadable(path, "holds more than a bundle can.")
    for entry in entries:
        parts = PurePosixPath(entry.filename).parts
        leads_out = not parts or entry.filename.startswith("/") or ".." in parts or "\\" in entry.filename
        if leads_out or stat.S_ISLNK(entry.external_attr >> 16) or entry.flag_bits & 1:
            raise _unreadable(path, f"holds '{entry.filename}', which layercut doesn't pack.")


def _unreadable(path: Path, message: str) -> DrawingError:
    return DrawingError("bundle-unreadable", message, _HINT, file=str(path))
