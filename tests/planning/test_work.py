"""The plans together: what more than one of them decides."""

import pytest
from builds import spacers_made
from scenes import Scenes
from shapely import box

from layercut.planning.work import plan_work


def test_the_edges_of_all_sheets_and_spacers_are_stained_together(scenes: Scenes) -> None:
    drawing = scenes.drawing([scenes.ground()], [box(0, 50, 100, 100)])
    made = scenes.make(drawing, "hanging.screw=12mm")
    sheets = (*made.sheets, *spacers_made(made.stack, made.job))
    copies = 2 + sheets[-1].copies
    planned = plan_work(drawing, made.stack, sheets, made.job, None)
    assert planned.plan.paint.edge_mm2 == pytest.approx(400 * 3 * copies)
    assert [step.kind for step in planned.plan.steps][-2:] == ["edges", "hanger"]


def test_every_doubt_of_a_plan_is_told(scenes: Scenes) -> None:
    drawing = scenes.drawing([scenes.ground()])
    made = scenes.make(drawing)
    machine = made.job.machine.model_copy(update={"bed_width": 100.0, "bed_height": 100.0})
    job = made.job.model_copy(update={"machine": machine})
    assert [found.code for found in plan_work(drawing, made.stack, made.sheets, job, None).findings] == ["bed-tight"]
