"""Times of sheets: what each part takes, copies, and the sum."""

from dataclasses import replace

import pytest
from scenes import Scenes
from shapely import box

from layercut.planning.times import plan_times


def test_each_sheet_and_all(scenes: Scenes) -> None:
    drawing = scenes.drawing([scenes.ground()], [box(0, 50, 100, 100)])
    made = scenes.make(drawing, "hanging.screw=12mm")
    plan = plan_times(made.sheets)
    assert [one.name for one in plan.sheets] == ["l0", "l1"]
    for one, sheet in zip(plan.sheets, made.sheets, strict=True):
        assert one.times.total_s == sheet.seconds
        # a square of 100.15 mm a side at 10 mm/s, and at every corner a little more
        assert one.times.rim_s == pytest.approx(40.06, abs=0.2)
    assert plan.sheets[0].times.openings_s == 0
    assert plan.sheets[1].times.openings_s > 20
    assert plan.total.total_s == pytest.approx(sum(sheet.seconds for sheet in made.sheets))


def test_copies_count(scenes: Scenes) -> None:
    (sheet,) = scenes.make(scenes.drawing([scenes.ground()])).sheets
    plan = plan_times([replace(sheet, copies=3)])
    assert plan.total.rim_s == pytest.approx(3 * sheet.times.rim_s)
    assert plan.sheets[0].copies == 3


def test_no_sheets_no_time() -> None:
    assert plan_times([]).total.total_s == 0


def test_a_slower_machine_takes_longer(scenes: Scenes) -> None:
    drawing = scenes.drawing([scenes.ground()], [box(0, 50, 100, 100), box(40, 30, 60, 60)])
    quick = plan_times(scenes.make(drawing, "machine.acceleration=5000mm/s2").sheets).total
    slow = plan_times(scenes.make(drawing, "machine.acceleration=100mm/s2").sheets).total
    for part in ("openings_s", "rim_s", "travel_s"):
        assert getattr(slow, part) > getattr(quick, part)
