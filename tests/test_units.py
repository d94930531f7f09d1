"""Quantities in a reader's units. Their factors are checked in tests/outside/test_units.py."""

import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from layercut.job import Job
from layercut.units import FRACTION_MM, INCHES, MILLIMETRES, in_mm, inches, said_mm, said_place, said_size

LENGTHS = st.floats(0, 1e5, allow_nan=False)


def read(text: str) -> float:
    """What a folding rule reads, inches."""
    return sum(float(Fraction(part)) for part in text.split())


@pytest.mark.parametrize(
    ("mm", "words"),
    [
        (25.4, "1"),
        (12.7, "1/2"),
        (165.1, "6 1/2"),
        (3.175, "1/8"),
        (0.8, "1/32"),
        (1.19, "3/64"),
        (3.0, "0.118"),
        (280.0, "11.024"),
        (0.15, "0.0059"),
        (0.05, "0.002"),
        (0.0, "0"),
        (-12.7, "-1/2"),
    ],
)
def test_inches_are_a_fraction_of_the_rule_or_decimals(mm: float, words: str) -> None:
    assert inches(mm) == words


@given(LENGTHS)
def test_inches_are_never_further_off_than_a_tenth_of_a_millimetre(mm: float) -> None:
    assert abs(read(inches(mm)) * 25.4 - mm) <= FRACTION_MM + 1e-9


@given(st.floats(0.05, 1e5, allow_nan=False))
def test_no_length_becomes_nothing(mm: float) -> None:
    assert math.isclose(read(inches(mm)) * 25.4, mm, rel_tol=0.06)


@given(st.integers(1, 64 * 4000))
def test_what_stands_on_the_rule_is_told_exactly_in_lowest_terms(parts: int) -> None:
    words = inches(parts * 25.4 / 64)
    assert read(words) == parts / 64
    if "/" in words:
        above, below = map(int, words.split()[-1].split("/"))
        assert math.gcd(above, below) == 1


def test_a_sentence_is_told_in_its_readers_units() -> None:
    sentence = f"wood {said_mm(6.35)} wide, {said_size(10, 4.5)}, at {said_place(25.4, 12.7)}; 'a 5 mm leaf'"
    assert in_mm(sentence) == "wood 6.35 mm wide, 10.0 x 4.5 mm, at 25.4, 12.7 mm; 'a 5 mm leaf'"
    assert MILLIMETRES.told(sentence) == in_mm(sentence)
    assert INCHES.told(sentence) == "wood 1/4 in wide, 25/64 × 0.177 in, at 1.00, 0.50 in; 'a 5 mm leaf'"  # noqa: RUF001


@pytest.mark.parametrize(
    ("tables", "units"),
    [
        ({}, "mm"),
        ({"panel": {"width": "11in", "height": "8 1/2in"}}, "in"),
        ({"panel": {"height": "1ft"}}, "in"),
        ({"panel": {"width": "28cm", "frame": "0.25in"}}, "mm"),
        ({"panel": {"width": "11in"}, "page": {"units": "mm"}}, "mm"),
        ({"page": {"units": "in"}}, "in"),
    ],
)
def test_the_panel_decides_unless_the_job_does(tables: dict[str, object], units: str) -> None:
    assert Job.model_validate(tables).units.name == units
