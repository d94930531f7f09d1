"""Motion as geometry: many lines at once, nothing for nothing, rows of areas, and the laws of moving."""

import time

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, Point, Polygon, box
from shapely.affinity import rotate

from layercut.geometry.motion import Drive, jump_seconds, line_seconds, row_seconds, row_widths

DRIVE = Drive(20, 500, 0.02)

Points = list[tuple[float, float]]
POINTS = st.lists(st.tuples(st.floats(0, 50), st.floats(0, 50)), min_size=2, max_size=8)


def test_nothing_takes_no_time() -> None:
    assert line_seconds([], DRIVE) == 0
    assert jump_seconds([], DRIVE) == 0
    assert jump_seconds([0.0, 0.0], DRIVE) == 0
    assert row_seconds([], 0.1, DRIVE) == 0
    assert line_seconds([LineString([(1, 1), (1, 1)])], DRIVE) == 0


@settings(max_examples=60)
@given(POINTS, POINTS)
def test_lines_take_their_own_time_whatever_comes_before(one: Points, other: Points) -> None:
    a, b = LineString(one), LineString(other)
    alone = line_seconds([a], DRIVE) + line_seconds([b], DRIVE)
    assert line_seconds([a, b], DRIVE) == pytest.approx(alone, rel=1e-6, abs=1e-6)


@settings(max_examples=60)
@given(POINTS)
def test_no_faster_than_the_speed_and_no_slower_than_stopping_everywhere(points: Points) -> None:
    line = LineString(points)
    seconds = line_seconds([line], DRIVE)
    legs = np.hypot(*np.diff(np.array(points), axis=0).T)
    assert seconds >= line.length / DRIVE.speed - 1e-9
    assert seconds <= jump_seconds(legs, DRIVE) + 1e-6


@settings(max_examples=30)
@given(POINTS)
def test_there_takes_as_long_as_back(points: Points) -> None:
    line = LineString(points)
    assert line_seconds([line.reverse()], DRIVE) == pytest.approx(line_seconds([line], DRIVE), rel=1e-6, abs=1e-6)


def test_a_stop_at_every_vertex_without_rounding() -> None:
    square = box(0, 0, 10, 10)
    assert line_seconds([square], Drive(20, 500)) == pytest.approx(4 * jump_seconds([10], Drive(20, 500)))
    assert line_seconds([square], DRIVE) < line_seconds([square], Drive(20, 500))


def test_a_vertex_on_a_straight_line_costs_nothing() -> None:
    straight = LineString([(0, 0), (100, 0)])
    many = LineString([(x, 0) for x in range(101)])
    assert line_seconds([many], DRIVE) == pytest.approx(line_seconds([straight], DRIVE), rel=1e-9)


def test_a_ring_is_run_along_its_outside() -> None:
    ring = box(0, 0, 10, 10)
    holed = Polygon(ring.exterior, [box(2, 2, 8, 8).exterior])
    assert line_seconds([holed], DRIVE) == line_seconds([ring], DRIVE)


def test_rows_of_a_square() -> None:
    widths = row_widths([box(3, 7, 13, 17)], 0.1)
    assert len(widths) == 100
    assert widths == pytest.approx(np.full(100, 10.0))
    # 100 rows of 10 mm at 20 mm/s, each with 20/500 s to run up and as much to run down
    assert row_seconds([box(3, 7, 13, 17)], 0.1, DRIVE) == pytest.approx(100 * (0.5 + 2 * 0.04))


def test_rows_reach_over_gaps_and_follow_slopes() -> None:
    gapped = Polygon(box(0, 0, 10, 10).exterior, [box(2, 2, 8, 8).exterior])
    assert row_widths([gapped], 0.5) == pytest.approx(np.full(20, 10.0))
    triangle = Polygon([(0, 0), (10, 0), (0, 10)])
    assert row_widths([triangle], 1.0) == pytest.approx(np.arange(9.5, 0, -1))
    assert row_widths([rotate(triangle, 180)], 1.0) == pytest.approx(np.arange(0.5, 10, 1))


def test_an_area_thinner_than_a_row_gets_one() -> None:
    assert row_widths([box(0, 0, 8, 0.01)], 0.1) == pytest.approx([8.0])


def test_sixteen_thousand_shapes_take_no_more_than_a_second() -> None:
    rng = np.random.default_rng(1)
    rings = [Point(*spot).buffer(1.5, quad_segs=8) for spot in rng.random((16_000, 2)) * 280]
    begun = time.process_time()
    line_seconds(rings, DRIVE)
    jump_seconds(rng.random(16_000), DRIVE)
    assert time.process_time() - begun < 1
