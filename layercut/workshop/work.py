"""The work around the cut: all its plans, one after the other.

Enters: the stack, its sheets, the job and the paint plan. Leaves: a `Workplan`, and what is doubtful about it.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from layercut.findings import Finding
from layercut.job import Job
from layercut.model import Sheet, Stack
from layercut.workplan import PaintPlan, Workplan
from layercut.workshop.assembly import plan_assembly
from layercut.workshop.hanging import plan_hanging
from layercut.workshop.material import bed_findings, plan_material
from layercut.workshop.motion import plan_times
from layercut.workshop.own_paints import OwnPaints, read_own
from layercut.workshop.paint import own_findings


@dataclass(frozen=True, slots=True)
class Planned:
    """The plan, and what is doubtful about it."""

    work: Workplan
    findings: tuple[Finding, ...]


def find_own(folder: Path, job: Job) -> OwnPaints | None:
    """The maker's own paints that the job names, from the drawing's folder; None where it names none. Raises
    JobError."""
    return read_own(folder, job.paint.own) if job.paint.own is not None else None


def plan_work(stack: Stack, sheets: Sequence[Sheet], job: Job, paint: PaintPlan) -> Planned:
    """Hanging, time, material and assembly of a stack whose sheets are written, spacers included, and whose paint is
    planned."""
    work = Workplan(
        paint=paint,
        hanging=plan_hanging(stack.panel, sheets, job),
        times=plan_times(sheets),
        material=plan_material(stack.panel, sheets, job),
        # After the paint: it knows where sheets touch.
        steps=plan_assembly(stack, sheets, paint.sheets),
    )
    return Planned(work, (*own_findings(paint, stack), *bed_findings(stack.panel, job)))
