"""Where gradients run: checked against what the sampler, which knows nothing of ways, shows at their ticks."""

import math

import numpy as np
import pytest
from blends import RED_TO_BLUE, round_one, straight
from shapely import Point, box

from layercut.colour.sampling import sample
from layercut.colour.washes import GradedWash, Gradient
from layercut.planning.ways import way_of
from layercut.workplan import BlendDirection

REGION = box(10, 20, 90, 80)


def along(wash: GradedWash, region=REGION) -> BlendDirection:
    way = way_of(wash.gradient, 1, region)
    assert way is not None
    return way


def shares_at(wash: GradedWash, way: BlendDirection) -> list[float]:
    """How blue it is at 0, 25, 50 and 100 %."""
    colours, _ = sample((wash,), np.array([way.at(share) for share in (0.0, 0.25, 0.5, 1.0)]))
    return colours[:, 2].tolist()


MAPS = [(1.0, 0.0, 0.0, 1.0, 0.0, 0.0), (50.0, 20.0, -30.0, 44.0, 30.0, 10.0), (0.0, -60.0, 80.0, 10.0, 5.0, 70.0)]


@pytest.mark.parametrize("to_mm", MAPS[1:])
def test_a_straight_way_leads_square_to_its_bands(to_mm) -> None:
    plain = straight((0.1, 0.2), (0.9, 0.4)).gradient
    wash = GradedWash(Gradient("linear", plain.points, to_mm, "pad", plain.stops))
    way = along(wash)
    assert shares_at(wash, way) == pytest.approx([0, 0.25, 0.5, 1])
    (x0, y0), (x1, y1) = way.from_mm, way.to_mm
    aside = np.array([(x0 - (y1 - y0) * k + (x1 - x0) / 2, y0 + (x1 - x0) * k + (y1 - y0) / 2) for k in (-0.3, 0.2)])
    colours, _ = sample((wash,), aside)
    assert colours[:, 2] == pytest.approx([0.5, 0.5])  # the band of 50 % is square to the way


@pytest.mark.parametrize("to_mm", [MAPS[0], (1.2, 0.3, -0.2, 0.7, 4.0, 6.0)])
@pytest.mark.parametrize("focus", [None, (38.0, 44.0)])
def test_a_round_way_leads_outwards_from_its_focus(to_mm, focus) -> None:
    wash = round_one((45.0, 50.0), 20.0, focus=focus, to_mm=to_mm)
    way = along(wash)
    assert shares_at(wash, way) == pytest.approx([0, 0.25, 0.5, 1], abs=1e-6)
    a, b, c, d, e, f = to_mm
    assert way.middle_mm == pytest.approx((a * 45 + c * 50 + e, b * 45 + d * 50 + f))
    assert math.prod(way.axes_mm) == pytest.approx(400 * abs(a * d - b * c))  # the area of an ellipse, over pi


def test_the_line_that_is_seen_most_is_taken() -> None:
    """A sky behind a hill that leaves only its left part down to the ground."""
    sky = box(0, 0, 100, 40).union(box(0, 0, 20, 100))
    way = along(straight((0, 100), (0, 0)), sky)
    assert way.from_mm[0] == way.to_mm[0] < 20
    lamp = Point(10, 50).buffer(60).intersection(box(10, 0, 100, 100))
    assert along(round_one((10, 50), 40), lamp).to_mm[0] > 10


def test_what_has_no_length_has_no_way() -> None:
    assert way_of(straight((5, 5), (5, 5)).gradient, 1, REGION) is None
    flat = Gradient(
        "linear", (0, 0, 1, 1), (1.0, 1.0, 1.0, 1.0, 0.0, 0.0), "pad", straight((0, 0), (1, 1)).gradient.stops
    )
    assert way_of(flat, 1, REGION) is None
    assert way_of(round_one((5, 5), 0.0, RED_TO_BLUE).gradient, 1, REGION) is None


def test_a_way_is_clipped_to_the_panel() -> None:
    way = BlendDirection(1, "linear", (50.0, -50.0), (50.0, 150.0), "pad")
    assert way.within(100, 100) == pytest.approx((0.25, 0.75))
    assert BlendDirection(1, "linear", (120.0, 0.0), (120.0, 50.0), "pad").within(100, 100) is None
    assert BlendDirection(1, "linear", (10.0, 10.0), (60.0, 20.0), "pad").within(100, 100) == (0.0, 1.0)
