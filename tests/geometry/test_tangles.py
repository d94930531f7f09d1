"""Outlines that cross themselves very often: refused as fills, put together from pieces as strokes."""

import random

import numpy as np
import pytest
import shapely

from layercut.geometry.curves import Polyline
from layercut.geometry.fill import MAX_CROSSINGS, TangledError, fill_region, fill_regions, is_tangled
from layercut.geometry.strokes import Cap, Join, StrokeStyle, stroke_region


def zigzag(count: int, seed: int = 1) -> np.ndarray:
    chance = random.Random(seed)
    return np.array([(chance.uniform(0, 90), chance.uniform(0, 90)) for _ in range(count)])


def ring(count: int) -> np.ndarray:
    points = zigzag(count)
    return np.concatenate((points, points[:1]))


def crossings(rings: list[np.ndarray]) -> int:
    """Counted one by one."""
    edges = [shapely.linestrings(np.stack((one[:-1], one[1:]), axis=1)) for one in rings]
    every = np.concatenate(edges)
    pairs = shapely.STRtree(every).query(every, predicate="crosses")
    return pairs.shape[1] // 2


@pytest.mark.parametrize("count", [420, 800])
def test_the_judgement_is_that_of_counting(count: int) -> None:
    rings = [ring(count)]
    counted = crossings(rings)
    assert counted > 1.5 * MAX_CROSSINGS or counted < 0.67 * MAX_CROSSINGS
    assert is_tangled(rings) == (counted > MAX_CROSSINGS)


def test_an_outline_of_many_points_that_crosses_nothing_is_not_tangled() -> None:
    angles = np.linspace(0, 2 * np.pi, 20_001)
    assert not is_tangled([np.stack((np.cos(angles), np.sin(angles)), axis=1) * 40])


def test_the_tangled_one_is_named() -> None:
    square = np.array([(0, 0), (9, 0), (9, 9), (0, 9)], dtype=float)
    with pytest.raises(TangledError) as caught:
        fill_regions([([square], "nonzero"), ([ring(1_000)], "evenodd"), ([square], "nonzero")])
    assert caught.value.index == 1


def test_windings_in_parts_are_windings(monkeypatch: pytest.MonkeyPatch) -> None:
    rings = [ring(60), ring(30)[::-1] + 5]
    whole = fill_region(rings, "evenodd")
    monkeypatch.setattr("layercut.geometry.fill._PAIRS", 500)
    assert fill_region(rings, "evenodd").equals(whole)


@pytest.mark.parametrize("cap", ["butt", "round", "square"])
@pytest.mark.parametrize("join", ["miter", "round", "bevel"])
@pytest.mark.parametrize("closed", [False, True])
def test_a_stroke_in_pieces_is_the_stroke(
    cap: Cap, join: Join, closed: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    points = zigzag(25, seed=3)
    points = np.concatenate((points, points[:1])) if closed else points
    corners = np.arange(len(points)) % 3 > 0
    lines = [Polyline(points, corners, closed), Polyline(np.array([(5.0, 5.0), (5.0, 5.0)]), np.ones(2, bool), False)]
    style = StrokeStyle(3.0, cap, join, 6.0)
    noded = stroke_region(lines, style)
    monkeypatch.setattr("layercut.geometry.strokes.is_tangled", lambda _rings: True)
    pieces = stroke_region(lines, style)
    assert pieces.is_valid
    assert pieces.symmetric_difference(noded).area < 1e-6 * noded.area
