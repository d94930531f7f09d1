"""What is known of a run by then: `Planned`, `Cut` and `Made`.

Holds: all values are frozen; `model/__init__.py` says where the origin is.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TypeAlias

from layercut.findings import Finding
from layercut.job import Job
from layercut.model.boards import Boards
from layercut.model.drawing import Drawing
from layercut.model.sheets import Sheet
from layercut.model.stack import Stack
from layercut.workplan import Workplan


@dataclass(frozen=True, slots=True)
class Proof:
    """What the written files really make: the area that shows wrong, and how many pieces come off the bed."""

    stack_mismatch_mm2: float
    pieces_planned: int
    pieces_found: int


@dataclass(frozen=True, slots=True)
class Planned:
    """What is known once the stack is settled: what each sheet is made of, and what is wrong or doubtful so far, in
    order (`findings.in_order`). A drawing that can't be made as drawn goes no further."""

    drawing: Drawing
    job: Job
    stack: Stack
    findings: tuple[Finding, ...]

    @property
    def makeable(self) -> bool:
        """True when no finding is an error."""
        return not any(finding.severity == "error" for finding in self.findings)


@dataclass(frozen=True, slots=True)
class Cut(Planned):
    """The same once its sheets are cut: the sheets, spacers last, and each one's SVG by its file."""

    sheets: tuple[Sheet, ...]
    written: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Made(Cut):
    """Everything one run knows of a drawing that can be made: the work at the bench, and what the proof found.

    `boards` are None where the job knows no size of boards or bed.
    """

    work: Workplan
    proof: Proof
    boards: Boards | None = None


Build: TypeAlias = Planned | Made
"""What a run comes to: all of it, or for a drawing that can't be made the plan, whose findings say why. Views render
it and decide nothing."""


def sheets_of(build: Planned) -> tuple[Sheet, ...]:
    """The sheets of a build; none where nothing is cut."""
    return build.sheets if isinstance(build, Cut) else ()
