"""Money as a maker writes it: an amount and whatever they call their currency.

Enters: texts such as `4.50 EUR`, `£3`, `12 kr`. Leaves: `Money`, which tells other amounts the same way. No currency
is known here, and none is turned into another.
"""

import re
from dataclasses import dataclass

MOST = 1e9
"""A larger amount is a slip of the keyboard."""

LONGEST_WORD = 12
"""A currency's word has no more letters than this."""

_AMOUNT = r"(?P<amount>\d+(?:[.,]\d{1,4})?)"
_BEFORE = re.compile(rf"(?P<word>[^\d\s.,+-][^\d]*?)(?P<gap>\s*){_AMOUNT}")
_AFTER = re.compile(rf"{_AMOUNT}(?P<gap>\s*)(?P<word>[^\d\s.,+-][^\d]*)")


@dataclass(frozen=True, slots=True)
class Money:
    """An amount in a currency, whose word stands before it or behind it, with a space between or without."""

    amount: float
    word: str
    before: bool = False
    gap: bool = True

    def told(self, amount: float) -> str:
        """An amount in this currency, with two decimals: `9.00 EUR`, `£9.00`."""
        space = " " if self.gap else ""
        return f"{self.word}{space}{amount:.2f}" if self.before else f"{amount:.2f}{space}{self.word}"


def parse_money(value: object) -> Money:
    """An amount with its currency. Raises ValueError for anything else, for nothing, and for less."""
    text = value.strip() if isinstance(value, str) else ""
    before, after = _BEFORE.fullmatch(text), _AFTER.fullmatch(text)
    found = before or after
    if found is None or len(found["word"].strip()) > LONGEST_WORD:
        raise ValueError('needs an amount and a currency, such as "4.50 EUR" or "£3"')
    amount = float(found["amount"].replace(",", "."))
    if not 0 < amount <= MOST:
        raise ValueError("needs an amount of more than nothing, or leave it out")
    return Money(amount, found["word"].strip(), before is not None, bool(found["gap"]))
