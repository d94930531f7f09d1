"""Where a part can be moved to among obstacles, and where it can't: held against trying it, place by place."""

import math
import random

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Point, Polygon, box
from shapely.affinity import translate

from layercut.geometry.nofit import Corners, convex_parts, fit_region, hull_corners, no_fit_region
from layercut.geometry.regions import EMPTY, Region, as_region, polygons_of

L_SHAPE = Polygon([(0, 0), (30, 0), (30, 10), (10, 10), (10, 30), (0, 30)])
RING = box(0, 0, 100, 100).difference(box(20, 20, 80, 80))


def corners(part: Polygon) -> Corners:
    return np.asarray(shapely.get_coordinates(part.exterior)[:-1])


def star(seed: int, spikes: int, reach: float) -> Polygon:
    """A region of any shape: as far from its middle as chance has it."""
    chance = random.Random(seed)
    turns = [2 * math.pi * k / spikes for k in range(spikes)]
    return Polygon(
        [(reach * chance.uniform(0.3, 1) * math.cos(a), reach * chance.uniform(0.3, 1) * math.sin(a)) for a in turns]
    ).buffer(0)


regions = st.builds(star, st.integers(0, 10**6), st.integers(5, 14), st.floats(20, 60))
convex = st.builds(
    lambda seed, spikes: star(seed, spikes, 12.0).convex_hull, st.integers(0, 10**6), st.integers(3, 9)
)


def test_two_rectangles_by_hand() -> None:
    region = no_fit_region(box(0, 0, 10, 20), corners(box(0, 0, 3, 4)))
    assert region.equals(box(-3, -4, 10, 20))


def test_a_square_in_a_ring_has_the_ring_s_window_to_lie_in() -> None:
    part = corners(box(0, 0, 10, 10))
    assert [Polygon(hole).bounds for hole in polygons_of(no_fit_region(RING, part))[0].interiors] == [
        (20, 20, 70, 70)
    ]
    assert fit_region(box(20, 20, 80, 80), [part]).equals(box(20, 20, 70, 70))


def test_nothing_fits_into_nothing_nor_what_is_larger() -> None:
    part = corners(box(0, 0, 10, 10))
    assert no_fit_region(EMPTY, part).is_empty
    assert fit_region(EMPTY, [part]).is_empty
    assert fit_region(box(0, 0, 9, 50), [part]).is_empty


@settings(max_examples=60, deadline=None)
@given(regions, convex, st.randoms(use_true_random=False))
def test_a_part_lies_on_an_obstacle_inside_the_no_fit_region_only(
    obstacle: Region, part: Polygon, chance: random.Random
) -> None:
    region = no_fit_region(obstacle, corners(part))
    for _ in range(20):
        shift = (chance.uniform(-90, 90), chance.uniform(-90, 90))
        if region.boundary.distance(Point(shift) if not region.is_empty else Point()) < 1e-6:
            continue
        upon = translate(part, *shift).intersection(obstacle).area > 0
        assert upon == region.contains(Point(shift))


@settings(max_examples=60, deadline=None)
@given(regions, convex, st.randoms(use_true_random=False))
def test_a_part_lies_within_a_room_where_it_fits_only(room: Region, part: Polygon, chance: random.Random) -> None:
    holed = as_region(room.difference(Point(5, 0).buffer(4)))
    region = fit_region(holed, [corners(part)])
    for _ in range(20):
        shift = Point(chance.uniform(-60, 60), chance.uniform(-60, 60))
        if not region.is_empty and region.boundary.distance(shift) < 1e-6:
            continue
        outside = translate(part, shift.x, shift.y).difference(holed).area
        assert region.contains(shift) == (outside < 1e-9)


@settings(max_examples=30, deadline=None)
@given(regions, st.randoms(use_true_random=False))
def test_a_part_that_is_not_convex_may_lie_around_a_corner(room: Region, chance: random.Random) -> None:
    part = translate(L_SHAPE, -5, -5)
    region = fit_region(room.buffer(15), convex_parts(part, 0.001))
    for _ in range(20):
        shift = Point(chance.uniform(-60, 60), chance.uniform(-60, 60))
        if not region.is_empty and region.boundary.distance(shift) < 0.02:
            continue
        outside = translate(part, shift.x, shift.y).difference(room.buffer(15)).area
        assert region.contains(shift) == (outside < 1e-9)


@pytest.mark.parametrize("slack", [0.01, 0.2])
@settings(max_examples=40, deadline=None)
@given(regions)
def test_hulls_and_triangles_cover_their_part(slack: float, part: Polygon) -> None:
    hull = Polygon(hull_corners(part, slack))
    assert hull.buffer(1e-9).covers(part)
    assert hull.equals(hull.convex_hull)
    whole = shapely.union_all([Polygon(one) for one in convex_parts(part, slack)])
    assert whole.buffer(1e-6).covers(part)


def test_a_round_hull_keeps_few_corners_and_stays_near() -> None:
    disc = Point(0, 0).buffer(20, quad_segs=64)
    hull = Polygon(hull_corners(disc, 0.2))
    assert len(hull.exterior.coords) < 60
    assert hull.hausdorff_distance(disc) < 0.6


def test_the_same_room_and_part_give_the_same_region() -> None:
    one, two = (fit_region(star(3, 12, 50), [corners(box(0, 0, 5, 5))]) for _ in range(2))
    assert one.wkb == two.wkb
