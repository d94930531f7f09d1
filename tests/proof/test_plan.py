"""What the proof takes from a stack: what is seen, what comes loose, the frame and its holes."""

import pytest
from scenes import Scenes
from shapely import Point, box

from layercut.proof.plan import TOLERANCES, plan_from_stack


def test_the_plan_of_a_stack(scenes: Scenes) -> None:
    made = scenes.make(
        scenes.drawing([box(20, 20, 80, 80)], [box(0, 50, 100, 100), Point(50, 30).buffer(5)]),
        "islands.policy=loose",
        "panel.pins=true",
    )
    plan = plan_from_stack(made.stack, made.sheets, made.job)
    back, front = plan.sheets
    assert (back.file, front.file) == ("sheets/01-l0.svg", "sheets/02-l1.svg")
    assert (plan.kerf_mm, plan.tolerance_mm) == (made.job.material.kerf, TOLERANCES * made.job.curves.tolerance)
    # the bare ground is the back sheet's to show, and so the front one's to leave open
    assert back.shown.area + front.shown.area == pytest.approx(made.stack.panel.interior.area)
    assert front.deeper.equals(back.shown)
    assert back.deeper.is_empty
    (piece,) = front.pieces
    assert Point(piece.at_mm).within(Point(50, 30).buffer(5))
    assert piece.area_mm2 == pytest.approx(78.5, abs=0.5)
    assert plan.outline.area == 100 * 100
    assert plan.pins.area == pytest.approx(3 * 3.14, abs=0.1)


def test_an_island_that_hangs_by_a_neck_is_no_piece_yet(scenes: Scenes) -> None:
    crown = [box(0, 80, 100, 100), box(49.6, 50, 50.4, 81), Point(50, 40).buffer(14), Point(80, 20).buffer(6)]
    made = scenes.make(scenes.drawing([scenes.ground()], crown))
    assert len(made.stack.layers[1].islands) == 2
    assert [len(sheet.pieces) for sheet in plan_from_stack(made.stack, made.sheets, made.job).sheets] == [0, 1]
    assert made.proof.pieces_planned == made.proof.pieces_found == 3
