"""Colours against the formulas of the standards, worked out here by themselves.

Gradients: SVG 2, 13.2.2 (linear: the gradient vector maps x1, y1 to offset 0 and x2, y2 to 1, bands square to it),
13.2.3 (radial: circles between focus and end) and 13.2.4 (stops). Compositing: W3C Compositing and Blending 1, 5.1
and 9.1.4, co = cs x as + cb x ab x (1 - as) and ao = as + ab x (1 - as); group opacity multiplies a group's result.
"""

import math

import numpy as np
import pytest

from layercut.colour.sampling import sample, sample_over
from layercut.colour.washes import FlatWash, GradedWash, Gradient, GroupWash, Stop

IDENTITY = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
RED, BLUE, GREEN = (1.0, 0.0, 0.0), (0.0, 0.0, 1.0), (0.0, 1.0, 0.0)


def test_a_linear_gradient_at_five_points() -> None:
    # From (2, 1) to (8, 9), the vector is 10 long; stops red at 0.2, green at 0.5, blue at 1.
    stops = (Stop(0.2, RED), Stop(0.5, GREEN), Stop(1.0, BLUE))
    wash = GradedWash(Gradient("linear", (2.0, 1.0, 8.0, 9.0), IDENTITY, "pad", stops))
    along = [0.1, 0.35, 0.5, 0.8, 1.3]
    # Beside the line by 3 to the left: the colour is that of the foot on the line.
    places = np.array([(2 + 6 * t - 0.8 * 3, 1 + 8 * t + 0.6 * 3) for t in along])
    colours, opacity = sample([wash], places)
    expected = [
        RED,  # before the first stop: the first colour
        (0.5, 0.5, 0.0),  # half way from 0.2 to 0.5
        GREEN,
        (0.0, 0.4, 0.6),  # 0.6 of the way from 0.5 to 1
        BLUE,  # beyond the end with pad: the last colour
    ]
    assert colours == pytest.approx(np.array(expected))
    assert opacity == pytest.approx(np.ones(5))


@pytest.mark.parametrize(
    ("spread", "expected"), [("pad", (1.0, 0.0)), ("repeat", (0.25, 0.75)), ("reflect", (0.75, 0.25))]
)
def test_spread_beyond_the_end(spread: str, expected: tuple[float, float]) -> None:
    """At 1.25 of the way: repeat starts again at 0, reflect turns back (SVG 2, 13.2.2, spreadMethod)."""
    wash = GradedWash(Gradient("linear", (0.0, 0.0, 4.0, 0.0), IDENTITY, spread, (Stop(0, RED), Stop(1, BLUE))))
    colours, _ = sample([wash], np.array([(5.0, 0.0)]))
    blue, red = expected if spread != "pad" else (1.0, 0.0)
    assert colours[0] == pytest.approx((red, 0.0, blue))


def test_a_radial_gradient_with_a_focus() -> None:
    """Between focus and end the circle at w has its middle at f + w (c - f) and the radius w r (13.2.3)."""
    focus, middle, r = (3.0, 5.0), (5.0, 5.0), 4.0
    wash = GradedWash(Gradient("radial", (*focus, 0.0, *middle, r), IDENTITY, "pad", (Stop(0, RED), Stop(1, BLUE))))
    places, shares = [], []
    for w, angle in ((0.25, 0.3), (0.5, 2.0), (0.75, 4.0), (1.0, 5.5), (0.5, math.pi)):
        cx, cy = focus[0] + w * (middle[0] - focus[0]), focus[1]
        places.append((cx + w * r * math.cos(angle), cy + w * r * math.sin(angle)))
        shares.append(w)
    colours, _ = sample([wash], np.array(places))
    assert colours == pytest.approx(np.array([(1 - w, 0.0, w) for w in shares]))


def test_a_cone_where_the_focus_lies_outside() -> None:
    """Beside the cone of the two circles nothing is painted: transparent black (SVG 2, 13.2.3)."""
    wash = GradedWash(
        Gradient(
            "radial",
            (80.0, 50.0, 0.0, 50.0, 50.0, 20.0),
            IDENTITY,
            "pad",
            (Stop(0, RED), Stop(1, BLUE)),
        )
    )
    _, opacity = sample([wash], np.array([(95.0, 50.0), (78.0, 70.0), (60.0, 50.0)]))
    assert opacity.tolist() == [0.0, 0.0, 1.0]


def test_a_gradients_map_takes_its_bands_along() -> None:
    """Under a skew the bands follow the map and are no longer square to the line (13.2.2, gradientTransform)."""
    skewed = (1.0, 0.0, 1.0, 1.0, 0.0, 0.0)  # x' = x + y
    wash = GradedWash(Gradient("linear", (0.0, 0.0, 10.0, 0.0), skewed, "pad", (Stop(0, RED), Stop(1, BLUE))))
    colours, _ = sample([wash], np.array([(5.0, 0.0), (8.0, 3.0), (10.0, 5.0)]))
    assert colours == pytest.approx(np.full((3, 3), (0.5, 0.0, 0.5)))


def test_stops_interpolate_colour_and_opacity_apart() -> None:
    """Colours aren't multiplied by opacity before they are mixed (13.2.4)."""
    stops = (Stop(0, RED, 1.0), Stop(1, BLUE, 0.0))
    wash = GradedWash(Gradient("linear", (0.0, 0.0, 10.0, 0.0), IDENTITY, "pad", stops))
    colours, opacity = sample([wash], np.array([(7.5, 0.0)]))
    assert colours[0] == pytest.approx((0.25, 0.0, 0.75))
    assert opacity[0] == pytest.approx(0.25)


def test_source_over() -> None:
    """Compositing 1, 5.1: red at 0.5 over blue at 0.4."""
    colours, opacity = sample([FlatWash(BLUE, 0.4), FlatWash(RED, 0.5)], np.zeros((1, 2)))
    whole = 0.5 + 0.4 * (1 - 0.5)
    assert opacity[0] == pytest.approx(whole)
    assert colours[0] == pytest.approx((0.5 / whole, 0.0, 0.4 * 0.5 / whole))
    assert sample_over([FlatWash(RED, 0.3)], np.zeros((1, 2)), GREEN)[0] == pytest.approx((0.3, 0.7, 0.0))


def test_group_opacity_counts_once() -> None:
    """Compositing 1, 9.1.4: a group is composited by itself, then laid on as a whole at its opacity."""
    group = GroupWash((FlatWash(RED), FlatWash(GREEN, 0.5)), 0.5)
    assert sample_over([group], np.zeros((1, 2)), BLUE)[0] == pytest.approx((0.25, 0.25, 0.5))
    apart = [FlatWash(RED, 0.5), FlatWash(GREEN, 0.25)]
    assert sample_over(apart, np.zeros((1, 2)), BLUE)[0] != pytest.approx((0.25, 0.25, 0.5))


def test_mask_values() -> None:
    """CSS Masking 1, 6.1: luminance by 0.2125 R + 0.7154 G + 0.0721 B, times opacity; or the opacity alone."""
    veil = (FlatWash((1.0, 0.5, 0.0), 0.8),)
    luminance = GroupWash((FlatWash(RED),), 1.0, veil, "luminance")
    alpha = GroupWash((FlatWash(RED),), 1.0, veil, "alpha")
    assert sample([luminance], np.zeros((1, 2)))[1][0] == pytest.approx(0.8 * (0.2125 + 0.5 * 0.7154))
    assert sample([alpha], np.zeros((1, 2)))[1][0] == pytest.approx(0.8)
