"""Regions: whatever shapely gives back becomes valid polygons or nothing."""

import numpy as np
import pytest
import shapely
from shapely import GeometryCollection, LineString, MultiPolygon, Point, Polygon, box
from shapely.geometry.base import BaseGeometry

from layercut.geometry.regions import (
    EMPTY,
    Region,
    as_region,
    box_size,
    edges_of,
    joined,
    less,
    point_on,
    polygons_of,
    prepared,
    shared,
    spread_union,
    union,
    without,
)


def test_points_and_lines_fall_away() -> None:
    mixed = GeometryCollection([Point(0, 0), LineString([(0, 0), (1, 1)]), box(0, 0, 1, 1)])
    assert as_region(mixed).equals(box(0, 0, 1, 1))


def test_one_polygon_stays_a_polygon_and_several_become_one_region() -> None:
    two = GeometryCollection([box(0, 0, 1, 1), Point(5, 5), MultiPolygon([box(2, 0, 3, 1), box(4, 0, 5, 1)])])
    assert isinstance(as_region(box(0, 0, 1, 1)), Polygon)
    assert isinstance(as_region(MultiPolygon([box(0, 0, 1, 1)])), Polygon)
    assert len(polygons_of(as_region(two))) == 3


@pytest.mark.parametrize(
    "nothing", [Polygon(), MultiPolygon(), GeometryCollection(), Point(1, 1), LineString([(0, 0), (1, 0)])]
)
def test_nothing_in_nothing_out(nothing: BaseGeometry) -> None:
    assert as_region(nothing).is_empty
    assert polygons_of(nothing) == []


def test_polygons_keep_their_order() -> None:
    parts = [box(4, 0, 5, 1), box(0, 0, 1, 1), box(2, 0, 3, 1)]
    assert [part.bounds[0] for part in polygons_of(MultiPolygon(parts))] == [4, 0, 2]


def test_the_union_counts_an_overlap_once() -> None:
    assert union([box(0, 0, 2, 2), box(1, 1, 3, 3)]).area == 7
    assert union(iter([])).is_empty
    assert union([Polygon(), box(0, 0, 1, 1)]).equals(box(0, 0, 1, 1))


def test_without_takes_away_each_of_the_others() -> None:
    left = without(box(0, 0, 10, 10), [box(0, 0, 5, 10), box(4, 0, 10, 5)])
    assert left.equals(box(5, 5, 10, 10))
    assert without(left, [box(0, 0, 20, 20), box(1, 1, 2, 2)]).is_empty
    assert without(left, []).equals(left)


def test_edges_are_those_of_all_outlines() -> None:
    frame = box(0, 0, 10, 10).difference(box(2, 2, 3, 3))
    edges = edges_of(MultiPolygon([*polygons_of(frame), box(20, 0, 21, 1)]))
    assert len(edges) == 12
    assert sum(edge.length for edge in edges) == pytest.approx(40 + 4 + 4)
    assert len(edges_of(Polygon())) == 0


@pytest.mark.parametrize(
    "region",
    [
        box(0, 0, 4, 2),
        Point(0, 0).buffer(10).difference(Point(0, 0).buffer(9)),
        MultiPolygon([box(0, 0, 1, 1), box(50, 50, 60, 60)]),
        Polygon([(0, 0), (10, 0), (10, 10), (9, 10), (9, 1), (0, 1)]),
    ],
)
def test_a_point_on_a_region_is_inside_it_and_rounded_to_hundredths(region: BaseGeometry) -> None:
    x, y = point_on(region)
    assert shapely.contains_xy(region, x, y)
    assert (round(x, 2), round(y, 2)) == (x, y)


def test_the_box_around_a_region() -> None:
    assert box_size(Polygon([(1, 1), (4.456, 1), (2, 9.001)])) == (3.46, 8.0)


LEFT = MultiPolygon([box(0, 0, 2, 2), box(4, 0, 6, 2), box(8, 0, 10, 2)])
RIGHT = MultiPolygon([box(4, 0, 6, 2), box(9, 1, 12, 4), box(20, 0, 21, 1)])


@pytest.mark.parametrize(("one", "other"), [(LEFT, RIGHT), (RIGHT, LEFT), (LEFT, LEFT), (LEFT, EMPTY), (EMPTY, LEFT)])
def test_polygons_that_both_have_change_nothing(one: Region, other: Region) -> None:
    assert less(one, other).equals(as_region(shapely.difference(one, other)))
    assert shared(one, other).equals(as_region(shapely.intersection(one, other)))
    assert joined(one, other).equals(as_region(shapely.union(one, other)))


def test_a_union_of_regions_of_which_few_meet() -> None:
    apart = [box(x, 0, x + 2, 2) for x in (0, 4, 8)]
    meeting = [box(9, 1, 12, 4), box(12, 1, 13, 4)]
    for regions in (apart, [*apart, *meeting], [apart[0], apart[0]], [EMPTY, apart[0]]):
        assert spread_union(regions).equals(union(regions))
        assert spread_union(regions).is_valid
    assert len(polygons_of(spread_union([*apart, *meeting]))) == 3
    assert spread_union([]).is_empty


def test_what_is_prepared_is_a_copy() -> None:
    drawn = box(0, 0, 2, 2)
    own = prepared(drawn)
    assert own.equals(drawn)
    assert shapely.is_prepared(own)
    assert not shapely.is_prepared(drawn)


def test_of_an_array_each_geometry_is_copied_and_what_is_none_stays_so() -> None:
    drawn = np.array([box(0, 0, 2, 2), None, Polygon(), LineString([(0, 0), (1, 1)])], dtype=object)
    own = prepared(drawn)
    assert own.shape == drawn.shape
    assert own[1] is None
    assert shapely.is_prepared(own).tolist() == [True, False, True, True]
    assert not shapely.is_prepared(drawn).any()
