"""The work around the cut of a stack that a test has made."""

from collections.abc import Sequence

from layercut.workshop.own_paints import OwnPaints
from layercut.workshop.paint import plan_paint
from layercut.workshop.work import Planned, plan_work

from layercut.job import Job
from layercut.model import Drawing, Sheet, Stack


def planned_work(
    drawing: Drawing, stack: Stack, sheets: Sequence[Sheet], job: Job, own: OwnPaints | None = None
) -> Planned:
    """All plans, as a compile has them, but of sheets as they are given."""
    paint = plan_paint(drawing, stack, sum(sheet.copies for sheet in sheets), job, own)
    return plan_work(stack, sheets, job, paint)
