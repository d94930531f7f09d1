"""Places for parts: inside the room, apart from what lies there, turned where it must be."""

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Point, Polygon, box

from layercut.planning.boards.rooms import find_lie, placed, rooms_of, shape_of, taken_by, without_parts

BOOMERANG = Polygon([(0, 0), (40, 0), (40, 6), (6, 6), (6, 40), (0, 40)])


def test_a_part_goes_up_and_left_first() -> None:
    lie = find_lie(shape_of(box(5, 5, 15, 25), (0,)), rooms_of(3, box(100, 200, 150, 250), inside=False))
    assert lie is not None
    assert (lie.board, lie.inside, lie.turned_deg) == (3, False, 0)
    assert lie.rim.bounds == pytest.approx((100, 200, 110, 220))
    assert lie.at_mm == (95, 195)


@pytest.mark.parametrize(("turns", "turned"), [((0, 180), None), ((0, 90, 180, 270), 90)])
def test_a_part_is_turned_only_as_far_as_it_may(turns: tuple[int, ...], turned: int | None) -> None:
    lie = find_lie(shape_of(box(0, 0, 34, 5), turns), rooms_of(0, box(0, 0, 9, 40), inside=True))
    assert (None if lie is None else lie.turned_deg) == turned


def test_a_part_does_not_fit_by_its_area_alone() -> None:
    assert find_lie(shape_of(box(0, 0, 100, 1), (0, 90)), rooms_of(0, box(0, 0, 50, 30), inside=True)) is None


def test_two_boomerangs_lie_in_each_other() -> None:
    """The hull of one leaves no place for the other; their shapes do."""
    rooms = rooms_of(0, box(0, 0, 50, 50), inside=False)
    shape = shape_of(BOOMERANG, (0,))
    first = find_lie(shape, rooms)
    assert first is not None
    rooms = without_parts(rooms, 0, [first.rim], 1.0)
    second = find_lie(shape, rooms)
    assert second is not None
    assert second.rim.distance(first.rim) >= 1 - 1e-6


def test_a_narrow_room_is_passed_over() -> None:
    rooms = rooms_of(0, box(0, 0, 4, 90), inside=True) + rooms_of(1, box(0, 0, 20, 20), inside=True)
    lie = find_lie(shape_of(Point(0, 0).buffer(5), (0,)), rooms)
    assert lie is not None
    assert lie.board == 1


def test_what_is_taken_on_one_board_is_free_on_another() -> None:
    rooms = rooms_of(0, box(0, 0, 20, 20), inside=False) + rooms_of(1, box(0, 0, 20, 20), inside=False)
    left = without_parts(rooms, 0, [box(0, 0, 20, 10)], 2.0)
    assert [(room.board, room.region.bounds) for room in left] == [(0, (0, 12, 20, 20)), (1, (0, 0, 20, 20))]


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(st.floats(0, 60), st.floats(0, 60)), min_size=3, max_size=9), st.floats(0.3, 8))
def test_the_gap_around_a_part_is_no_smaller_than_it_should_be(points: list[tuple[float, float]], gap: float) -> None:
    rim = shapely.MultiPoint(points).convex_hull
    if not isinstance(rim, Polygon) or rim.area < 1:
        return
    outside = shapely.difference(rim.buffer(gap, quad_segs=64), taken_by(rim, gap))
    assert outside.area < 1e-6


def test_turns_are_clockwise_as_one_sees_them() -> None:
    """y runs down: what points right points down after a quarter."""
    assert placed(box(0, -1, 10, 1), (100.0, 50.0), 90).bounds == pytest.approx((99, 50, 101, 60))
