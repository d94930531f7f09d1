import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from layercut.geometry.fill import Rings, Rule, fill_region, fill_regions


def square(x: float, y: float, size: float, *, back: bool = False) -> np.ndarray:
    ring = np.array([(x, y), (x + size, y), (x + size, y + size), (x, y + size)], dtype=float)
    return ring[::-1] if back else ring


def winding(point: tuple[float, float], rings: list[np.ndarray]) -> int:
    """By the turning angle, written apart from the code under test."""
    total = 0.0
    for ring in rings:
        closed = np.concatenate((ring, ring[:1])) - point
        angles = np.arctan2(closed[:, 1], closed[:, 0])
        turns = np.diff(angles)
        total += ((turns + math.pi) % (2 * math.pi) - math.pi).sum()
    return round(total / (2 * math.pi))


steps = st.integers(0, 12).map(float)
rings = st.lists(st.lists(st.tuples(steps, steps), min_size=3, max_size=9), min_size=1, max_size=4)


@settings(max_examples=150)
@given(rings, st.sampled_from(["nonzero", "evenodd"]))
def test_points_are_in_when_their_winding_says_so(drawn: list[list[tuple[float, float]]], rule: Rule) -> None:
    outlines = [np.array(ring) for ring in drawn]
    region = fill_region(outlines, rule)
    assert region.is_valid
    edges = shapely.union_all([shapely.LineString([*ring, ring[0]]) for ring in drawn])
    for point in np.random.default_rng(1).uniform(-0.5, 12.5, (60, 2)):
        if edges.distance(shapely.Point(point)) < 1e-6:
            continue
        times = winding(tuple(point), outlines)
        expected = times % 2 == 1 if rule == "evenodd" else times != 0
        assert shapely.contains_xy(region, *point) == expected


@pytest.mark.parametrize(
    ("outlines", "nonzero", "evenodd"),
    [
        ([square(0, 0, 10)], 100, 100),
        ([square(0, 0, 10), square(20, 0, 10, back=True)], 200, 200),
        ([square(0, 0, 10), square(2, 2, 6)], 100, 64),
        ([square(0, 0, 10), square(2, 2, 6, back=True)], 64, 64),
        ([square(0, 0, 10), square(2, 2, 6, back=True), square(4, 4, 2)], 68, 68),
        ([square(0, 0, 10), square(2, 2, 6), square(4, 4, 2, back=True)], 100, 68),
        ([square(4, 4, 2), square(2, 2, 6, back=True), square(0, 0, 10)], 68, 68),
        ([square(0, 0, 10), square(5, 5, 10)], 175, 150),
        ([square(0, 0, 10), square(10, 0, 10)], 200, 200),
        ([square(0, 0, 10), square(0, 0, 10)], 100, 0),
        ([square(0, 0, 10), square(0, 0, 10, back=True)], 0, 0),
        ([square(0, 0, 10), square(0, 0, 5, back=True)], 75, 75),
    ],
)
def test_squares(outlines: list[np.ndarray], nonzero: float, evenodd: float) -> None:
    assert fill_region(outlines, "nonzero").area == pytest.approx(nonzero)
    assert fill_region(outlines, "evenodd").area == pytest.approx(evenodd)


def test_figure_of_eight() -> None:
    eight = np.array([(0, 0), (10, 10), (10, 0), (0, 10)], dtype=float)
    region = fill_region([eight], "nonzero")
    assert region.area == pytest.approx(50)
    assert region.is_valid


def test_a_spike_leaves_no_trace() -> None:
    ring = np.array([(0, 0), (10, 0), (10, 5), (20, 5), (10, 5), (10, 10), (0, 10)], dtype=float)
    assert fill_region([ring], "nonzero").bounds == (0, 0, 10, 10)


@pytest.mark.parametrize("ring", [[], [(1, 1)], [(1, 1), (2, 2)], [(1, 1), (2, 2), (3, 3)], [(1, 1)] * 5])
def test_what_encloses_nothing_is_empty(ring: list[tuple[float, float]]) -> None:
    assert fill_region([np.array(ring, dtype=float).reshape(-1, 2)], "nonzero").is_empty


def test_each_shape_keeps_its_place() -> None:
    eight = np.array([(0, 0), (10, 10), (10, 0), (0, 10)], dtype=float)
    shapes: list[tuple[Rings, Rule]] = [
        ([square(n, 0, 1)], "nonzero") if n % 3 else ([eight], "evenodd") for n in range(9)
    ]
    regions = fill_regions([*shapes, ([], "nonzero")])
    assert [round(region.area) for region in regions] == [50, 1, 1, 50, 1, 1, 50, 1, 1, 0]


def test_a_sieve_of_many_holes() -> None:
    holes = [square(x, y, 0.5) for x in range(1, 60) for y in range(1, 60)]
    region = fill_region([square(0, 0, 60), *holes], "evenodd")
    assert region.area == pytest.approx(3600 - 0.25 * len(holes))
    assert len(region.interiors) == len(holes)
