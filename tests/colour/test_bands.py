"""How wide one turn of a gradient is that goes on beyond its ends."""

import math

import numpy as np
import pytest

from layercut.colour.bands import turn_mm
from layercut.colour.sampling import gradient_parameter
from layercut.colour.washes import Affine, Gradient, Spread, Stop

STOPS = (Stop(0.0, (1.0, 0.0, 0.0)), Stop(1.0, (0.0, 0.0, 1.0)))
PLAIN: Affine = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)


def straight(points: tuple[float, ...], to_mm: Affine = PLAIN, spread: Spread = "repeat") -> Gradient:
    return Gradient("linear", points, to_mm, spread, STOPS)


def test_a_straight_one_turns_once_in_its_length() -> None:
    assert turn_mm(straight((1.0, 2.0, 4.0, 6.0))) == pytest.approx(5.0)
    assert turn_mm(straight((0.0, 0.0, 1.0, 0.0), (0.2, 0.0, 0.0, 7.0, 3.0, 3.0))) == pytest.approx(0.2)
    assert turn_mm(straight((0.0, 0.0, 1.0, 0.0), spread="pad")) == math.inf


def test_under_a_skew_it_is_measured_across_its_bands() -> None:
    gradient = straight((3.0, 1.0, 5.0, 2.0), (0.9, -0.4, 0.7, 1.3, 10.0, 20.0))
    step = 1e-3
    at = gradient_parameter(gradient, np.array([(0.0, 0.0), (step, 0.0), (0.0, step)]))
    steepest = math.hypot(at[1] - at[0], at[2] - at[0]) / step
    assert turn_mm(gradient) == pytest.approx(1 / steepest)


def test_a_round_one_is_measured_where_it_is_widest() -> None:
    def round_one(points: tuple[float, ...], to_mm: Affine = PLAIN) -> Gradient:
        return Gradient("radial", points, to_mm, "reflect", STOPS)

    assert turn_mm(round_one((5.0, 5.0, 0.0, 5.0, 5.0, 0.3))) == pytest.approx(0.3)
    assert turn_mm(round_one((5.0, 5.0, 0.1, 5.0, 5.0, 0.3))) == pytest.approx(0.2)
    assert turn_mm(round_one((4.0, 5.0, 0.0, 5.0, 5.0, 3.0))) == pytest.approx(4.0)
    assert turn_mm(round_one((5.0, 5.0, 0.0, 5.0, 5.0, 0.3), (0.0, 2.0, -0.5, 0.0, 0.0, 0.0))) == pytest.approx(0.6)
