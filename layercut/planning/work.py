"""The work around the cut: all its plans, one after the other.

Enters: the drawing, the stack, its sheets and the job. Leaves: a `Workplan`, and what is doubtful about it.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from layercut.findings import Finding
from layercut.job import Job
from layercut.model import Drawing, Sheet, Stack
from layercut.planning.assembly import plan_assembly
from layercut.planning.hanging import plan_hanging
from layercut.planning.material import bed_findings, plan_material
from layercut.planning.own_paints import OwnPaints, read_own
from layercut.planning.paint import own_findings, plan_paint
from layercut.planning.times import plan_times
from layercut.workplan import Workplan


@dataclass(frozen=True, slots=True)
class PlannedWork:
    """The plan, and what is doubtful about it."""

    plan: Workplan
    findings: tuple[Finding, ...]


def find_own(folder: Path, job: Job) -> OwnPaints | None:
    """The maker's own paints that the job names, from the drawing's folder; None where it names none. Raises
    JobError."""
    return read_own(folder, job.paint.own) if job.paint.own is not None else None


def plan_work(
    drawing: Drawing, stack: Stack, sheets: Sequence[Sheet], job: Job, own: OwnPaints | None
) -> PlannedWork:
    """Paint, hanging, time, material and assembly of a stack whose sheets are cut, spacers included."""
    paint = plan_paint(drawing, stack, sum(sheet.copies for sheet in sheets), job, own)
    work = Workplan(
        paint=paint,
        hanging=plan_hanging(stack.panel, sheets, job),
        times=plan_times(sheets),
        material=plan_material(stack.panel, sheets, job),
        # After the paint: it knows where sheets touch.
        steps=plan_assembly(stack, sheets, paint.sheets),
    )
    return PlannedWork(work, (*own_findings(paint, stack), *bed_findings(stack.panel, job)))
