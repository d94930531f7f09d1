"""What the maker chooses on the page, written to the job file.

Enters: a choice as the page sends it. Leaves: the job file, changed in that one place and otherwise as the maker
wrote it; it is made beside the drawing when there is none. Holds: a choice that doesn't go with the job or the panel
changes nothing, and the file is replaced whole or not at all.
"""

import json
import tempfile
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from layercut.errors import JobError, OutputError, told_in
from layercut.job import Job, load_job
from layercut.job_edit import rename_key, set_key
from layercut.job_text import JOB_FILE_LIMIT, read_tables, unseen
from layercut.output.files import write_file
from layercut.reading import read_plain
from layercut.stack.panel import make_panel
from layercut.units import MILLIMETRES, Units

LENGTHS = {"panel.frame": "Frame", "limits.setback": "Setback", "material.kerf": "Kerf"}
"""The lengths that can be set on the page, and what it calls them."""

POLICIES = ("auto", "tie", "loose", "behind", "refuse")
"""What can be done with islands; with a single one, `OUT` too."""

OUT = "out"
"""Leave an island out."""

LONGEST = 200
"""Letters of a length or of an island's name that are listened to; a longer one is no choice of a maker."""


@dataclass(frozen=True, slots=True)
class JobFile:
    """Where the job file is or will be, the settings of the command line that win over it, and the panel's size.

    `size_mm` is the drawing's width and height, None as long as no drawing could be read.
    """

    path: Path
    settings: tuple[str, ...] = ()
    size_mm: tuple[float, float] | None = None


def choose_length(file: JobFile, key: str, value: str) -> None:
    """Set a length of the job file, such as `material.kerf` to `0.2mm`.

    Raises JobError when it isn't a length or doesn't go with the rest, OutputError when the file can't be written.
    """
    if key not in LENGTHS or len(value) > LONGEST or unseen(value):
        raise JobError("job-setting", "that can't be set here.")
    _write(file, key, value.strip())


def choose_island(file: JobFile, island: str, policy: str, names: Sequence[str] = ()) -> None:
    """Say what is done with one island, or, with an empty name, with each that has no choice of its own.

    A choice that stands under another of the island's names is renamed. Raises JobError and OutputError as
    `choose_length` does.
    """
    if policy not in (*POLICIES, *([OUT] if island else [])) or len(island) > LONGEST or unseen(island):
        raise JobError("job-setting", "that can't be chosen for an island.")
    if not island:
        _write(file, "islands.policy", policy)
        return
    pieces = _tables(file.path).get("islands", {}).get("pieces", {})
    others = [name for name in names if name != island and name in pieces]
    _write(file, _piece_key(island), policy, renamed=([_piece_key(name) for name in others], island))


def _piece_key(name: str) -> str:
    return f"islands.pieces.{json.dumps(name, ensure_ascii=False)}"  # a TOML string in quotes is written as in JSON


@dataclass(frozen=True, slots=True)
class LengthView:
    """A length as the page shows it; `fixed` where the command line wins over the job file."""

    key: str
    name: str
    value: str
    fixed: bool


def view_lengths(file: JobFile) -> tuple[LengthView, ...]:
    """The lengths as the job file has them, with their units; those that it doesn't set, as they are without it."""
    tables = _tables(file.path)
    usual, units = Job(), _units(file)
    fixed = {setting.partition("=")[0].strip().replace("-", "_") for setting in file.settings}
    lengths = []
    for key, name in LENGTHS.items():
        table, _, field = key.partition(".")
        written = tables.get(table, {}).get(field) if isinstance(tables.get(table), dict) else None
        value = units.typed(getattr(getattr(usual, table), field), 4) if written is None else str(written)
        lengths.append(LengthView(key, name, value, key in fixed))
    return tuple(lengths)


def _units(file: JobFile) -> Units:
    """The units of the job; mm where it can't be read, which the compiler tells."""
    with suppress(JobError):
        return load_job(file.path if file.path.exists() else None, file.settings).units
    return MILLIMETRES


def _tables(path: Path) -> dict[str, Any]:
    """The job file's tables; none where it can't be read, which the compiler tells."""
    with suppress(JobError):
        return read_tables(path)
    return {}


def _write(file: JobFile, key: str, value: str, renamed: tuple[Sequence[str], str] = ((), "")) -> None:
    path = file.path.resolve()  # a link stays a link; what it leads to is replaced
    try:
        text = read_plain(path, JOB_FILE_LIMIT).decode("utf-8") if path.exists() else ""
    except (OSError, UnicodeDecodeError):
        text = ""
        load_job(path)  # says what is wrong with it
    for other in renamed[0]:
        text = rename_key(text, other, renamed[1], file=path.name)
    changed = set_key(text, key, value, file=path.name)
    _replace(path, changed, file)


def _replace(path: Path, text: str, file: JobFile) -> None:
    """Put the text in the file's place if it makes a job that goes with the panel."""
    data = text.encode("utf-8")
    with tempfile.TemporaryDirectory() as folder:
        new = Path(folder) / path.name
        new.write_bytes(data)
        _check(new, file)
    try:
        write_file(path, data)
    except OutputError as error:
        error.file = path.name
        raise


def _check(new: Path, file: JobFile) -> None:
    """Hold that the new file is a job that goes with the drawing. Raises JobError that names the job file."""
    try:
        job = load_job(new, file.settings)
        if file.size_mm is not None:
            with told_in(job.units):
                make_panel(*file.size_mm, job)
    except JobError as error:
        error.file = file.path.name  # not that of the file beside it, which nobody has seen
        raise
