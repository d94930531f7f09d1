"""Lengths of lines in regions against overlays by GEOS, lines along edges and through corners among them."""

from collections.abc import Sequence
from random import Random

import numpy as np
import pytest
import shapely
from riddled import riddled
from shapely import LineString, Polygon, box

from layercut.geometry.regions import EMPTY
from layercut.geometry.transects import Transected


def _lines(*ends: Sequence[tuple[float, float]]) -> np.ndarray:
    return np.array([LineString(pair) for pair in ends], dtype=object)


@pytest.mark.parametrize("seed", range(12))
def test_lengths_are_those_of_an_overlay(seed: int) -> None:
    chance = Random(seed)
    wood = next(made[0] for _ in range(20) if (made := riddled(chance)) is not None)
    x0, y0, x1, y1 = wood.bounds
    corners = shapely.get_coordinates(wood)
    places = [(chance.uniform(x0 - 2, x1 + 2), chance.uniform(y0 - 2, y1 + 2)) for _ in range(60)]
    places += [tuple(chance.choice(corners.tolist())) for _ in range(20)]
    lines = _lines(*[(chance.choice(places), chance.choice(places)) for _ in range(300)])
    expected = [line.intersection(wood).length for line in lines]
    assert Transected(wood).lengths(lines) == pytest.approx(expected, abs=1e-9)


def test_lines_along_edges_and_through_corners() -> None:
    wood = shapely.union_all([box(0, 0, 10, 10), box(20, 0, 30, 10), Polygon([(40, 5), (45, 0), (50, 5), (45, 10)])])
    lines = _lines(
        [(-5, 5), (60, 5)],
        [(-5, 10), (60, 10)],
        [(5, 0), (25, 0)],
        [(40, 5), (50, 5)],
        [(45, -5), (45, 5)],
        [(5, 5), (5, 5)],
        [(70, 0), (80, 0)],
    )
    assert Transected(wood).lengths(lines) == pytest.approx(
        [line.intersection(wood).length for line in lines], abs=1e-9
    )


def test_nothing_lies_in_nothing() -> None:
    lines = _lines([(0, 0), (5, 5)])
    assert Transected(EMPTY).lengths(lines).tolist() == [0.0]
    assert Transected(box(0, 0, 1, 1)).lengths(lines[:0]).tolist() == []


def test_areas_of_strips() -> None:
    opening = box(10, -50, 14, 50)
    level, slanting = [(0, 0), (20, 0)], [(0, 0), (24, 18)]
    assert Transected(opening).areas(_lines(level, slanting), 1.5) == pytest.approx([6.0, 7.5])
    assert Transected(box(0, 0, 20, 20)).areas(_lines([(0, 0), (0, 9)]), 3.0) == pytest.approx([27 / 2])
