"""Colours and paints as CSS writes them (CSS Color 4), and addresses of paint servers (CSS Values 4, `url()`)."""

import pytest

from layercut.drawing.paints import Colour, parse_colour, parse_paint, parse_url

NEARLY = 1e-9


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        # CSS Color 4, 7: a saturation beyond 100 % is 100 %, one below 0 is 0; 25 % bright green is (0, 50 %, 0).
        ("hsl(120, 200%, 25%)", (0.0, 0.5, 0.0, 1.0)),
        ("hsl(120 100% 25%)", (0.0, 0.5, 0.0, 1.0)),
        ("hsl(120, -50%, 25%)", (0.25, 0.25, 0.25, 1.0)),
        ("hsla(480, 200%, 25%, 0.5)", (0.0, 0.5, 0.0, 0.5)),
        # CSS Color 4, 4.2: an alpha is a number or a percentage, and beyond 0 to 1 it is the nearer of the two.
        ("rgba(0,127,0,50%)", (0.0, 127 / 255, 0.0, 0.5)),
        ("rgba(0, 127, 0, .5)", (0.0, 127 / 255, 0.0, 0.5)),
        ("rgb(0 127 0 / 50%)", (0.0, 127 / 255, 0.0, 0.5)),
        ("rgba(0,127,0,150%)", (0.0, 127 / 255, 0.0, 1.0)),
        ("rgb(300, -20, 0)", (1.0, 0.0, 0.0, 1.0)),
    ],
)
def test_colours(text: str, expected: Colour) -> None:
    assert parse_colour(text) == pytest.approx(expected, abs=NEARLY)


@pytest.mark.parametrize("text", ["url(#a)", "url(  #a  )", "url( '#a' )", 'url("#a"  )', "URL(#a)"])
def test_spaces_within_an_address_do_not_count(text: str) -> None:
    assert parse_url(text) == "#a"
    value = parse_paint(f"{text}  green")
    assert value is not None
    assert (value.kind, value.url) == ("url", "#a")
    assert value.fallback is not None
    assert value.fallback.colour == pytest.approx((0.0, 128 / 255, 0.0, 1.0))
