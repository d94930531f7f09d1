"""Routes against closed-form optima, for ways that may end anywhere.

A k x m grid of unit steps has a way of k m - 1 from a corner (every step is at least 1). n points on a circle are
joined best along it: n - 1 chords of 2 R sin(pi / n). Nested and single rings alike are tried as tiny squares.
"""

import math

import numpy as np
import pytest
from shapely import LineString, Polygon, box

from layercut.sheets.order import order_lines, order_rings

TINY = 1e-4
WITHIN = 1.05


def _dot(x: float, y: float) -> Polygon:
    return box(x - TINY, y - TINY, x + TINY, y + TINY)


def _shuffled(points: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """A fixed disorder."""
    return sorted(points, key=lambda point: math.sin(97 * point[0] + 13 * point[1]))


@pytest.mark.parametrize(("columns", "rows"), [(10, 10), (5, 5), (9, 7), (1, 40), (2, 25), (20, 15)])
def test_a_grid_of_rings(columns: int, rows: int) -> None:
    spots = [(float(x), float(y)) for x in range(columns) for y in range(rows)]
    route = order_rings([_dot(*spot) for spot in _shuffled(spots)], (0, 0))
    best = columns * rows - 1
    assert best * (1 - 4 * TINY) <= route.travel_mm <= WITHIN * best


@pytest.mark.parametrize(("columns", "rows"), [(10, 10), (5, 5), (9, 7), (1, 40), (2, 25), (20, 15)])
def test_a_grid_of_short_lines(columns: int, rows: int) -> None:
    spots = [(float(x), float(y)) for x in range(columns) for y in range(rows)]
    lines = [LineString([(x, y), (x + TINY, y)]) for x, y in _shuffled(spots)]
    best = columns * rows - 1
    assert best * (1 - 4 * TINY) <= order_lines(lines, (0, 0)).travel_mm <= WITHIN * best


@pytest.mark.parametrize(("count", "radius"), [(12, 10.0), (60, 10.0), (100, 100.0), (250, 100.0)])
def test_points_on_a_circle(count: int, radius: float) -> None:
    turns = [2 * math.pi * k / count for k in range(count)]
    spots = [(radius * math.cos(t), radius * math.sin(t)) for t in turns]
    route = order_rings([_dot(*spot) for spot in _shuffled(spots)], (radius, 0))
    best = (count - 1) * 2 * radius * math.sin(math.pi / count)
    assert best - 4 * TINY * count <= route.travel_mm <= WITHIN * best


@pytest.mark.parametrize("count", [5, 20, 50])
def test_parallel_lines_are_drawn_to_and_fro(count: int) -> None:
    """Lines of 10 mm, 1 mm apart: the best way between them is one step each."""
    lines = [LineString([(0, y), (10, y)]) for y in sorted(range(count), key=lambda y: math.sin(31 * y))]
    assert order_lines(lines, (0, 0)).travel_mm == pytest.approx(count - 1)


def _best_along(rings: list[Polygon], start: tuple[float, float]) -> float:
    """The shortest way through rings in this order, each entered and left at one of its corners: exact."""
    ways = {start: 0.0}
    for ring in rings:
        ways = {
            spot: min(way + math.dist(here, spot) for here, way in ways.items()) for spot in ring.exterior.coords[:-1]
        }
    return min(ways.values())


def test_a_row_of_nested_rings() -> None:
    """Twenty pairs, 10 mm apart, from left to right, inner before outer: no other order is shorter."""
    pairs = [ring for k in range(20) for ring in (box(10 * k + 1, 1, 10 * k + 3, 3), box(10 * k, 0, 10 * k + 4, 4))]
    disordered = sorted(pairs, key=lambda ring: math.sin(7 * ring.bounds[0] + ring.bounds[1]))
    assert order_rings(disordered, (0, 0)).travel_mm <= WITHIN * _best_along(pairs, (0, 0))


@pytest.mark.parametrize("seed", range(2))
def test_lines_travel_little_further_than_what_a_general_solver_finds(seed: int) -> None:
    """150 random lines, against the best way fast_tsp finds in a second (published optima take it less)."""
    pytest.importorskip("fast_tsp", reason="no general solver is installed to judge by")
    from route_oracle import solver_travel_mm  # noqa: PLC0415

    chance = np.random.default_rng(seed)
    ends = chance.random((150, 1, 2)) * 200 + chance.uniform(-6, 6, (150, 2, 2))
    lines = [LineString(pair) for pair in ends]
    best = solver_travel_mm(lines, 1)
    assert 0.99 * best <= order_lines(lines, (0, 0)).travel_mm <= WITHIN * best
