"""Money as a maker writes it."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from layercut.errors import JobError
from layercut.job import load_job
from layercut.money import parse_money


@pytest.mark.parametrize(
    ("text", "amount", "word", "again"),
    [
        ("4.50 EUR", 4.5, "EUR", "9.00 EUR"),
        ("4,50 €", 4.5, "€", "9.00 €"),
        ("£3", 3, "£", "£9.00"),
        ("$ 12.25", 12.25, "$", "$ 9.00"),
        ("12kr", 12, "kr", "9.00kr"),
        ("7 shells", 7, "shells", "9.00 shells"),
    ],
)
def test_any_currency_is_read_and_told_as_it_was_written(text: str, amount: float, word: str, again: str) -> None:
    money = parse_money(text)
    assert (money.amount, money.word, money.told(9)) == (amount, word, again)


@given(st.floats(0.01, 1e6, allow_nan=False), st.sampled_from(["EUR", "£", "kr", "Taler"]), st.booleans())
def test_what_is_told_is_read_again(amount: float, word: str, before: bool) -> None:
    money = parse_money(f"{word} 1" if before else f"1 {word}")
    again = parse_money(money.told(amount))
    assert (again.word, again.before, again.amount) == (word, before, round(amount, 2))


@pytest.mark.parametrize(
    "text", ["", "4.50", "EUR", "0 EUR", "0.00 kr", "-3 EUR", "1e3 EUR", "3 EUR 4", "5 " + "x" * 13]
)
def test_what_is_no_price_is_refused_in_a_sentence(text: str) -> None:
    with pytest.raises(JobError, match=r"^'material\.price' needs an amount"):
        load_job(None, [f'material.price="{text}"'])


def test_two_currencies_are_refused_in_a_sentence() -> None:
    with pytest.raises(JobError) as caught:
        load_job(None, ['material.price="3 EUR"', 'machine.rate="£9"'])
    assert caught.value.message == (
        "'machine.rate' is in £ and 'material.price' in EUR, which can't be added up: give both in one currency."
    )
