"""The proof's own region work: exact where the quick way and the sure way must agree."""

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely import LinearRing, MultiPolygon, Point, Polygon, box

from layercut.proof.regions import EMPTY, RUN, around, even_odd, inner, outer, runs, tiled, union, wider_than


def test_rings_that_nest_and_cross_count() -> None:
    squares = [box(k, k, 20 - k, 20 - k).exterior for k in (0, 2, 4)]
    nested = even_odd(squares)
    assert nested.area == 20**2 - 16**2 + 12**2
    crossing = even_odd([*squares, box(10, 10, 30, 30).exterior])
    expected = shapely.symmetric_difference(nested, box(10, 10, 30, 30))
    assert shapely.symmetric_difference(crossing, expected).area < 1e-9


def test_a_ring_twice_is_no_ring_at_all() -> None:
    """The cells on both sides then are of one kind, so that they share an edge."""
    twice = even_odd([box(0, 0, 10, 10).exterior, *[box(2, 2, 5, 12).exterior] * 2])
    assert twice.is_valid
    assert twice.equals(box(0, 0, 10, 10))
    assert even_odd([LinearRing([(0, 0), (1, 0), (0, 0)])] * 2).is_empty


def test_parts_that_share_their_edges_are_joined() -> None:
    joined = tiled([box(0, 0, 5, 5), box(5, 0, 9, 5), box(20, 20, 30, 30)])
    assert joined.equals(union([box(0, 0, 9, 5), box(20, 20, 30, 30)]))
    assert tiled([]).is_empty
    assert tiled([EMPTY, box(0, 0, 1, 1)]).area == 1


@pytest.mark.parametrize(
    "second",
    [box(5, 1, 9, 3), box(4, 1, 9, 3), box(4, -1, 9, 6), Point(5, 2).buffer(2), box(1, 1, 2, 2)],
    ids=["an edge without its nodes", "upon each other", "across", "a disc across", "within"],
)
def test_parts_that_do_not_are_joined_all_the_same(second: Polygon) -> None:
    joined = tiled([box(0, 0, 5, 5), second])
    assert joined.is_valid
    assert joined.area == pytest.approx(shapely.union(box(0, 0, 5, 5), second).area)


PLACES = st.floats(0, 9).map(lambda value: round(value, 3))  # the grid's digits: nothing lies a hair of 1e-200 off


@given(st.lists(st.tuples(PLACES, PLACES, st.floats(0.5, 3)), min_size=2, max_size=6))
def test_middles_tell_what_is_wide_of_overlaps_and_of_differences(discs: list[tuple[float, float, float]]) -> None:
    """By way of the middles, or of the overlap itself: the same parts."""
    shapes = [Point(x, y).buffer(r, 16) for x, y, r in discs]
    a, b = union(shapes[::2]), union(shapes[1::2])
    width = 0.3
    for direct, middles in (
        (shapely.intersection(a, b), shapely.intersection(inner(a, width), inner(b, width))),
        (shapely.difference(a, b), shapely.difference(inner(a, width), outer(b, width))),
    ):
        expected, found = MultiPolygon(wider_than(direct, width)), union(around(middles, width))
        # Corners of the discs that are drawn as octagons differ by a few hundredths of their radius.
        assert shapely.symmetric_difference(expected, found).area < 0.02 * (1 + expected.length)


def test_runs_are_the_edges_and_know_their_owner() -> None:
    ring = Point(0, 0).buffer(5, 25)
    pieces = [ring.difference(box(-1, -1, 1, 1)), box(10, 0, 12, 1)]
    lines, owner = runs(pieces)
    assert shapely.get_num_coordinates(lines).max() == RUN + 1
    for k, piece in enumerate(pieces):
        mine = shapely.multilinestrings(lines[owner == k])
        assert mine.length == pytest.approx(piece.length)
        assert np.isclose(shapely.hausdorff_distance(mine, piece.boundary), 0)
