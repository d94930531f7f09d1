"""Necks: the measured width is the drawn one, and the place is the narrowest."""

import math
from dataclasses import dataclass

import numpy as np
import pytest
import shapely
from shapely import LineString, Point, Polygon, affinity, box

from layercut.geometry.widths.graph import find_widths
from layercut.geometry.widths.levels import level_at

LIMIT = 1.5
SLACK = 0.02
WIDTHS = [0.1, 0.35, 0.75, 1.2, 1.47]
ANGLES = [0.0, 17.3, 45.0, 123.4]


def _dumbbell(width: float, length: float = 12.0, angle: float = 0.0) -> Polygon:
    """Two squares of 10 mm, joined by a bar; turned about the bar's middle, (50, 50)."""
    reach = 5 + length / 2
    bells = [affinity.translate(box(-5, -5, 5, 5), side * reach, 0) for side in (-1, 1)]
    bar = box(-reach, -width / 2, reach, width / 2)
    return affinity.translate(affinity.rotate(shapely.union_all([*bells, bar]), angle, origin=(0, 0)), 50, 50)


def _hourglass(width: float, depth: float = 6.0, angle: float = 0.0) -> Polygon:
    """A square notched from two sides by wedges whose tips are `width` apart, about (50, 50)."""
    wedges = [Polygon([(-depth / 2, side * 12), (depth / 2, side * 12), (0, side * width / 2)]) for side in (-1, 1)]
    glass = box(-10, -10, 10, 10).difference(shapely.union_all(wedges))
    return affinity.translate(affinity.rotate(glass, angle, origin=(0, 0)), 50, 50)


@dataclass(frozen=True)
class Neck:
    """A link narrower than the limit, which no widest way uses."""

    width_mm: float
    at: Point
    basins: tuple[int, int]


@dataclass(frozen=True)
class Narrows:
    bodies: int
    necks: list[Neck]


def _narrows(wood: Polygon) -> Narrows:
    graph = find_widths([wood], LIMIT)
    x, y = shapely.maximum_inscribed_circle(wood).coords[0]
    level = level_at(graph, LIMIT - SLACK, graph.mesh.at(x, y))
    links = np.union1d(level.necks, level.between)
    ends = np.sort(np.stack([level.basin[graph.a[links]], level.basin[graph.b[links]]], axis=1), axis=1)
    return Narrows(
        int(level.has_body.sum()),
        [
            Neck(line.length, line.interpolate(0.5, normalized=True), (a, b))
            for line, (a, b) in zip(graph.lines(links), ends.tolist(), strict=True)
        ],
    )


@pytest.mark.parametrize("angle", ANGLES)
@pytest.mark.parametrize("width", WIDTHS)
def test_a_bar_is_measured(width: float, angle: float) -> None:
    found = _narrows(_dumbbell(width, angle=angle))
    assert found.bodies == 2
    (neck,) = found.necks
    assert neck.basins == (0, 1)
    assert neck.width_mm == pytest.approx(width, abs=0.01)
    assert neck.at.distance(Point(50, 50)) < 6.5


@pytest.mark.parametrize("length", [0.0, 0.05, 0.2, 0.5, 1.0, 1.5, 2.0, 3.0, 40.0])
@pytest.mark.parametrize("width", [0.1, 0.5, 1.0, 1.4])
def test_however_short_or_long_a_bar_is(width: float, length: float) -> None:
    wood = _dumbbell(width, length)
    if length == 0.0:
        wood = shapely.difference(box(39, 45, 61, 55), shapely.union_all([
            box(50 - 1e-3, 44, 50 + 1e-3, 50 - width / 2), box(50 - 1e-3, 50 + width / 2, 50 + 1e-3, 56)
        ]))  # fmt: skip
    found = _narrows(wood)
    assert found.bodies == 2
    for neck in found.necks:
        assert neck.width_mm == pytest.approx(width, abs=0.01)
        assert neck.basins == (0, 1)
    assert found.necks


@pytest.mark.parametrize("angle", ANGLES)
@pytest.mark.parametrize("depth", [0.5, 3.0, 6.0, 14.0])
@pytest.mark.parametrize("width", [0.1, 0.6, 1.2])
def test_an_hourglass_is_measured_at_its_waist(width: float, depth: float, angle: float) -> None:
    found = _narrows(_hourglass(width, depth, angle))
    assert found.bodies == 2
    best = min(found.necks, key=lambda neck: neck.width_mm)
    assert best.width_mm == pytest.approx(width, abs=0.01)
    assert best.at.distance(Point(50, 50)) < 0.02


@pytest.mark.parametrize("radius", [0.745, 0.75, 0.8, 1.0, 3.0])
@pytest.mark.parametrize("width", [0.3, 0.6, 1.2])
def test_two_discs_that_overlap_a_little(width: float, radius: float) -> None:
    """The waist is the chord the two circles share, however small the second disc is."""
    half = width / 2
    apart = math.sqrt(25 - half**2) + math.sqrt(radius**2 - half**2)
    found = _narrows(Point(50, 50).buffer(5, 128).union(Point(50, 50 + apart).buffer(radius, 128)))
    assert found.bodies == 2
    for neck in found.necks:
        assert neck.width_mm == pytest.approx(width, abs=0.01)
        assert neck.at.distance(Point(50, 50 + math.sqrt(25 - half**2))) < 0.02


@pytest.mark.parametrize("width", [1.5, 1.495, 1.6, 3.0])
@pytest.mark.parametrize("angle", ANGLES)
def test_wood_of_the_allowed_width_is_one_body(width: float, angle: float) -> None:
    found = _narrows(_dumbbell(width, angle=angle))
    assert found.bodies == 1
    assert found.necks == []


def test_a_ring_between_two_bodies_is_measured_in_its_narrower_half() -> None:
    ring = Point(50, 50).buffer(8, 128).difference(Point(50, 50.3).buffer(7, 128))
    wood = shapely.union_all([ring, box(30, 45, 43, 55), box(57, 45, 70, 55)])
    found = _narrows(wood)
    assert found.bodies == 2
    upper, lower = sorted(found.necks, key=lambda neck: -neck.at.y)
    assert upper.width_mm == pytest.approx(0.7, abs=0.01)
    assert upper.at.distance(Point(50, 57.65)) < 0.3
    assert 1.0 < lower.width_mm < 1.3


def test_a_handle_is_a_neck_of_one_body() -> None:
    handle = Point(50, 50).buffer(8, 64).difference(Point(50, 50).buffer(7, 64))
    found = _narrows(handle.union(box(40, 30, 60, 46)))
    assert found.bodies == 1
    assert [neck.basins for neck in found.necks] == [(0, 0)]
    assert found.necks[0].width_mm == pytest.approx(1.0, abs=0.01)


@pytest.mark.parametrize("width", [0.4, 1.0])
def test_a_y_junction_joins_three_bodies(width: float) -> None:
    ends = [(50 + 14 * math.cos(math.radians(a)), 50 + 14 * math.sin(math.radians(a))) for a in (90, 210, 330)]
    arms = [LineString([(50, 50), end]).buffer(width / 2, cap_style="flat") for end in ends]
    found = _narrows(shapely.union_all([*arms, Point(50, 50).buffer(width / 2), *(Point(e).buffer(4) for e in ends)]))
    assert found.bodies == 3
    assert [neck.width_mm for neck in found.necks] == pytest.approx([width, width], abs=0.01)


@pytest.mark.parametrize("width", [0.3, 0.9])
def test_two_bars_are_two_necks(width: float) -> None:
    wood = shapely.union_all([box(0, 0, 10, 20), box(20, 0, 30, 20), box(9, 3, 21, 3 + width), box(9, 15, 21, 16.2)])
    assert sorted(neck.width_mm for neck in _narrows(wood).necks) == pytest.approx([width, 1.2], abs=0.01)
