"""The arguments and options that several commands share, and the job that they make.

Enters: what typer reads off the command line. Leaves: `Job`.
"""

from contextlib import suppress
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from layercut.units import UnitName

if TYPE_CHECKING:
    from layercut.job import Job

CAUTION = """layercut writes lines; it never sets a beam's power or starts a machine. Never leave a running laser
alone, and know how to put out a fire."""
"""What every command's help ends on."""

SAFETY = """Never leave a running laser alone; extract the fumes and keep a fire watch. Never cut PVC or any material
whose make-up you don't know: its fumes can hold hydrogen chloride. Wear the eye protection that the machine's class
demands (IEC 60825-1), and follow the machine's manual and local codes."""


class Islands(StrEnum):
    """What to do with wood that isn't joined to its frame, as `--islands` spells it."""

    AUTO = "auto"
    REFUSE = "refuse"
    TIE = "tie"
    LOOSE = "loose"
    BEHIND = "behind"


DrawingArgument = Annotated[
    Path, typer.Argument(metavar="DRAWING", show_default=False, help="The drawing, an SVG file.")
]
JobOption = Annotated[
    Path | None,
    typer.Option(
        "--job", metavar="FILE", help="The job file. Without it, DRAWING's name with .toml, if there is one."
    ),
]
IslandsOption = Annotated[
    Islands | None,
    typer.Option("--islands", help="What to do with wood that would fall out; short for --set islands.policy=..."),
]
SetOption = Annotated[
    list[str] | None,
    typer.Option(
        "--set",
        metavar="KEY=VALUE",
        help="A setting that wins over the job file, such as limits.neck=2mm. Can be repeated.",
    ),
]
ForceOption = Annotated[
    bool, typer.Option("--force", help="Write over a file that layercut didn't write, or that was changed since.")
]
UnitsOption = Annotated[
    UnitName | None,
    typer.Option("--units", help="Units of what is told."),
]
JsonOption = Annotated[bool, typer.Option("--json", help="Print one JSON document instead of a line.")]


def load_job(drawing: Path, path: Path | None, islands: Islands | None, settings: list[str] | None) -> "Job":
    """The job: its file, then `--set` in order, then `--islands`."""
    from layercut.job import load_job

    if path is None:
        beside = drawing.parent / f"{drawing.stem}.toml"
        with suppress(OSError):  # a name that can't be looked up is the drawing's own error, told when it is read
            path = beside if beside.exists() else None
    policy = [f"islands.policy={islands.value}"] if islands is not None else []
    return load_job(path, [*(settings or ()), *policy])
