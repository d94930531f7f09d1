"""Order: inner rings first, everything once, and a way that is short."""

import itertools
import math
import random

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, Point, Polygon, box

from layercut.sheets.order import BurnRoute, order_lines, order_rings


def _rings(seed: int, count: int) -> list[Polygon]:
    """Discs apart from each other, some with rings in them and rings in those."""
    rng = random.Random(seed)
    rings: list[Polygon] = []
    while len(rings) < count:
        disc = Point(rng.uniform(0, 200), rng.uniform(0, 200)).buffer(rng.uniform(1, 9), 8)
        if all(disc.disjoint(other) for other in rings):
            rings.append(disc)
            if rng.random() < 0.3:
                rings += [disc.buffer(-0.2), disc.buffer(-0.4)]
    rng.shuffle(rings)
    return rings


def _lines(seed: int, count: int) -> list[LineString]:
    rng = np.random.default_rng(seed)
    ends = rng.uniform(0, 200, (count, 2))
    return [LineString([end, end + step]) for end, step in zip(ends, rng.uniform(-15, 15, (count, 2)), strict=True)]


def _travel(route: BurnRoute, start: tuple[float, float]) -> float:
    """The way between the stops, by the stops' own ends."""
    spots = [start, *(p for stop in route.stops for p in (stop.coords[0], stop.coords[-1]))]
    return sum(math.dist(a, b) for a, b in zip(spots[::2], spots[1::2], strict=False))


def _nearest_neighbour(lines: list[LineString], start: tuple[float, float]) -> float:
    left = [(line.coords[0], line.coords[-1]) for line in lines]
    here, total = start, 0.0
    while left:
        pick = min(
            ((i, side) for i in range(len(left)) for side in (0, 1)),
            key=lambda at: math.dist(here, left[at[0]][at[1]]),
        )
        ends = left.pop(pick[0])
        total += math.dist(here, ends[pick[1]])
        here = ends[1 - pick[1]]
    return total


def _nearest_ring_neighbour(rings: list[Polygon], start: tuple[float, float]) -> float:
    """From vertex to nearest vertex of a ring whose inner rings are done."""
    left, here, total = list(rings), start, 0.0
    while left:
        free = [
            ring for ring in left if not any(ring.contains_properly(other) for other in left if other is not ring)
        ]
        ring, spot = min(
            ((ring, spot) for ring in free for spot in ring.exterior.coords), key=lambda at: math.dist(here, at[1])
        )
        left.remove(ring)
        total += math.dist(here, spot)
        here = spot
    return total


def _inner_first(route: BurnRoute) -> None:
    filled = [Polygon(stop) for stop in route.stops]
    inner, outer = shapely.STRtree(filled).query(filled, predicate="contains_properly")
    assert (np.asarray(outer) < np.asarray(inner)).all()  # the query gives (container, contained)


@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize("count", [1, 2, 3, 10, 60])
def test_lines_are_all_drawn_once(seed: int, count: int) -> None:
    lines = _lines(seed, count)
    route = order_lines(lines, (0, 0))
    wanted = sorted(tuple(sorted(line.coords)) for line in lines)
    assert sorted(tuple(sorted(stop.coords)) for stop in route.stops) == wanted
    assert route.travel_mm == pytest.approx(_travel(route, (0, 0)))
    assert route.end_mm == route.stops[-1].coords[-1]


@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize("count", [1, 2, 3, 10, 60])
def test_rings_are_all_cut_once_inner_ones_first(seed: int, count: int) -> None:
    rings = _rings(seed, count)
    route = order_rings(rings, (0, 0))
    assert all(stop.is_closed for stop in route.stops)
    assert sorted(round(Polygon(s).area, 6) for s in route.stops) == sorted(round(r.area, 6) for r in rings)
    assert route.travel_mm == pytest.approx(_travel(route, (0, 0)))
    assert route.end_mm == route.stops[-1].coords[0]
    _inner_first(route)


@pytest.mark.parametrize("depth", [2, 5, 30])
def test_nested_rings_go_from_the_inside_out(depth: int) -> None:
    rings = [box(50 - k, 50 - k, 50 + k, 50 + k) for k in range(1, depth + 1)]
    for shuffled in (rings, rings[::-1], sorted(rings, key=lambda ring: -ring.area % 7)):
        route = order_rings(shuffled, (0, 0))
        assert [Polygon(stop).area for stop in route.stops] == sorted(ring.area for ring in rings)


def _nest(around: Polygon, rng: random.Random, depth: int) -> list[Polygon]:
    """A ring and, at random, up to four in its quarters, and so on."""
    found = [around]
    if depth:
        x0, y0, x1, y1 = around.buffer(-0.05 * (around.bounds[2] - around.bounds[0])).bounds
        mx, my, gap = (x0 + x1) / 2, (y0 + y1) / 2, 0.03 * (x1 - x0)
        for a, b, c, d in ((x0, y0, mx, my), (mx, y0, x1, my), (x0, my, mx, y1), (mx, my, x1, y1)):
            if rng.random() < 0.7:
                found += _nest(box(a + gap, b + gap, c - gap, d - gap), rng, depth - 1)
    return found


@given(st.integers(0, 10**6), st.integers(0, 3))
@settings(max_examples=25)
def test_a_ring_never_comes_before_one_inside_it(seed: int, depth: int) -> None:
    rng = random.Random(seed)
    rings = _nest(box(0, 0, 100, 100), rng, depth) + _nest(box(110, 0, 170, 60), rng, depth)
    rng.shuffle(rings)
    route = order_rings(rings, (0, 0))
    assert len(route.stops) == len(rings)
    _inner_first(route)


def test_nothing_to_do_is_no_way() -> None:
    assert order_lines([], (3, 4)) == BurnRoute((), 0.0, (3, 4))
    assert order_rings([], (3, 4)) == BurnRoute((), 0.0, (3, 4))


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("count", [2, 3, 5, 20, 80])
def test_lines_travel_no_further_than_the_nearest_neighbour(seed: int, count: int) -> None:
    lines = _lines(100 + seed, count)
    assert order_lines(lines, (0, 0)).travel_mm <= _nearest_neighbour(lines, (0, 0)) + 1e-9


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("count", [2, 5, 20, 60])
def test_rings_travel_no_further_than_the_nearest_neighbour(seed: int, count: int) -> None:
    rings = _rings(100 + seed, count)
    assert order_rings(rings, (0, 0)).travel_mm <= _nearest_ring_neighbour(rings, (0, 0)) + 1e-9


@pytest.mark.parametrize("seed", range(10))
def test_few_lines_go_the_best_of_all_ways(seed: int) -> None:
    lines = _lines(200 + seed, 5)
    ends = [(line.coords[0], line.coords[-1]) for line in lines]
    best = min(
        sum(
            math.dist(a, b)
            for a, b in zip([(0, 0), *(e[1 - s] for e, s in way)], (e[s] for e, s in way), strict=False)
        )
        for order in itertools.permutations(ends)
        for sides in itertools.product((0, 1), repeat=5)
        for way in [list(zip(order, sides, strict=True))]
    )
    assert best - 1e-9 <= order_lines(lines, (0, 0)).travel_mm <= 1.0001 * best


@pytest.mark.parametrize("seed", range(10))
def test_few_rings_are_near_the_best_of_all_orders_and_entry_points(seed: int) -> None:
    rings = [Point(*at).buffer(6, 2) for at in np.random.default_rng(300 + seed).uniform(0, 100, (5, 2))]
    spots = [np.array(ring.exterior.coords[:-1]) for ring in rings]
    best = math.inf
    for order in itertools.permutations(spots):
        cost = np.hypot(*order[0].T)
        for here, there in itertools.pairwise(order):
            cost = (cost[:, None] + np.hypot(*(here[:, None] - there).transpose(2, 0, 1))).min(axis=0)
        best = min(best, float(cost.min()))
    assert best - 1e-9 <= order_rings(rings, (0, 0)).travel_mm <= 1.05 * best


@pytest.mark.parametrize("seed", range(3))
def test_the_same_input_gives_the_same_route(seed: int) -> None:
    assert order_lines(_lines(seed, 50), (0, 0)) == order_lines(_lines(seed, 50), (0, 0))
    assert order_rings(_rings(seed, 50), (0, 0)) == order_rings(_rings(seed, 50), (0, 0))


def test_a_line_is_drawn_from_its_nearer_end() -> None:
    (stop,) = order_lines([LineString([(50, 0), (1, 0)])], (0, 0)).stops
    assert list(stop.coords) == [(1, 0), (50, 0)]


def test_a_ring_may_be_entered_anywhere() -> None:
    route = order_rings([Point(50, 50).buffer(20, 64)], (100, 50))
    assert route.travel_mm == pytest.approx(30)
    assert route.stops[0].coords[0] == pytest.approx((70, 50))


def test_a_closed_line_may_be_drawn_from_any_of_its_points() -> None:
    circle = LineString(Point(50, 50).buffer(20, 64).exterior.coords)
    entries = np.array(circle.coords)
    way = np.hypot(*(entries - (29, 50)).T) + np.hypot(*(entries - (28, 30)).T)
    route = order_lines([LineString([(0, 0), (28, 30)]), circle, LineString([(0, 50), (29, 50)])], (0, 50))
    assert route.travel_mm == pytest.approx(way.min())
    assert list(route.stops[0].coords) == [(0, 50), (29, 50)]
    assert route.stops[1].coords[0] == route.stops[1].coords[-1] == tuple(entries[way.argmin()])
    assert route.stops[1].length == pytest.approx(circle.length)
    assert list(route.stops[2].coords) == [(28, 30), (0, 0)]


def test_a_ring_keeps_its_points_and_direction() -> None:
    ring = box(0, 0, 10, 10)
    (stop,) = order_rings([ring], (0, 12)).stops
    assert stop.coords[0] == (0, 10)
    assert shapely.is_ccw(stop) == shapely.is_ccw(ring.exterior)
    assert set(stop.coords) == set(ring.exterior.coords)


def test_two_rings_at_one_place_are_both_cut() -> None:
    assert len(order_rings([box(0, 0, 1, 1), box(0, 0, 1, 1)], (0, 0)).stops) == 2
