"""The work around the cut: all its plans, one after the other.

Enters: the drawing, the stack, its sheets and the job. Leaves: a `Workplan`, and what is doubtful about it.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from layercut.findings import Finding
from layercut.job import Job
from layercut.model import Drawing, Sheet, Stack, spacer_count
from layercut.planning.assembly import plan_assembly
from layercut.planning.coats import coats_findings
from layercut.planning.hands import lay_hands
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


def find_own(folder: Path, file: str | None) -> OwnPaints | None:
    """The maker's own paints in a file beside the drawing; None where the job names none. Raises JobError."""
    return read_own(folder, file) if file is not None else None


def plan_work(
    drawing: Drawing, stack: Stack, sheets: Sequence[Sheet], job: Job, own: OwnPaints | None
) -> PlannedWork:
    """Paint, hanging, time, material and assembly of a stack whose sheets are cut, spacers included."""
    panel, material = stack.panel, job.material
    edge_mm2 = float(panel.outline.length) * material.thickness * (len(stack.layers) + spacer_count(sheets))
    paint = plan_paint(drawing, stack, edge_mm2, job.paint, own)
    work = Workplan(
        paint=paint,
        hands=lay_hands(drawing, paint, job.paint.hands),
        hanging=plan_hanging(panel, sheets, job.hanging, material),
        times=plan_times(sheets),
        material=plan_material(panel, sheets, material, job.machine),
        # After the paint: it knows where sheets touch.
        steps=plan_assembly(stack, sheets, paint.sheets, label=job.label.wanted),
    )
    about_paint = (*own_findings(paint, stack), *coats_findings(paint.colours, job.paint))
    return PlannedWork(work, (*about_paint, *bed_findings(panel, job.machine, material.kerf)))
