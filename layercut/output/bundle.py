"""A bundle: everything about one picture in one file, to keep or to hand over.

Enters: a compiled folder, its drawing and its job file. Leaves: a ZIP file: the folder as it is, `drawing/` with the
drawing and the job file, and `SHA256SUMS`, which names every file with its hash. Holds: the same input gives the same
bytes, so nothing in it is compressed (libraries compress differently) and no time of day is in it.
"""

import hashlib
import io
import zipfile
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path

from layercut.errors import OutputError
from layercut.output.files import check_file, write_file
from layercut.proof.bundle import SUMS, sums_text
from layercut.proof.ledger import NAME, Manifest, read_manifest
from layercut.reading import TooLargeError, read_plain

FILE_LIMIT = 2**30
"""A file larger than this, bytes, is none that a bundle can hold."""

DRAWING_FOLDER = "drawing"
"""Where the drawing and the job file lie in a bundle."""

_EARLIEST = (1980, 1, 1, 0, 0, 0)
"""The first moment that a ZIP file can tell."""

_PLAIN_FILE = 0o100644 << 16
"""A plain file that everyone may read, as Unix writes it into a ZIP file."""


def write_bundle(
    folder: Path, path: Path, *, drawing: Path | None = None, job: Path | None = None, force: bool = False
) -> None:
    """Pack a compiled folder, which should hold (`verify_folder`), into a ZIP file, whole or not at all.

    Without `drawing`, it is looked for beside the folder by the name in the manifest; without `job`, the drawing's
    name with .toml beside it, if there is one. Raises DrawingError for a folder that isn't one, OutputError
    `bundle-name`, `bundle-lacks`, `file-exists`, `output-unwritable`.
    """
    check_bundle(path, force=force)
    write_file(path, zipped(bundle_files(folder, drawing, job)))


def check_bundle(path: Path, *, force: bool = False) -> None:
    """Raise OutputError unless a bundle may be written there: `bundle-name` for a name that doesn't end in .zip,
    `file-exists` for a file that is there, unless `force`."""
    if path.suffix.lower() != ".zip":
        raise OutputError("bundle-name", "is not a name of a bundle.", "End it in .zip.", file=str(path))
    check_file(path, force=force)


def bundle_files(folder: Path, drawing: Path | None = None, job: Path | None = None) -> dict[str, bytes]:
    """All files of a bundle by their names in it, `SHA256SUMS` among them. Raises as `write_bundle`."""
    text = _read(folder / NAME, f"holds no {NAME}, so layercut didn't write it.", folder).decode("utf-8", "replace")
    manifest = read_manifest(text, str(folder))
    files = {NAME: text.encode()}
    for one in manifest.files:
        files[one.file] = _read(folder / one.file, f"lacks '{one.file}'.", folder)
    source = drawing or folder.resolve().parent / manifest.drawing.file
    files[f"{DRAWING_FOLDER}/{source.name}"] = _drawing(source, manifest)
    job_file = job or source.with_suffix(".toml")
    if job is not None or job_file.exists():
        files[f"{DRAWING_FOLDER}/{job_file.name}"] = _read(job_file, "can't be read as the job file.", job_file)
    return {**files, SUMS: sums_text(files).encode()}


def zipped(files: Mapping[str, bytes]) -> bytes:
    """A ZIP file of some files, in the order of their names."""
    data = io.BytesIO()
    with zipfile.ZipFile(data, "w", zipfile.ZIP_STORED) as archive:
        for name in sorted(files):
            entry = zipfile.ZipInfo(name, _EARLIEST)
            entry.external_attr = _PLAIN_FILE
            entry.create_system = 3  # Unix, wherever it is written
            archive.writestr(entry, files[name])
    return data.getvalue()


def _drawing(path: Path, manifest: Manifest) -> bytes:
    """The drawing itself: the very file that the folder was made from."""
    content = _read(path, "is not there, and a bundle holds its drawing.", path, "Say where it is with --drawing.")
    if hashlib.sha256(content).hexdigest() != manifest.drawing.sha256:
        message = "is not the drawing that the folder was made from: it was changed since."
        raise OutputError("bundle-lacks", message, "Compile it again, then bundle.", file=str(path))
    return content


def _read(path: Path, message: str, named: Path, hint: str = "Compile the drawing again.") -> bytes:
    with suppress(TooLargeError, OSError, ValueError):
        return read_plain(path, FILE_LIMIT)
    raise OutputError("bundle-lacks", message, hint, file=str(named))
