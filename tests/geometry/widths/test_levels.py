"""A graph at one width: bodies have room, ways are the widest, necks hold, strips are told apart."""

from random import Random

import numpy as np
import pytest
import shapely
from riddled import riddled
from shapely import Point, Polygon, box

from layercut.geometry.regions import polygons_of
from layercut.geometry.widths.graph import find_widths
from layercut.geometry.widths.levels import Level, level_at, narrow_parts_at

LIMIT_MM = 1.5
SQUARES = (box(0, 0, 10, 10), box(20, 0, 30, 10), box(40, 0, 50, 10))


def _level(*parts: Polygon, width: float = LIMIT_MM, at: tuple[float, float] = (5, 5)) -> Level:
    graph = find_widths(polygons_of(shapely.union_all(parts)), 2.0)
    return level_at(graph, width, graph.mesh.at(*at))


@pytest.mark.parametrize("width", [0.3, 0.8, 1.5])
@pytest.mark.parametrize("seed", range(6))
def test_where_a_disc_fits_there_is_a_body(seed: int, width: float) -> None:
    """By the distance of random points from the outline."""
    wood = next(made[0] for made in (riddled(Random(1000 * seed + step)) for step in range(99)) if made)
    graph = find_widths(polygons_of(wood), 2.0)
    points = np.random.default_rng(seed).uniform(wood.bounds[:2], wood.bounds[2:], (250, 2))
    points = points[shapely.contains_xy(wood, points)]
    room = shapely.distance(wood.boundary, shapely.points(points))
    level = level_at(graph, width, graph.mesh.at(*points[np.argmax(room)]))
    body = level.body[[graph.mesh.at(*point) for point in points]]
    assert (body[room >= width / 2 + 0.004] >= 0).all()
    sampled = [one for one in range(level.body.max() + 1) if (body == one).sum() > 20]
    assert all(room[body == one].max() >= 0.9 * width / 2 for one in sampled)


@pytest.mark.parametrize(("side", "bodies"), [(1.45, 1), (1.52, 2)])
def test_a_piece_is_a_body_from_the_limit_on(side: float, bodies: int) -> None:
    level = _level(SQUARES[0], box(20, 0, 20 + side, side))
    assert level.body.max() + 1 == bodies
    assert level.basins == 2
    assert level.has_body.tolist() == [True, bodies == 2]


def test_a_long_strip_just_under_the_limit_is_no_body() -> None:
    assert _level(SQUARES[0], box(0, 20, 100, 21.48)).has_body.tolist() == [True, False]


def test_the_widest_way_of_a_chain_is_its_least_neck() -> None:
    level = _level(*SQUARES, box(9, 4.5, 21, 5.5), box(29, 4.4, 41, 5.6), box(29, 1, 41, 1.3))
    middle, far = (level.basin[level.graph.mesh.at(x, 5)] for x in (25, 45))
    assert level.widest_ways()[[middle, far]] == pytest.approx([1.0, 1.0])
    first, second = level.links_of([middle, far])
    assert level.graph.width[first] == pytest.approx([1.2, 1.0, 0.3])
    assert level.graph.width[second] == pytest.approx([1.2, 0.3])
    assert [line.length for line in level.graph.lines(second)] == pytest.approx([1.2, 0.3])


def test_what_no_way_leads_to_is_zero_wide() -> None:
    assert sorted(_level(*SQUARES).widest_ways()) == [0.0, 0.0, np.inf]


def test_basins_share_out_all_that_counts() -> None:
    graph = find_widths([shapely.union_all([*SQUARES, box(9, 4.5, 41, 5.5)])], 2.0)
    alive = graph.mesh.xy[graph.mesh.tri][..., 0].mean(axis=1) < 35
    level = level_at(graph, LIMIT_MM, graph.mesh.at(5, 5), alive)
    assert ((level.basin >= 0) == alive).all()
    assert level.basins == 2


def test_a_handle_is_a_neck_within_one_basin() -> None:
    handle = Point(10, 10).buffer(8, 64).difference(Point(10, 10).buffer(7, 64))
    level = _level(handle, box(0, -10, 20, 6), at=(10, -5))
    assert level.basins == 1
    (neck,) = level.necks
    assert level.graph.width[neck] == pytest.approx(1.0, abs=0.01)


def test_strips_are_corners_prongs_and_necks() -> None:
    """A bar of 6 x 0.5 mm, a spike of the same reach, and a bar between two squares."""
    spike = Polygon([(2, 9), (3, 9), (2.5, 16)])
    strips = narrow_parts_at(_level(*SQUARES[:2], box(-6, 4, 1, 4.5), spike, box(9, 4.5, 21, 5.5)))
    long = strips.reach > 4
    assert sorted(strips.mouths[long].tolist()) == [1, 1, 2]
    assert sorted(strips.tapers[long & (strips.mouths == 1)].tolist()) == [False, True]
    bar = np.flatnonzero(long & (strips.mouths == 1) & ~strips.tapers)
    assert strips.reach[bar] == pytest.approx([6.0], abs=0.2)
    assert strips.bar_widths()[bar] == pytest.approx([0.5], rel=0.05)
