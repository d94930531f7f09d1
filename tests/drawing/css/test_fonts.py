"""The words of fonts: sizes, weights, lists of families and the shorthand (CSS Fonts 4)."""

import pytest

from layercut.drawing.css.fonts import font_families, font_shorthand, font_size, font_weight


def test_sizes_and_weights_of_css() -> None:
    assert [font_size(text, 20) for text in ("larger", "150%", "2em", "small", "-1px", "x")] == pytest.approx(
        [24, 30, 40, 128 / 9, None, None]
    )
    steps = [font_weight("bolder", weight) for weight in (100, 349, 350, 549, 550, 899, 950)]
    assert steps == [400, 400, 700, 700, 900, 900, 950]
    steps = [font_weight("lighter", weight) for weight in (50, 549, 550, 749, 750)]
    assert steps == [50, 100, 400, 400, 700]
    assert [font_weight(text) for text in ("bold", "350", "0", "1001", "heavy")] == [700, 350, None, None, None]


def test_lists_of_families() -> None:
    assert font_families("'One, Two', Three  Four , sans-serif") == ("One, Two", "Three Four", "sans-serif")
    assert font_families(" , ") == ()


def test_the_font_shorthand() -> None:
    values = font_shorthand("italic 600 12px/1.5 'Some Name', serif")
    assert values is not None
    assert {key: values[key] for key in ("font-style", "font-weight", "font-size", "font-family")} == {
        "font-style": "italic",
        "font-weight": "600",
        "font-size": "12px",
        "font-family": "'Some Name', serif",
    }
    assert [font_shorthand(text) for text in ("caption", "12px", "bold Name", "odd 12px Name")] == [None] * 4
