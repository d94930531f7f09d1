"""Dabs of a fan brush: where they lie and how they spread."""

import numpy as np
import pytest
import shapely

from layercut.planning.fan_dabs import BRISTLES, Fan, dab_middles, dab_roots, dab_strokes

FAN = Fan(2.0, 1.5, 0.3, 7)


def test_a_dab_depends_on_its_place_alone() -> None:
    """Whatever box is asked for, a place of the panel has the same dab."""
    large, small = dab_roots((0.0, 0.0, 60.0, 50.0), FAN), dab_roots((20.0, 10.0, 40.0, 30.0), FAN)
    known = {
        tuple(root): stroke for root, stroke in zip(large.tolist(), dab_middles(large, FAN).tolist(), strict=True)
    }
    for root, middle in zip(small.tolist(), dab_middles(small, FAN).tolist(), strict=True):
        assert known[tuple(root)] == middle


def test_no_two_places_are_alike_and_another_seed_throws_others() -> None:
    roots = dab_roots((0.0, 0.0, 60.0, 50.0), FAN)
    inside = dab_middles(roots, FAN) / FAN.pitch_mm - roots
    assert len(np.unique(inside, axis=0)) == len(roots)
    assert not np.isclose(dab_middles(roots, FAN), dab_middles(roots, Fan(2.0, 1.5, 0.3, 8))).any(axis=1).all()


@pytest.mark.parametrize("side", [0, 1])
def test_chance_is_even(side: int) -> None:
    """Middles fall on all of the middle three fifths of their square alike."""
    roots = dab_roots((0.0, 0.0, 200.0, 200.0), FAN)
    roots = roots[roots[:, 1] % 2 == 0]
    inside = (dab_middles(roots, FAN) / FAN.pitch_mm - roots)[:, side]
    counts, _ = np.histogram(inside, bins=6, range=(0.2, 0.8))
    assert counts.sum() == len(roots)
    assert counts.min() > 0.85 * len(roots) / 6


def test_strokes_are_short_and_spread_from_one_place() -> None:
    roots = dab_roots((0.0, 0.0, 20.0, 20.0), FAN)
    strokes = dab_strokes(roots, FAN)
    assert len(strokes) == BRISTLES * len(roots)
    lengths = shapely.length(strokes)
    assert lengths.max() <= FAN.length_mm + 1e-9
    assert lengths.min() > 0.5 * FAN.length_mm
    middles = np.tile(dab_middles(roots, FAN), (BRISTLES, 1))
    assert shapely.distance(strokes, shapely.points(middles)).max() < 0.3 * FAN.length_mm
    starts, ends = (shapely.get_coordinates(shapely.get_point(strokes, k)).reshape(BRISTLES, -1, 2) for k in (0, 1))
    assert np.ptp(ends, axis=0).max() > np.ptp(starts, axis=0).max()
