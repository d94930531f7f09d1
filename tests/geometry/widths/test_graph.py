"""Widths are a rolling disc's, to a hundredth of a millimetre: shapes with known answers, and random ones."""

import math
from random import Random

import numpy as np
import pytest
import shapely
from hypothesis import Phase, given, settings
from hypothesis import strategies as st
from riddled import riddled
from rolling_disc import disc_way, rolls
from shapely import Point, Polygon, affinity, box

from layercut.geometry.regions import polygons_of
from layercut.geometry.widths.feet import with_feet
from layercut.geometry.widths.forests import components
from layercut.geometry.widths.graph import WidthGraph, find_widths
from layercut.geometry.widths.mesh import linked, twice_areas

LIMIT_MM = 1.6
EXACT_MM = 0.01


def widest_way(graph: WidthGraph, start: Point, end: Point) -> float:
    """The narrowest link on the widest way from a point to another, mm: the widest threshold that joins them."""
    here, there = graph.mesh.at(start.x, start.y), graph.mesh.at(end.x, end.y)
    widths = np.unique(graph.width)
    low, high = -1, len(widths)
    while high - low > 1:
        middle = (low + high) // 2
        label = graph.components(graph.width >= widths[middle])
        low, high = (middle, high) if label[here] == label[there] else (low, middle)
    return float(widths[low]) if low >= 0 else 0.0


def _arc(x: float, y: float, radius: float, start: float, end: float) -> list[tuple[float, float]]:
    return [(x + radius * math.cos(t), y + radius * math.sin(t)) for t in np.linspace(start, end, 400)]


def _curved(width: float) -> Polygon:
    """Two discs joined by half a ring."""
    half = _arc(15, 5, 10 + width / 2, 0, math.pi) + _arc(15, 5, 10 - width / 2, math.pi, 0)
    discs = [Point(x, 1).buffer(4.5, quad_segs=64) for x in (5, 25)]
    return shapely.union_all([Polygon(half), *discs])


def _toothed(*teeth: tuple[float, float, float]) -> Polygon:
    """A slab of 40 x 9 mm with teeth from above: place, half width, and how far the tip is from the floor."""
    ring: list[tuple[float, float]] = [(0, 0), (40, 0), (40, 9)]
    for x, half, tip in sorted(teeth, reverse=True):
        ring += [(x + half, 9), (x, tip), (x - half, 9)]
    return Polygon([*ring, (0, 9)])


SQUARES = (box(0, 0, 10, 10), box(20, 0, 30, 10))
LEFT, RIGHT = Point(5, 5), Point(25, 5)
RING = Point(0, 0).buffer(10, 100).difference(Point(2.6, 0).buffer(6.2, 100))
KNOWN = {
    "bar 0.3": (shapely.union_all([*SQUARES, box(10, 4.85, 20, 5.15)]), LEFT, RIGHT, 0.3),
    "bar 1.49": (shapely.union_all([*SQUARES, box(10, 4.255, 20, 5.745)]), LEFT, RIGHT, 1.49),
    "bar 1.5": (shapely.union_all([*SQUARES, box(10, 4.25, 20, 5.75)]), LEFT, RIGHT, 1.5),
    "two bars": (shapely.union_all([*SQUARES, box(10, 2, 20, 2.7), box(10, 7, 20, 8.1)]), LEFT, RIGHT, 1.1),
    "a tooth over a long side": (_toothed((15, 2, 1.2)), Point(4, 4.5), Point(36, 4.5), 1.2),
    "three teeth": (_toothed((17, 0.9, 0.9), (19.7, 0.3, 1.05), (23, 1, 1.3)), Point(4, 4.5), Point(36, 4.5), 0.9),
    "a curved neck": (_curved(0.8), Point(5, 1), Point(25, 1), 0.8),
    "a wider curved neck": (_curved(1.2), Point(5, 1), Point(25, 1), 1.2),
    "a ring cut open": (RING.difference(box(-20, -0.5, 0, 0.5)), Point(-6, 4.5), Point(-6, -4.5), 1.2),
    # Between two tips, a third stands a little further on: which pairs face each other decides.
    "a disturbed gap": (
        Polygon([
            (-50, 0), (1.9, 0), (2, 0.2), (2.1, 0), (50, 0), (50, 10), (0.1, 10), (0, 1), (-0.1, 10), (-1.9, 10),
            (-2, 1.5), (-2.1, 10), (-50, 10),
        ]), Point(20, 5), Point(-20, 5), 1.0,
    ),
    "a hole that touches the rim": (
        Polygon([(0, 0), (30, 0), (30, 10), (0, 10)], [[(15, 0), (12, 8.9), (18, 8.9)]]), LEFT, RIGHT, 1.1,
    ),
}  # fmt: skip
TOUCHING = {"a hole that touches the rim"}


@pytest.mark.parametrize("turn", [0.0, 31.0, 90.0, 137.7])
@pytest.mark.parametrize("name", KNOWN)
def test_known_widths(name: str, turn: float) -> None:
    if name in TOUCHING and turn % 90:
        pytest.skip("turned, the hole crosses the rim by a rounding")
    wood, start, end, width = KNOWN[name]
    wood, start, end = (affinity.rotate(part, turn, origin=(3, 4)) for part in (wood, start, end))
    assert widest_way(find_widths(polygons_of(wood), LIMIT_MM), start, end) == pytest.approx(width, abs=1e-3)
    assert disc_way(wood, start, end, LIMIT_MM) == pytest.approx(width, abs=2e-3)


def test_pieces_that_touch_in_a_point_have_no_way() -> None:
    other = Polygon([(10, 5), (15, 2), (20, 5), (15, 8)])
    graph = find_widths([SQUARES[0], other], LIMIT_MM)
    assert widest_way(graph, LEFT, Point(15, 5)) == 0.0


def test_a_triangle_without_height_parts_its_neighbours() -> None:
    """Its tip is on its side but for the last bit."""
    below, tip, above = (47.029, 26.588), (47.056, 26.807), (47.065, 26.88)
    corners = np.array([(below, tip, above), (below, (40, 20), tip), (tip, (40, 34), above)])
    mesh = with_feet(linked(corners, np.zeros(3, dtype=np.int64)), LIMIT_MM)
    half = np.flatnonzero(mesh.twin >= 0)
    label = components(len(mesh.tri), half // 3, mesh.twin[half] // 3)
    assert label[mesh.at(44, 24)] != label[mesh.at(44, 29)]
    assert float(mesh.areas.sum()) == pytest.approx(float(np.abs(twice_areas(corners)).sum()) / 2)


# Shrinking a shape of fifty choices takes minutes.
@settings(max_examples=80, phases=[Phase.explicit, Phase.generate])
@given(chance=st.randoms(use_true_random=False))
def test_a_disc_rolls_as_wide_as_random_shapes_are_told_to_be(chance: Random) -> None:
    made = riddled(chance)
    if made is None:
        return
    wood, start, end = made
    width = min(widest_way(find_widths(polygons_of(wood), LIMIT_MM), start, end), LIMIT_MM)
    assert rolls(wood, start, end, width - EXACT_MM)
    assert width == LIMIT_MM or not rolls(wood, start, end, width + EXACT_MM)
