"""Reflectances: they have their colours, none is smoother, and mixtures do what paint does."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from layercut.colour.cielab import lab_of, linear_of
from layercut.colour.reflectance import DARKEST, LIGHTEST, SEEN, FloatArray, absorbed, colours_of, reflectances

COLOURS = st.integers(0, 0xFFFFFF).map(lambda value: f"#{value:06x}")
CORNERS = ["#000000", "#ffffff", "#ff0000", "#00ff00", "#0000ff", "#ffff00", "#00ffff", "#ff00ff"]


def _mixed(shares: dict[str, float]) -> str:
    absorption = absorbed(reflectances(linear_of(list(shares))))
    weights = np.array(list(shares.values()))
    return colours_of((weights @ absorption / weights.sum())[None])[0]


@settings(max_examples=60)
@given(st.lists(COLOURS, min_size=1, max_size=5))
def test_every_colour_comes_back(colours: list[str]) -> None:
    """Alone, and so mixed with itself."""
    assert colours_of(absorbed(reflectances(linear_of(colours)))) == colours


def test_the_strongest_colours_come_back_from_possible_reflectances() -> None:
    some = reflectances(linear_of(CORNERS))
    assert some.min() > 0
    assert some.max() < 1
    assert colours_of(absorbed(some)) == CORNERS


@settings(max_examples=20)
@given(COLOURS, st.integers(0, 2**32 - 1))
def test_none_of_the_same_colour_is_smoother(colour: str, seed: int) -> None:
    """By the sum that the method makes least: squared steps of the hyperbolic tangent's argument (Burns 2020)."""

    def slope(reflectance: FloatArray) -> float:
        return float((np.diff(np.arctanh(2 * reflectance - 1)) ** 2).sum())

    found = reflectances(linear_of([colour]))[0]
    step = np.asarray(np.random.default_rng(seed).normal(size=SEEN.shape[1]))
    step -= np.linalg.pinv(SEEN) @ (SEEN @ step)  # what no eye sees
    other = found + 0.2 * min(found.min(), 1 - found.max()) * step / np.abs(step).max()
    assert SEEN @ other == pytest.approx(SEEN @ found, abs=1e-9)
    assert slope(other) > slope(found)


def test_a_grey_reflects_all_alike() -> None:
    (grey,) = reflectances(linear_of(["#808080"]))
    assert grey == pytest.approx(np.full(36, grey.mean()), abs=1e-9)
    assert DARKEST < grey.mean() < LIGHTEST


@settings(max_examples=40)
@given(COLOURS, COLOURS, COLOURS, st.permutations([0, 1, 2]))
def test_the_order_of_paints_says_nothing(one: str, other: str, third: str, order: list[int]) -> None:
    parts = [(one, 1.0), (other, 2.0), (third, 3.0)]
    if len({one, other, third}) == 3:
        assert _mixed(dict(parts)) == _mixed(dict(parts[k] for k in order))


@pytest.mark.parametrize(("yellow", "blue"), [("#f2c53d", "#1f5fa8"), ("#ffd700", "#0047ab"), ("#ffff00", "#00a0ff")])
def test_yellow_and_blue_make_a_green(yellow: str, blue: str) -> None:
    _, a, b = lab_of([_mixed({yellow: 3, blue: 1})])[0]
    hue = np.degrees(np.arctan2(b, a)) % 360
    assert 100 < hue < 200
    assert np.hypot(a, b) > 10
    # light mixed by halves would be a grey, as on a screen
    assert a < lab_of([yellow])[0][1]


@settings(max_examples=40)
@given(COLOURS.filter(lambda colour: colour != "#000000"))
def test_black_darkens_without_end(colour: str) -> None:
    lightness = [lab_of([_mixed({colour: 8.0, "#000000": black})])[0][0] for black in (0.0, 0.5, 1, 2, 8, 64, 1e4)]
    assert all(later <= before + 1e-9 for before, later in pairwise(lightness))
    assert lightness[-1] < 1
