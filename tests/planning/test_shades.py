"""Three shades of a colour: their order, their hue, what white and grey do, and the mean of a blend."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from layercut.colour.oklab import linear_srgb_of, oklab_of
from layercut.planning.shades import BASE_SHARE, LIGHT_SHARE, mean_colour, shades_of
from layercut.workplan import Shades

COLOURS = st.integers(0, 0xFFFFFF).map(lambda value: f"#{value:06x}")

DIGIT = 0.006
"""What rounding to 256 steps a channel moves lightness or chroma by, at most, for all but the darkest colours."""


@settings(max_examples=200)
@given(COLOURS)
def test_darkest_first_and_the_drawn_colour_in_the_middle(colour: str) -> None:
    shades = shades_of(colour)
    assert shades.middle == colour
    base, middle, light = (oklab_of(shade)[0] for shade in (shades.base, shades.middle, shades.light))
    assert base <= middle + 1e-9
    assert middle <= light + DIGIT


@settings(max_examples=200)
@given(COLOURS)
def test_lightness_by_the_stated_rule(colour: str) -> None:
    shades = shades_of(colour)
    lightness, a, b = oklab_of(colour)
    if shades.base == colour and lightness > 0.1:
        assert lightness >= 0.95
        assert math.hypot(a, b) <= 0.02
        return
    if lightness > 0.3:  # below that one step of a channel is worth more than the tolerance
        assert oklab_of(shades.base)[0] == pytest.approx(BASE_SHARE * lightness, abs=DIGIT)
    assert oklab_of(shades.light)[0] == pytest.approx(lightness + LIGHT_SHARE * (1 - lightness), abs=DIGIT)


@settings(max_examples=200)
@given(COLOURS)
def test_hue_stays_and_chroma_never_grows(colour: str) -> None:
    _, a, b = oklab_of(colour)
    for shade in (shades_of(colour).base, shades_of(colour).light):
        lightness, other_a, other_b = oklab_of(shade)
        assert math.hypot(other_a, other_b) <= math.hypot(a, b) + 2 * DIGIT
        if lightness > 0.3:
            # the part of the shade's chroma across the drawn hue
            across = abs(a * other_b - b * other_a) / max(math.hypot(a, b), 1e-9)
            assert across < DIGIT


@pytest.mark.parametrize("white", ["#ffffff", "#fafaf5", "#f6f0e2"])
def test_white_stays_white(white: str) -> None:
    assert shades_of(white) == Shades(white, white, white)


def test_a_pale_colour_is_not_white() -> None:
    assert shades_of("#ffe0e0").base != "#ffe0e0"
    assert shades_of("#e8e8e8").base != "#e8e8e8"


def test_grey_stays_grey_and_black_has_a_light_shade() -> None:
    for shade in (shades_of("#808080").base, shades_of("#808080").light):
        assert len({shade[1:3], shade[3:5], shade[5:7]}) == 1
    assert shades_of("#000000").base == "#000000"
    assert oklab_of(shades_of("#000000").light)[0] == pytest.approx(LIGHT_SHARE, abs=0.01)


def test_a_colour_that_srgb_lacks_loses_chroma_not_lightness() -> None:
    """Pure yellow is so light that a lighter one of its strength doesn't exist."""
    lightness, a, b = oklab_of("#ffff00")
    wanted = (lightness + LIGHT_SHARE * (1 - lightness), a, b)
    assert max(linear_srgb_of(wanted)) > 1.01
    found = oklab_of(shades_of("#ffff00").light)
    assert found[0] == pytest.approx(wanted[0], abs=DIGIT)
    assert math.hypot(*found[1:]) < math.hypot(a, b) - 0.02


def test_the_mean_of_a_blend() -> None:
    assert mean_colour(((0.0, "#336699"), (1.0, "#336699"))) == "#336699"
    half = oklab_of(mean_colour(((0.0, "#000000"), (1.0, "#ffffff"))))
    assert half == pytest.approx((0.5, 0.0, 0.0), abs=DIGIT)
    # before the first stop and after the last the colour goes on
    assert oklab_of(mean_colour(((0.75, "#000000"), (0.75, "#ffffff"))))[0] == pytest.approx(0.25, abs=0.01)
