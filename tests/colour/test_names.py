"""Plain words for colours: those of CSS's basic colours, those of a painter, and no hue for greys."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from layercut.colour.names import plain_name

GREYS = st.integers(0, 255).map(lambda value: f"#{value:02x}{value:02x}{value:02x}")
COLOURS = st.integers(0, 0xFFFFFF).map(lambda value: f"#{value:06x}")


@given(GREYS)
def test_a_grey_has_no_hue(grey: str) -> None:
    assert plain_name(grey).split()[-1] in {"black", "near-black", "grey", "white"}


@given(COLOURS)
def test_every_colour_has_a_short_name(colour: str) -> None:
    name = plain_name(colour)
    assert 1 <= len(name.split()) <= 4
    assert name == name.lower().strip()


@pytest.mark.parametrize(
    ("colour", "word"),
    [
        # CSS Color 4, 6.1: the sixteen names of CSS 1, with the words that these are paraphrased by.
        ("#000000", "black"),
        ("#c0c0c0", "light grey"),
        ("#808080", "grey"),
        ("#ffffff", "white"),
        ("#800000", "deep red"),
        ("#ff0000", "red"),
        ("#800080", "purple"),
        ("#008000", "green"),
        ("#00ff00", "green"),
        ("#808000", "olive"),
        ("#ffff00", "yellow"),
        ("#000080", "deep blue"),
        ("#0000ff", "blue"),
        ("#008080", "blue-green"),
        # further names of CSS Color 4 that are words
        ("#ffa500", "orange"),
        ("#ffc0cb", "pink"),
        ("#8b4513", "brown"),
        ("#a0522d", "brown"),
        ("#006400", "deep green"),
        ("#87ceeb", "light blue"),
        ("#9acd32", "yellow-green"),
        ("#708090", "grey"),
    ],
)
def test_colours_with_a_name_of_their_own(colour: str, word: str) -> None:
    assert word in plain_name(colour)


@pytest.mark.parametrize(
    ("colour", "name"),
    [("#c9c2b8", "light warm grey"), ("#f2e6c9", "cream"), ("#1b1b1d", "near-black"), ("#00500f", "deep green")],
)
def test_paints_by_the_words_of_a_painter(colour: str, name: str) -> None:
    assert plain_name(colour) == name
