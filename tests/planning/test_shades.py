"""Three shades of a colour: steps that look equally large, hue that stays, what white and black do, a blend's mean.

Lightness is CIELAB's, by an independent library (coloraide, under D65).
"""

import math

import pytest
from coloraide import Color
from hypothesis import given, settings
from hypothesis import strategies as st

from layercut.colour.oklab import linear_srgb_of, oklab_of
from layercut.planning.shades import STEP, mean_colour, shades_of
from layercut.workplan import Shades

COLOURS = st.integers(0, 0xFFFFFF).map(lambda value: f"#{value:06x}")

DIGIT = 0.006
"""What rounding to 256 steps a channel moves lightness or chroma by, at most, for all but the darkest colours."""

LSTAR_DIGIT = 0.8
"""What the same moves L* by: a step of green."""

TWELVE = {
    "white": "#f7f4ec",
    "cream": "#f2e6c9",
    "yellow": "#f2c53d",
    "orange": "#e07b2a",
    "barn red": "#8c2f24",
    "brown": "#5d402d",
    "near-black": "#1b1b1d",
    "black": "#000000",
    "mid-grey": "#808080",
    "leaf green": "#4f7d3a",
    "deep blue": "#1f3a6b",
    "sky blue": "#8fc1de",
}


def lstar(colour: str) -> float:
    return float(Color(colour).convert("lab-d65")["l"])


@settings(max_examples=200)
@given(COLOURS)
def test_darkest_first_and_the_drawn_colour_in_the_middle(colour: str) -> None:
    shades = shades_of(colour)
    assert shades.middle == colour
    assert lstar(shades.base) <= lstar(colour) + 1e-9
    assert lstar(colour) <= lstar(shades.light) + 1e-9


@settings(max_examples=200)
@given(COLOURS)
def test_equal_steps_but_near_black_and_white(colour: str) -> None:
    shades = shades_of(colour)
    if shades.base == shades.light:
        return
    middle = lstar(colour)
    assert middle - lstar(shades.base) == pytest.approx(min(STEP, middle / 2), abs=LSTAR_DIGIT)
    assert lstar(shades.light) - middle == pytest.approx(min(STEP, (100 - middle) / 2), abs=LSTAR_DIGIT)


@pytest.mark.parametrize(
    "colour", [one for name, one in TWELVE.items() if name not in ("white", "black", "near-black")]
)
def test_steps_of_common_colours_lie_between_8_and_15(colour: str) -> None:
    """But the light shade of cream and yellow, to which white is near."""
    shades = shades_of(colour)
    assert 8 <= lstar(colour) - lstar(shades.base) <= 15
    if lstar(colour) < 80:
        assert 8 <= lstar(shades.light) - lstar(colour) <= 15


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


def test_creams_and_yellows_get_no_grey_base() -> None:
    for colour in (TWELVE["cream"], TWELVE["yellow"], "#f6e8c4"):
        drawn, base = oklab_of(colour), oklab_of(shades_of(colour).base)
        assert math.hypot(*base[1:]) >= 0.9 * math.hypot(*drawn[1:])


@settings(max_examples=200)
@given(COLOURS)
def test_nothing_near_black_turns_grey(colour: str) -> None:
    if lstar(colour) < 12:
        assert lstar(shades_of(colour).light) < 25


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
    assert lstar(shades_of("#000000").light) == pytest.approx(STEP, abs=LSTAR_DIGIT)


def test_a_colour_that_srgb_lacks_loses_chroma_not_lightness() -> None:
    """Pure yellow is so light that a lighter one of its strength doesn't exist."""
    _, a, b = oklab_of("#ffff00")
    light = shades_of("#ffff00").light
    found = oklab_of(light)
    assert max(linear_srgb_of((found[0], a, b))) > 1.01
    assert lstar(light) == pytest.approx((lstar("#ffff00") + 100) / 2, abs=LSTAR_DIGIT)
    assert math.hypot(*found[1:]) < math.hypot(a, b) - 0.02


def test_the_mean_of_a_blend() -> None:
    assert mean_colour(((0.0, "#336699"), (1.0, "#336699"))) == "#336699"
    half = oklab_of(mean_colour(((0.0, "#000000"), (1.0, "#ffffff"))))
    assert half == pytest.approx((0.5, 0.0, 0.0), abs=DIGIT)
    # before the first stop and after the last the colour goes on
    assert oklab_of(mean_colour(((0.75, "#000000"), (0.75, "#ffffff"))))[0] == pytest.approx(0.25, abs=0.01)
