"""The certificate of fitted cubics: never less than the Fréchet distance, and no more for how fast a curve runs."""

import numpy as np
import pytest

from layercut.geometry.fitting.cubic_fit import certify


def _discrete_frechet(curve: np.ndarray, line: np.ndarray) -> float:
    """The discrete Fréchet distance (Eiter and Mannila 1994): no less than the true one, by a sample's step at most
    more."""
    far = np.abs(curve[:, None] - line)
    reach = np.full(far.shape, np.inf)
    for i in range(len(curve)):
        for j in range(len(line)):
            before = min(
                reach[i - 1, j] if i else np.inf,
                reach[i, j - 1] if j else np.inf,
                reach[i - 1, j - 1] if i and j else np.inf,
            )
            reach[i, j] = max(far[i, j], before if i or j else 0.0)
    return float(reach[-1, -1])


@pytest.mark.parametrize("seed", range(12))
def test_the_certified_distance_is_no_less_than_the_frechet_distance(seed: int) -> None:
    """Of cubics bent at random and polylines beside them, whose parameters are nowhere near foot points."""
    chance = np.random.default_rng(seed)
    controls = np.array([[0, 3, 7, 10]]) + (chance.normal(size=(1, 4)) + 1j * chance.normal(size=(1, 4))) * seed / 4
    t = np.append(0, np.sort(chance.random(5)))
    t = np.append(t, 1)
    places = _at(controls[0], t) + (chance.normal(size=7) + 1j * chance.normal(size=7)) * 0.2
    parameter = np.sort(np.clip(t + chance.normal(size=7) * 0.03, 0, 1))
    parameter[[0, -1]] = 0, 1
    bound = certify(controls.astype(complex), places.astype(complex), parameter, np.array([0]))[0]
    fine = np.linspace(0, 1, 200)
    line = np.interp(fine * 6, np.arange(7), places)
    curve = _at(controls[0], fine)
    step = max(np.abs(np.diff(line)).max(), np.abs(np.diff(curve)).max())
    assert _discrete_frechet(curve, line) <= bound + step
    assert bound >= np.abs(_at(controls[0], parameter) - places).max() * 0.999


def test_how_fast_a_curve_runs_along_an_edge_is_no_distance() -> None:
    controls, places = np.array([[0, 0.5, 1, 10]], dtype=complex), np.array([0, 10], dtype=complex)
    assert certify(controls, places, np.array([0.0, 1.0]), np.array([0]))[0] == pytest.approx(0, abs=1e-12)
    back = np.array([[0, 14, -4, 10]], dtype=complex)
    assert certify(back, places, np.array([0.0, 1.0]), np.array([0]))[0] > 0.5


def _at(controls: np.ndarray, t: np.ndarray) -> np.ndarray:
    return sum(
        w * c for w, c in zip(((1 - t) ** 3, 3 * (1 - t) ** 2 * t, 3 * (1 - t) * t**2, t**3), controls, strict=True)
    )
