"""What coats come out as: cases worked out by hand. Against published values: tests/outside/test_colour_values.py."""

import numpy as np
import pytest

from layercut.colour.sampling import gradient_parameter, mask_values, sample, sample_over, spread_parameter
from layercut.colour.washes import FlatWash, GradedWash, Gradient, GroupWash, Spread, Stop

PLAIN = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
RED, BLUE, WHITE = (1.0, 0.0, 0.0), (0.0, 0.0, 1.0), (1.0, 1.0, 1.0)
HERE = np.array([(0.0, 0.0)])


def test_nothing_is_clear_and_black() -> None:
    colour, opacity = sample([], HERE)
    assert (colour.tolist(), opacity.tolist()) == ([[0, 0, 0]], [0])


def test_half_over_half_is_three_quarters() -> None:
    """Source-over: a + b (1 - a); of the colour, two thirds are the upper coat's."""
    colour, opacity = sample([FlatWash(RED, 0.5), FlatWash(BLUE, 0.5)], HERE)
    assert opacity[0] == pytest.approx(0.75)
    assert colour[0] == pytest.approx((1 / 3, 0, 2 / 3))
    assert sample_over([FlatWash(RED, 0.5)], HERE, BLUE)[0] == pytest.approx((0.5, 0, 0.5))


def test_a_group_is_laid_on_as_one() -> None:
    """Half of a group of two opaque coats shows the upper one only; by themselves at half both would show."""
    colour, opacity = sample([GroupWash((FlatWash(RED), FlatWash(BLUE)), 0.5)], HERE)
    assert (colour[0].tolist(), opacity[0]) == ([0, 0, 1], 0.5)


def test_a_mask_counts_by_opacity_or_by_luminance() -> None:
    half = (FlatWash(WHITE, 0.5),)
    assert mask_values(half, "alpha", HERE)[0] == pytest.approx(0.5)
    assert mask_values(half, "luminance", HERE)[0] == pytest.approx(0.5)
    assert mask_values((FlatWash((0, 0, 0)),), "luminance", HERE)[0] == 0
    assert mask_values((FlatWash((0, 0, 0)),), "alpha", HERE)[0] == 1
    _, opacity = sample([GroupWash((FlatWash(RED),), 0.5, half, "alpha")], HERE)
    assert opacity[0] == pytest.approx(0.25)


@pytest.mark.parametrize(
    ("spread", "expected"),
    [("pad", [0, 0, 0.25, 1, 1]), ("repeat", [0.75, 0, 0.25, 0.25, 0.5]), ("reflect", [0.25, 0, 0.25, 0.75, 0.5])],
)
def test_beyond_its_ends(spread: Spread, expected: list[float]) -> None:
    at = spread_parameter(np.array([-0.25, 0.0, 0.25, 1.25, 2.5]), spread)
    assert at == pytest.approx(expected)


def test_of_stops_at_one_place_the_last_counts_from_there_on() -> None:
    stops = (Stop(0.0, RED), Stop(0.5, RED), Stop(0.5, BLUE), Stop(1.0, BLUE))
    wash = GradedWash(Gradient("linear", (0.0, 0.0, 10.0, 0.0), PLAIN, "pad", stops))
    colours, _ = sample([wash], np.array([(4.999, 0.0), (5.0, 0.0)]))
    assert colours == pytest.approx(np.array([RED, BLUE]))


def test_a_gradient_without_length_or_radius_is_its_last_stop() -> None:
    for kind, points in (("linear", (3.0, 3.0, 3.0, 3.0)), ("radial", (3.0, 3.0, 0.0, 3.0, 3.0, 0.0))):
        gradient = Gradient(kind, points, PLAIN, "pad", (Stop(0, RED), Stop(1, BLUE)))  # type: ignore[arg-type]
        assert gradient_parameter(gradient, HERE).tolist() == [1.0]


def test_a_cone_that_opens_to_one_side_leaves_the_rest_undrawn() -> None:
    """Two circles of one size, 10 apart: nothing is drawn further off than their radius."""
    gradient = Gradient("radial", (0.0, 0.0, 2.0, 10.0, 0.0, 2.0), PLAIN, "pad", (Stop(0, RED), Stop(1, BLUE)))
    at = gradient_parameter(gradient, np.array([(5.0, 1.9), (5.0, 2.1), (2.0, 0.0)]))
    assert np.isnan(at).tolist() == [False, True, False]
    assert at[2] == pytest.approx(0.4)
    _, opacity = sample([GradedWash(gradient)], np.array([(5.0, 2.1)]))
    assert opacity[0] == 0
