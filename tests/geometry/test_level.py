"""Where a field is at least so high: fields whose region is known."""

import math

import numpy as np
import pytest

from layercut.geometry.level import STEPS, level_region

BOX = (0.0, 0.0, 40.0, 20.0)


def test_a_plane_is_cut_exactly() -> None:
    """Even on each triangle, so a straight edge is where it is."""
    region = level_region(lambda at: at[:, 0] + 0.5 * at[:, 1], BOX, 15.0)
    assert region.area == pytest.approx(40 * 20 - (15 + 5) / 2 * 20, rel=1e-9)
    assert region.bounds == pytest.approx((5, 0, 40, 20))


def test_a_cone_is_a_disc_but_for_the_steps() -> None:
    region = level_region(lambda at: -np.hypot(at[:, 0] - 20, at[:, 1] - 10), BOX, -8.0)
    step = 40 / STEPS
    assert region.area == pytest.approx(math.pi * 64, abs=2 * math.pi * 8 * step**2 / 8)
    assert region.geom_type == "Polygon"


def test_everywhere_nowhere_and_an_empty_box() -> None:
    assert level_region(lambda at: np.ones(len(at)), BOX, 1.0).area == pytest.approx(800)
    assert level_region(lambda at: np.ones(len(at)), BOX, 1.001).is_empty
    assert level_region(lambda at: np.ones(len(at)), (5, 5, 5, 5), 0.0).is_empty


def test_a_higher_level_lies_within_a_lower_one() -> None:
    def waves(at: np.ndarray) -> np.ndarray:
        return np.asarray(np.sin(at[:, 0] / 3) * np.cos(at[:, 1] / 4))

    low, high = (level_region(waves, BOX, level) for level in (0.1, 0.4))
    assert 0 < high.area < low.area
    assert high.difference(low).area < 1e-9


def test_the_parts_above_and_below_tile_the_box() -> None:
    def field(at: np.ndarray) -> np.ndarray:
        return np.asarray(np.hypot(at[:, 0] - 7, at[:, 1] - 3) % 5)

    above, below = level_region(field, BOX, 2.0), level_region(lambda at: -field(at), BOX, -2.0)
    assert above.area + below.area == pytest.approx(800, rel=1e-9)
