"""What the trade takes for granted: an 11 inch panel, its frame, its scales.

Inches are exact (25.4 mm). One inch to six feet is 1:72 by arithmetic; that it is a usual model scale is common
practice, no standard.
"""

import pytest
import shapely
from lxml import etree
from shapely import affinity, box

from layercut.job import Job, load_job
from layercut.job_values import parse_length
from layercut.stack.panel import make_panel

INCH = 25.4


def test_an_inch_to_six_feet_is_1_to_72() -> None:
    assert parse_length("6ft") / parse_length("1in") == pytest.approx(72)
    assert parse_length("0.25in") == pytest.approx(6.35)
    assert parse_length("12in") == pytest.approx(parse_length("1ft"))


def test_the_usual_frame_is_a_quarter_of_an_inch() -> None:
    assert Job().panel.frame == pytest.approx(INCH / 4)


def test_an_11_inch_panel_with_a_quarter_inch_frame() -> None:
    panel = make_panel(11 * INCH, 11 * INCH, load_job(None, ["panel.frame=0.25in"]))
    assert panel.outline.area == pytest.approx((11 * INCH) ** 2)
    assert panel.interior.area == pytest.approx((10.5 * INCH) ** 2)
    assert panel.interior.bounds == pytest.approx((6.35, 6.35, 273.05, 273.05))


def test_a_house_of_40_feet_fills_6_and_two_thirds_inches_at_1_to_72(scenes) -> None:
    side = 11 * INCH
    house = box(0, 0, 40 * 12 * INCH, 20 * 12 * INCH)
    small = affinity.translate(
        affinity.scale(house, 1 / 72, 1 / 72, origin=(0, 0)), 2 * INCH, side - 20 * 12 * INCH / 72
    )
    made = scenes.make(scenes.drawing([box(0, 0, side, side)], [small], size=(side, side)))
    x0, _, x1, _ = made.stack.layers[1].visible.bounds
    assert (x1 - x0) / INCH == pytest.approx(40 * 12 / 72, abs=1e-4)
    assert made.codes == []
    assert made.proof.pieces_found == 2


def test_the_sheet_on_paper_is_11_inches(scenes) -> None:
    side = 11 * INCH
    made = scenes.make(scenes.drawing([box(0, 0, side, side)], size=(side, side)))
    root = etree.fromstring(made.files[0].encode())
    assert (root.get("width"), root.get("viewBox")) == ("279.4mm", "0 0 279.4 279.4")


def test_hidden_wood_behind_a_shared_outline_is_what_a_stencil_cutter_leaves(scenes) -> None:
    """Three sheets, each a step in front of the other: every sheet's wood reaches behind the one in front."""
    steps = [box(0, y, 100, 100) for y in (0, 40, 70)]
    made = scenes.make(scenes.drawing(*([step] for step in steps)))
    for layer, step in zip(made.stack.layers, steps, strict=True):
        inside = shapely.intersection(step, made.stack.panel.interior)
        assert shapely.difference(inside, layer.wood).area < 1e-9
    assert made.stack.layers[1].wood.area == pytest.approx(made.stack.panel.frame.area + 87.3 * (93.65 - 40))
