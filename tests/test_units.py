"""Quantities in a reader's units. Their factors are checked in tests/outside/test_units.py."""

import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from layercut.job import Job
from layercut.job_values import parse_length
from layercut.units import (
    FRACTION_MM,
    INCHES,
    MILLIMETRES,
    feet,
    in_mm,
    inches,
    said_apart,
    said_fine,
    said_fine_number,
    said_mass,
    said_mm,
    said_mm2,
    said_number,
    said_number2,
    said_place,
    said_real,
    said_run,
    said_size,
    said_unit,
)

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
    ("said", "metric", "imperial"),
    [
        (said_mm(12.7), "12.7 mm", "1/2 in"),
        (said_mm(12.7, ".2f"), "12.70 mm", "1/2 in"),
        (said_mm(12.7, "g", ""), "12.7", "1/2 in"),
        (said_number(12.7, "g"), "12.7", "1/2"),
        (said_fine(50, "g"), "50 mm", "1.9685 in"),
        (said_fine_number(0.18, ".3f"), "0.180", "0.0071"),
        (said_size(25.4, 12.7, "g"), "25.4 x 12.7 mm", "1 × 1/2 in"),  # noqa: RUF001 - the sign of a size
        (said_place(25.4, 12.7, "g"), "25.4, 12.7 mm", "1.00, 0.50 in"),
        (said_mm2(12.5), "12.5 mm²", "0.019 in²"),
        (said_mm2(12.5, ".2f", "mm2"), "12.50 mm2", "0.019 in²"),
        (said_number2(1290.32, ".2f"), "1290.32", "2.00"),
        (said_mm2(0, ".2f"), "0.00 mm²", "0.00 in²"),
        (said_mass(453.59237), "453.592 g", "1.00 lb"),
        (said_run(304.8, "a foot"), "a foot", "1.0 ft"),
        (said_real(304.8, "a foot"), "a foot", "1 ft"),
        (said_unit(), "mm", "in"),
    ],
)
def test_each_kind_of_quantity_is_told(said: str, metric: str, imperial: str) -> None:
    assert in_mm(f"so {said}.") == f"so {metric}."
    assert INCHES.told(f"so {said}.") == f"so {imperial}."


@given(st.floats(0.05, 50), st.floats(0.05, 50))
def test_what_misses_a_limit_is_never_told_as_the_limit(mm: float, limit_mm: float) -> None:
    """Unless they are nearer to each other than a caliper's last digit."""
    one, other = map(INCHES.told, said_apart(mm, "g", limit_mm))
    assert one != other or abs(mm - limit_mm) <= 0.0001 * 25.4


@given(st.floats(0.001, 3000))
def test_what_is_typed_reads_back_as_the_same_length(mm: float) -> None:
    assert abs(parse_length(INCHES.typed(mm)) - mm) <= 0.5e-6 * 25.4 + 1e-9
    assert abs(parse_length(MILLIMETRES.typed(mm)) - mm) <= 0.0005 + 1e-9


@pytest.mark.parametrize("typed", ["11in", "8 1/2in", "1/64in", "8.27in", "0.0071in"])
def test_an_inch_is_typed_as_the_maker_typed_it(typed: str) -> None:
    assert INCHES.typed(parse_length(typed)) == typed


@pytest.mark.parametrize(
    ("mm", "words"),
    [(36 * 304.8, "36 ft"), (1727.2, "5 ft 8 in"), (11000, "36 ft 1 in"), (203.2, "8 in"), (3655, "12 ft")],
)
def test_a_real_length_is_in_feet_and_inches(mm: float, words: str) -> None:
    assert feet(mm) == words


def test_nothing_is_told_as_none_of_an_inch() -> None:
    assert [inches(mm) for mm in (0.001, 0.0005, 0.01)] == ["0.000039", "0.00002", "0.00039"]


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
