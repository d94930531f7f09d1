"""Necks: the measured width is the drawn one, and the place is the narrowest."""

import math

import pytest
import shapely
from shapely import LineString, Point, Polygon, affinity, box

from layercut.stack.necks import Narrows, find_narrows

LIMIT, REACH = 1.5, 6.0
WIDTHS = [0.1, 0.2, 0.35, 0.5, 0.75, 1.0, 1.2, 1.4, 1.47]
ANGLES = [0.0, 17.3, 45.0, 71.9, 90.0, 123.4]


def _dumbbell(width: float, length: float = 12.0, angle: float = 0.0) -> Polygon:
    """Two squares of 10 mm, joined by a bar; turned about the bar's middle, (50, 50)."""
    reach = 5 + length / 2
    bells = [affinity.translate(box(-5, -5, 5, 5), side * reach, 0) for side in (-1, 1)]
    bar = box(-reach, -width / 2, reach, width / 2)
    return affinity.translate(affinity.rotate(shapely.union_all([*bells, bar]), angle, origin=(0, 0)), 50, 50)


def _hourglass(width: float, depth: float = 6.0, angle: float = 0.0) -> Polygon:
    """A square notched from two sides by wedges whose tips are `width` apart, about (50, 50)."""
    wedges = [Polygon([(-depth / 2, side * 12), (depth / 2, side * 12), (0, side * width / 2)]) for side in (-1, 1)]
    glass = box(-10, -10, 10, 10).difference(shapely.union_all(wedges))
    return affinity.translate(affinity.rotate(glass, angle, origin=(0, 0)), 50, 50)


def _narrows(wood: Polygon) -> Narrows:
    return find_narrows(wood, LIMIT, REACH)


def _narrowest(found: Narrows) -> float:
    return min(neck.width_mm for neck in found.necks)


@pytest.mark.parametrize("angle", ANGLES)
@pytest.mark.parametrize("width", WIDTHS)
def test_a_bar_is_measured(width: float, angle: float) -> None:
    found = _narrows(_dumbbell(width, angle=angle))
    assert len(found.bodies) == 2
    assert [neck.bodies for neck in found.necks] == [(0, 1)]
    assert found.necks[0].width_mm == pytest.approx(width, abs=0.01)
    assert Point(found.necks[0].at_mm).distance(Point(50, 50)) < 6.5


@pytest.mark.parametrize("length", [0.0, 0.05, 0.2, 0.5, 1.0, 1.5, 2.0, 3.0, 40.0])
@pytest.mark.parametrize("width", [0.1, 0.5, 1.0, 1.4])
def test_however_short_or_long_a_bar_is(width: float, length: float) -> None:
    wood = _dumbbell(width, length)
    if length == 0.0:
        wood = shapely.difference(box(39, 45, 61, 55), shapely.union_all([
            box(50 - 1e-3, 44, 50 + 1e-3, 50 - width / 2), box(50 - 1e-3, 50 + width / 2, 50 + 1e-3, 56)
        ]))  # fmt: skip
    found = _narrows(wood)
    assert len(found.bodies) == 2
    for neck in found.necks:
        assert neck.width_mm == pytest.approx(width, abs=0.01)
        assert neck.bodies == (0, 1)
    assert found.necks


@pytest.mark.parametrize("angle", ANGLES)
@pytest.mark.parametrize("depth", [0.5, 3.0, 6.0, 14.0])
@pytest.mark.parametrize("width", [0.1, 0.6, 1.2])
def test_an_hourglass_is_measured_at_its_waist(width: float, depth: float, angle: float) -> None:
    found = _narrows(_hourglass(width, depth, angle))
    assert len(found.bodies) == 2
    best = min(found.necks, key=lambda neck: neck.width_mm)
    assert best.width_mm == pytest.approx(width, abs=0.01)
    assert best.at_mm == pytest.approx((50, 50), abs=0.02)


@pytest.mark.parametrize("radius", [0.745, 0.75, 0.8, 1.0, 3.0])
@pytest.mark.parametrize("width", [0.3, 0.6, 1.2])
def test_two_discs_that_overlap_a_little(width: float, radius: float) -> None:
    """The waist is the chord the two circles share, however small the second disc is."""
    half = width / 2
    apart = math.sqrt(25 - half**2) + math.sqrt(radius**2 - half**2)
    found = _narrows(Point(50, 50).buffer(5, 128).union(Point(50, 50 + apart).buffer(radius, 128)))
    assert len(found.bodies) == 2
    for neck in found.necks:
        assert neck.width_mm == pytest.approx(width, abs=0.01)
        assert neck.at_mm == pytest.approx((50, 50 + math.sqrt(25 - half**2)), abs=0.02)


@pytest.mark.parametrize("width", [1.5, 1.495, 1.6, 3.0])
@pytest.mark.parametrize("angle", ANGLES)
def test_wood_of_the_allowed_width_is_one_body(width: float, angle: float) -> None:
    found = _narrows(_dumbbell(width, angle=angle))
    assert len(found.bodies) == 1
    assert found.necks == ()
    assert found.prongs == ()


def test_a_ring_between_two_bodies_is_measured_in_its_narrower_half() -> None:
    ring = Point(50, 50).buffer(8, 128).difference(Point(50, 50.3).buffer(7, 128))
    wood = shapely.union_all([ring, box(30, 45, 43, 55), box(57, 45, 70, 55)])
    found = _narrows(wood)
    assert len(found.bodies) == 2
    upper, lower = sorted(found.necks, key=lambda neck: -neck.at_mm[1])
    assert upper.width_mm == pytest.approx(0.7, abs=0.01)
    assert upper.at_mm == pytest.approx((50, 57.65), abs=0.3)
    assert 1.0 < lower.width_mm < 1.3


def test_a_handle_is_a_neck_of_one_body() -> None:
    handle = Point(50, 50).buffer(8, 64).difference(Point(50, 50).buffer(7, 64))
    found = _narrows(handle.union(box(40, 30, 60, 46)))
    assert len(found.bodies) == 1
    assert [neck.bodies for neck in found.necks] == [(0,)]
    assert found.necks[0].width_mm == pytest.approx(1.0, abs=0.01)


@pytest.mark.parametrize("width", [0.4, 1.0])
def test_a_y_junction_joins_three_bodies(width: float) -> None:
    ends = [(50 + 14 * math.cos(math.radians(a)), 50 + 14 * math.sin(math.radians(a))) for a in (90, 210, 330)]
    arms = [LineString([(50, 50), end]).buffer(width / 2, cap_style="flat") for end in ends]
    found = _narrows(shapely.union_all([*arms, Point(50, 50).buffer(width / 2), *(Point(e).buffer(4) for e in ends)]))
    assert len(found.bodies) == 3
    assert len(found.necks) == 1
    assert found.necks[0].bodies == (0, 1, 2)
    assert found.necks[0].width_mm == pytest.approx(width, abs=0.01)


@pytest.mark.parametrize(("reach", "prongs"), [(4.0, 0), (20.0, 1)])
def test_a_prong_is_reported_when_it_reaches_far(reach: float, prongs: int) -> None:
    found = _narrows(box(30, 40, 50, 60).union(box(49, 50, 50 + reach, 50.5)))
    assert len(found.prongs) == prongs
    assert found.necks == ()
    for prong in found.prongs:
        assert prong.width_mm == pytest.approx(0.5, rel=0.1)
        assert prong.reach_mm == pytest.approx(reach, abs=0.2)


@pytest.mark.parametrize("limit", [1.0, 3.0, 10.0])
def test_a_square_has_no_prongs_at_its_corners(limit: float) -> None:
    """However wide the limit: the module says that corners are not reported."""
    found = find_narrows(box(0, 0, 40, 40), limit, REACH)
    assert found.prongs == ()
    assert found.necks == ()


@pytest.mark.parametrize("limit", [0.0, 0.02])
def test_without_a_limit_all_wood_is_one_body(limit: float) -> None:
    wood = _dumbbell(0.1)
    assert find_narrows(wood, limit, REACH) == Narrows((wood,), (), ())


def test_wood_that_is_narrow_everywhere_has_no_body() -> None:
    found = _narrows(box(0, 0, 30, 1))
    assert found.bodies == ()
    assert len(found.prongs) + len(found.necks) == 1


def test_bodies_never_reach_much_beyond_the_wood() -> None:
    wood = _dumbbell(1.0).union(Point(50, 62).buffer(6))
    found = _narrows(wood)
    assert shapely.difference(shapely.union_all(found.bodies), wood.buffer(0.011)).area < 1e-6


@pytest.mark.parametrize("width", [0.3, 0.9])
def test_two_bars_are_two_necks(width: float) -> None:
    wood = shapely.union_all([box(0, 0, 10, 20), box(20, 0, 30, 20), box(9, 3, 21, 3 + width), box(9, 15, 21, 16.2)])
    found = _narrows(wood)
    assert sorted(neck.width_mm for neck in found.necks) == pytest.approx([width, 1.2], abs=0.01)
    assert _narrowest(found) == pytest.approx(width, abs=0.01)
