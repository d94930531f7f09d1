"""Joining pieces of line work: the fewest strokes, straight on through crossings, and nothing lost."""

import pytest
import shapely
from shapely import GeometryCollection, LineString, MultiLineString, Point, box

from layercut.geometry.lines import join_lines, lines_of, together


def noded(*lines: list[tuple[float, float]]) -> MultiLineString:
    return shapely.node(MultiLineString(lines))


def test_the_lines_of_anything() -> None:
    line = LineString([(0, 0), (1, 1)])
    mixed = GeometryCollection([Point(0, 0), line, MultiLineString([line, line]), box(0, 0, 1, 1), LineString()])
    assert lines_of(mixed) == [line, line, line]
    assert lines_of(LineString()) == []
    assert together([]).is_empty


def test_a_cross_is_two_strokes() -> None:
    strokes = join_lines(noded([(0, 5), (10, 5)], [(5, 0), (5, 10)]))
    assert sorted(stroke.length for stroke in strokes) == [10, 10]
    assert {stroke.bounds for stroke in strokes} == {(0, 5, 10, 5), (5, 0, 5, 10)}


@pytest.mark.parametrize(("turn", "strokes"), [(1.0, 2), (9.0, 3)])
def test_at_a_fork_the_straight_way_goes_on_unless_all_turn(turn: float, strokes: int) -> None:
    """A trunk and two branches that turn by atan(turn / 10) each way."""
    fork = MultiLineString([[(0, 0), (10, 0)], [(10, 0), (20, turn)], [(10, 0), (20, -turn)]])
    assert len(join_lines(fork)) == strokes


def test_pieces_end_to_end_are_one_even_round_a_corner() -> None:
    pieces = MultiLineString([[(0, 0), (5, 0)], [(5, 5), (5, 0)], [(5, 5), (0, 5)]])
    (stroke,) = join_lines(pieces)
    assert stroke.length == 15


def test_a_ring_stays_closed_and_all_is_drawn_once() -> None:
    wheel = noded(
        [(0, 0), (10, 0), (10, 10), (0, 10), (0, 0)], [(0, 5), (10, 5)], [(5, 0), (5, 10)], [(-3, 5), (0, 5)]
    )
    strokes = join_lines(wheel)
    assert sum(stroke.length for stroke in strokes) == pytest.approx(wheel.length)
    assert shapely.union_all(strokes).equals(shapely.union_all(wheel))
    (ring,) = join_lines(LineString([(0, 0), (4, 0), (4, 4), (0, 0)]))
    assert ring.is_closed


def test_nothing_gives_nothing() -> None:
    assert join_lines(MultiLineString()) == []
    assert join_lines(Point(1, 1)) == []
