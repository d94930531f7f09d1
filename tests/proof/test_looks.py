"""What a machine sees of a path, and so the role that it burns it as."""

import pytest

from layercut.proof.looks import ComputedPaint, rgb, role_fault

COLOURS = {"mark-area": "#000000", "mark-line": "#0000ff", "cut-opening": "#ff0000", "cut-outline": "#00ff00"}
LINE = ComputedPaint(fill="none", stroke="#ff0000", width="0.1")
AREA = ComputedPaint(fill="#000000", fill_rule="evenodd")


def test_paint_is_inherited_but_for_what_is_said() -> None:
    outside = ComputedPaint(fill="none", stroke="blue", width="0.1", fill_rule="evenodd")
    assert outside.within({}) == outside
    assert outside.within({"stroke": " red ", "fill": "inherit"}) == ComputedPaint("none", "red", "0.1", "evenodd")


def test_the_initial_look_is_black_and_filled() -> None:
    """SVG 2, chapter 13."""
    assert ComputedPaint() == ComputedPaint("black", "none", "1", "nonzero")


@pytest.mark.parametrize(
    "text", ["#f00", "#ff0000", "red", "RED", "rgb(255, 0, 0)", "rgb(100% 0% 0%)", "hsl(0 100% 50%)", "#f00f"]
)
def test_a_colour_is_the_same_however_it_is_spelt(text: str) -> None:
    assert rgb(text) == (255, 0, 0)


@pytest.mark.parametrize("text", ["none", "currentcolor", "url(#a)", "#ff000080", "transparent", "lab(50% 1 1)", ""])
def test_what_is_no_plain_opaque_colour_means_none(text: str) -> None:
    assert rgb(text) is None


def test_a_line_and_an_area_as_they_are_written() -> None:
    assert role_fault(LINE, "cut-opening", COLOURS) is None
    assert role_fault(AREA, "mark-area", COLOURS) is None


@pytest.mark.parametrize(
    ("look", "role", "words"),
    [
        (LINE, "cut-outline", "the colour of cut-opening"),
        (ComputedPaint("none", "#ff0001", "0.1"), "cut-opening", "no role's colour"),
        (ComputedPaint("none", "none", "0.1"), "cut-opening", "has no stroke"),
        (ComputedPaint("none", "url(#a)", "0.1"), "cut-opening", "no plain colour"),
        (ComputedPaint("#ff0000", "#ff0000", "0.1"), "cut-opening", "beside its stroke"),
        (ComputedPaint("none", "#ff0000", "1"), "cut-opening", "instead of 0.1"),
        (ComputedPaint("#000000"), "mark-area", "instead of evenodd"),
        (ComputedPaint("#000000", "#000000", fill_rule="evenodd"), "mark-area", "beside its fill"),
    ],
)
def test_whatever_a_machine_may_take_for_something_else_is_said(look: ComputedPaint, role: str, words: str) -> None:
    assert words in str(role_fault(look, role, COLOURS))
