"""Offsets keep what their docstrings promise, against closed forms."""

import math

import pytest
import shapely
from shapely import LineString, Point, Polygon, box

from layercut.geometry.offsets import (
    MITRE_LIMIT,
    offset_mitre,
    offset_round,
    offset_round_coarse,
    quarter_segments,
    rounded_box,
    shrink,
)
from layercut.geometry.precision import FLATTEN_MM

RADII_MM = [0.003, 0.01, 0.05, 0.075, 0.5, 1.0, 6.35, 50.0, 250.0, 2000.0]


@pytest.mark.parametrize("radius", RADII_MM)
def test_chords_of_an_arc_keep_within_the_flattening_tolerance(radius: float) -> None:
    segments = quarter_segments(radius)
    assert radius * (1 - math.cos(math.pi / 4 / segments)) <= FLATTEN_MM * (1 + 1e-9)


@pytest.mark.parametrize("radius", RADII_MM[2:])
def test_no_more_chords_than_the_tolerance_asks_for(radius: float) -> None:
    fewer = quarter_segments(radius) - 1
    if fewer >= 2:
        assert radius * (1 - math.cos(math.pi / 4 / fewer)) > FLATTEN_MM


def test_an_arc_smaller_than_the_tolerance_is_one_chord() -> None:
    assert quarter_segments(0.0) == 1
    assert quarter_segments(FLATTEN_MM) == 1


@pytest.mark.parametrize("distance", [0.025, 0.075, 0.5, 3.0])
def test_a_grown_rectangle_keeps_its_corners(distance: float) -> None:
    grown = offset_mitre(box(10, 20, 40, 30), distance)
    assert grown.equals(box(10 - distance, 20 - distance, 40 + distance, 30 + distance))


def test_growing_by_nothing_and_growing_nothing() -> None:
    assert offset_mitre(box(0, 0, 3, 2), 0).equals(box(0, 0, 3, 2))
    assert offset_mitre(Polygon(), 1).is_empty


def _wedge(angle_deg: float, length: float = 20) -> Polygon:
    half = math.radians(angle_deg / 2)
    return Polygon([(0, 0), (length, length * math.tan(half)), (length, -length * math.tan(half))])


@pytest.mark.parametrize("angle", [61, 75, 90, 120])
def test_corners_down_to_60_degrees_stay_sharp(angle: float) -> None:
    tip_x = offset_mitre(_wedge(angle), 0.1).bounds[0]
    assert tip_x == pytest.approx(-0.1 / math.sin(math.radians(angle / 2)), abs=1e-9)


@pytest.mark.parametrize("angle", [1, 5, 10, 20, 45])
def test_sharper_corners_reach_no_further_than_the_limit(angle: float) -> None:
    tip_x = offset_mitre(_wedge(angle, 5), 0.1).bounds[0]
    assert -MITRE_LIMIT * 0.1 - 1e-9 <= tip_x < -0.1


@pytest.mark.parametrize("distance", [0.2, 1.0, 3.0])
@pytest.mark.parametrize("shape", [box(0, 0, 10, 5), Point(0, 0).buffer(4, quad_segs=64), _wedge(20)])
def test_coarse_growth_is_never_less_and_at_most_two_per_cent_more(shape: Polygon, distance: float) -> None:
    grown = offset_round_coarse(shape, distance)
    edge = shapely.get_coordinates(grown.exterior.segmentize(0.05))
    reach = shapely.distance(shape, shapely.points(edge))
    assert reach.min() >= distance - 1e-9
    assert reach.max() <= 1.02 * distance


def test_shrinking_leaves_what_is_further_from_the_edge() -> None:
    assert shrink(box(0, 0, 10, 6), 1).equals(box(1, 1, 9, 5))
    assert shrink(box(0, 0, 10, 1.9), 1).is_empty
    assert shrink(Polygon(), 1).is_empty


def test_shrinking_a_dumbbell_makes_two() -> None:
    dumbbell = shapely.union_all([box(0, 0, 10, 10), box(20, 0, 30, 10), box(9, 4.5, 21, 5.5)])
    assert len(shapely.get_parts(shrink(dumbbell, 1))) == 2


def test_dilating_is_round() -> None:
    grown = offset_round(Point(3, 4).buffer(1e-6), 2)
    assert grown.area == pytest.approx(math.pi * 4, rel=0.01)
    assert not grown.contains(Point(3 + 1.9, 4 + 1.9))


@pytest.mark.parametrize("radius", [0.5, 3.0, 10.0, 20.0])
def test_a_rounded_box_has_the_area_of_its_closed_form(radius: float) -> None:
    rounded = rounded_box(5, 5, 65, 45, radius)
    assert rounded.bounds == pytest.approx((5, 5, 65, 45), abs=1e-9)
    exact = 60 * 40 - (4 - math.pi) * radius**2
    assert exact - 2 * math.pi * radius * FLATTEN_MM <= rounded.area <= exact


def test_a_square_with_half_its_side_is_a_disc() -> None:
    disc = rounded_box(0, 0, 50, 50, 25)
    away = [Point(25, 25).distance(Point(corner)) for corner in disc.exterior.coords]
    assert min(away) == pytest.approx(25, abs=1e-9)
    assert max(away) == pytest.approx(25, abs=1e-9)
    middles = LineString(disc.exterior.coords).distance(Point(25, 25))
    assert middles >= 25 - FLATTEN_MM


@pytest.mark.parametrize("radius", [0.0, -1.0])
def test_without_a_radius_it_is_a_plain_box(radius: float) -> None:
    assert rounded_box(0, 0, 3, 2, radius).equals(box(0, 0, 3, 2))
