"""Numbers and lengths, and what is none. Absolute units by published numbers: tests/outside/test_svg_units.py."""

import pytest

from layercut.drawing.units import parse_fraction, parse_length, parse_number, parse_numbers


@pytest.mark.parametrize(
    ("text", "length"),
    [
        ("25%", 50),
        ("2em", 40),
        ("2REM", 40),
        ("3ex", 30),
        ("3ch", 30),
        (" -1.5e1 ", -15),
        ("+.5", 0.5),
        ("5.", 5),
        ("1e999", None),
        ("5 5", None),
        ("5vw", None),
        ("1e", None),
        ("calc(1px)", None),
        ("auto", None),
        ("", None),
        (None, None),
    ],
)
def test_lengths(text: str | None, length: float | None) -> None:
    """Of 200, with letters of 20."""
    assert parse_length(text, 200, 20) == (length if length is None else pytest.approx(length))


def test_a_percentage_of_nothing_is_no_length() -> None:
    assert parse_length("5%", None) is None


def test_numbers_have_no_unit() -> None:
    assert [parse_number(text) for text in (" 3 ", "-1e2", "3px", "3%", "x", "1e999")] == [3, -100] + [None] * 4


def test_fractions_are_held_between_none_and_all() -> None:
    said = (".5", "50%", "-1", "150%", "7", "5px", "half", None)
    assert [parse_fraction(text) for text in said] == [0.5, 0.5, 0, 1, 1, None, None, None]


@pytest.mark.parametrize(
    ("text", "numbers"),
    [
        ("1 2,3 ,4", (1, 2, 3, 4)),
        ("1-2.5.5", (1, -2.5, 0.5)),
        ("1e2-3", (100, -3)),
        ("", ()),
        ("1 two", None),
        ("1px", None),
        ("1e999", None),
    ],
)
def test_lists_of_numbers(text: str, numbers: tuple[float, ...] | None) -> None:
    assert parse_numbers(text) == numbers
