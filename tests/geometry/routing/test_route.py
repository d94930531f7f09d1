"""Route: short tours of points and pieces, against closed forms, all orders of a few, and the nearest neighbour.

`tests/bench/routes.py` holds tours against published optima.
"""

import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from tours import shortest_tour

from layercut.geometry.routing.neighbours import nearest
from layercut.geometry.routing.route import Route, shortest_route
from layercut.geometry.routing.tour import Nodes, Tour

Points = NDArray[np.float64]


def _length(points: Points, order: NDArray[np.int64], closed: bool = True) -> float:
    steps = np.hypot(*(points[order] - np.roll(points[order], 1, axis=0)).T)
    return float(steps.sum() if closed else steps[1:].sum())


def _route_length(ends: Points, way: Route, start: Points) -> float:
    side = way.turned.astype(int)
    enter, leave = ends[way.stops, side], ends[way.stops, 1 - side]
    return float(np.hypot(*(enter - np.vstack([start[None], leave[:-1]])).T).sum())


def _nearest_neighbour(points: Points) -> float:
    left, here, total = list(range(1, len(points))), 0, 0.0
    while left:
        there = min(left, key=lambda k: math.dist(points[here], points[k]))
        total += math.dist(points[here], points[there])
        left.remove(there)
        here = there
    return total + math.dist(points[here], points[0])


def _grid(columns: int, rows: int) -> Points:
    points = np.array(list(itertools.product(range(columns), range(rows))), dtype=float)
    return points[np.random.default_rng(5).permutation(len(points))]


@pytest.mark.parametrize(("columns", "rows"), [(10, 10), (2, 3), (4, 25)])
def test_an_even_grid_is_toured_in_unit_steps(columns: int, rows: int) -> None:
    points = _grid(columns, rows)
    assert _length(points, shortest_tour(points)) == pytest.approx(columns * rows)


@pytest.mark.parametrize(("columns", "rows"), [(5, 5), (9, 7), (3, 3)])
def test_an_odd_grid_takes_one_diagonal(columns: int, rows: int) -> None:
    points = _grid(columns, rows)
    assert _length(points, shortest_tour(points)) == pytest.approx(columns * rows - 1 + math.sqrt(2))


@pytest.mark.parametrize(("count", "radius", "best"), [(60, 10, 62.803147), (100, 100, 628.215182)])
def test_points_on_a_circle_are_joined_along_it(count: int, radius: float, best: float) -> None:
    turn = np.random.default_rng(3).permutation(count) * 2 * math.pi / count
    points = radius * np.column_stack([np.cos(turn), np.sin(turn)])
    assert _length(points, shortest_tour(points)) == pytest.approx(best, abs=1e-5)


@pytest.mark.parametrize("closed", [True, False])
@pytest.mark.parametrize("count", [0, 1, 2, 3, 4, 7])
def test_few_points_are_toured_the_best_route(count: int, closed: bool) -> None:
    points = np.random.default_rng(count).random((count, 2))
    order = shortest_tour(points, closed)
    assert sorted(order.tolist()) == list(range(count))
    if count:
        assert order[0] == 0
        every = (np.array([0, *rest]) for rest in itertools.permutations(range(1, count)))
        assert _length(points, order, closed) == pytest.approx(min(_length(points, one, closed) for one in every))


@given(st.lists(st.tuples(st.integers(0, 30), st.integers(0, 30)), min_size=1, max_size=40))
@settings(max_examples=40)
def test_a_tour_visits_all_once_and_beats_the_nearest_neighbour(spots: list[tuple[int, int]]) -> None:
    points = np.array(spots, dtype=float)  # many at one place, many in a row
    order = shortest_tour(points)
    assert sorted(order.tolist()) == list(range(len(points)))
    assert _length(points, order) <= _nearest_neighbour(points) + 1e-6


def test_hundreds_of_points_at_one_place_are_no_trouble() -> None:
    points = np.repeat([[0.0, 0.0], [3.0, 0.0], [3.0, 4.0]], 400, axis=0)
    assert _length(points, shortest_tour(points)) == pytest.approx(12)


@given(st.integers(0, 10**6), st.integers(1, 30))
@settings(max_examples=40)
def test_neighbours_are_the_nearest(seed: int, count: int) -> None:
    chance = np.random.default_rng(seed)
    points = chance.random((chance.integers(2, 60), 2)) ** chance.integers(1, 9)  # crowded in a corner
    near, distance = nearest(points, count)
    every = np.sort(np.hypot(*(points[:, None] - points).transpose(2, 0, 1)), axis=1)[:, 1 : count + 1]
    assert near.shape == every.shape
    assert np.allclose(np.sort(distance, axis=1), every, atol=1e-5)
    assert (near != np.arange(len(points))[:, None]).all()


def test_points_at_one_place_are_each_near_to_a_few_only() -> None:
    near, distance = nearest(np.full((500, 2), 7.0), 8)
    assert (distance == 0).all()
    assert np.bincount(near.ravel(), minlength=500).max() <= 6 * 8  # in the plane no point is nearest to more


def test_pieces_are_run_from_whichever_end_is_nearer() -> None:
    ends = np.array([[[0, y], [10, y]] for y in range(20)], dtype=float)[np.random.default_rng(1).permutation(20)]
    way = shortest_route(ends, np.array([0.0, 0.0]))
    assert _route_length(ends, way, np.array([0.0, 0.0])) == pytest.approx(19)
    assert way.turned.sum() == 10


@pytest.mark.parametrize("seed", range(4))
def test_a_way_given_to_begin_with_never_grows_longer(seed: int) -> None:
    chance = np.random.default_rng(seed)
    ends, start = chance.random((30, 2, 2)), np.zeros(2)
    ends[::3, 1] = ends[::3, 0]
    best = shortest_route(ends, start)
    again = shortest_route(ends, start, first=best)
    assert _route_length(ends, again, start) <= _route_length(ends, best, start) + 1e-6


@given(st.integers(0, 10**6), st.integers(2, 40))
@settings(max_examples=40)
def test_a_stop_never_comes_before_one_that_goes_first(seed: int, count: int) -> None:
    chance = np.random.default_rng(seed)
    points = chance.random((count, 2))
    around = [
        int(chance.integers(k + 1, count)) if k + 1 < count and chance.random() < 0.6 else -1 for k in range(count)
    ]
    way = shortest_route(np.repeat(points[:, None], 2, axis=1), np.zeros(2), around)
    assert sorted(way.stops.tolist()) == list(range(count))
    place = np.argsort(way.stops)
    assert all(place[k] < place[outer] for k, outer in enumerate(around) if outer >= 0)


@pytest.mark.parametrize("seed", range(5))
def test_every_move_saves_what_it_says(seed: int) -> None:
    """Open ways of pieces and points: what the search reports is what the cycle has lost, and no piece is cut."""
    chance = np.random.default_rng(seed)
    points = np.vstack([chance.random((40, 2)), np.zeros((2, 2))])
    mate = [k ^ 1 if k < 20 or k >= 40 else -1 for k in range(42)]
    near, distance = nearest(points[:41], 10)
    lists = [list(zip(a, d, strict=True)) for a, d in zip(near.tolist(), distance.tolist(), strict=True)]
    tour = Tour(Nodes(points, mate, 40, 41, {}), [*lists, []], [40, *range(40), 41])

    def length() -> float:
        steps = zip(tour.order, [*tour.order[1:], tour.order[0]], strict=True)
        return sum(0.0 if 41 in step else math.dist(points[step[0]], points[step[1]]) for step in steps)

    before = length()
    saved = tour.search(range(41))
    assert saved > 1
    assert length() == pytest.approx(before - saved)
    tour.kick(50)
    assert length() <= before - saved + 1e-6
    for a, b in enumerate(mate):
        assert b < 0 or abs(tour.place[a] - tour.place[b]) in (1, 41)


def test_the_same_points_give_the_same_tour() -> None:
    points = np.random.default_rng(8).random((300, 2))
    assert (shortest_tour(points) == shortest_tour(points.copy())).all()
