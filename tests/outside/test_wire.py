"""Wire tension against statics worked out by hand: T = W / (2 sin a) on each side of one hook, g = 9.80665 m/s2."""

import math

import pytest

from layercut.planning.hangers import wire_tension_n
from layercut.planning.hanging import GRAVITY


@pytest.mark.parametrize(
    ("kilograms", "angle_deg", "newton"),
    [(1, 90, 4.903), (1, 45, 6.934), (1, 30, 9.807), (1, 15, 18.945), (2, 20, 28.673)],
)
def test_tension(kilograms: float, angle_deg: float, newton: float) -> None:
    assert wire_tension_n(kilograms * GRAVITY, angle_deg) == pytest.approx(newton, abs=5e-4)


@pytest.mark.parametrize("angle_deg", [5.0, 22.0, 61.0])
def test_both_sides_together_hold_the_weight(angle_deg: float) -> None:
    """Equilibrium of the hook: the upward parts of both tensions are the weight."""
    tension = wire_tension_n(7.5, angle_deg)
    assert 2 * tension * math.sin(math.radians(angle_deg)) == pytest.approx(7.5)
