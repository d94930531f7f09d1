"""Numbers and lengths of SVG and CSS.

Enters: attribute text. Leaves: floats, lengths in user units (1 user unit = 1px = 1/96 in, CSS Values and
Units 3, "Absolute lengths"). What isn't a number or a length is None.
"""

import math
import re
from dataclasses import dataclass

MM_PER_PX = 25.4 / 96
"""CSS Values and Units 3: 1in = 2.54cm = 96px."""

PX_PER_UNIT = {
    "": 1.0,
    "px": 1.0,
    "in": 96.0,
    "cm": 96 / 2.54,
    "mm": 96 / 25.4,
    "q": 96 / 101.6,
    "pt": 96 / 72,
    "pc": 16.0,
}
"""CSS px in each absolute unit; names of units don't mind case."""

NUMBER = r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?"
_LENGTH = re.compile(rf"\s*({NUMBER})\s*([a-zA-Z%]*)\s*")
_NUMBERS = re.compile(NUMBER)


@dataclass(frozen=True, slots=True)
class Viewport:
    """What percentages and font-relative lengths refer to, in user units."""

    width: float
    height: float

    @property
    def diagonal(self) -> float:
        """What a percentage that is neither x nor y refers to (SVG 2, "Units")."""
        return math.hypot(self.width, self.height) / math.sqrt(2)


# Our own: svgelements 1.9.6 gets 38 of our tests' 768 lengths wrong, most of them because 1 mm is 3.7795296 px to it,
# and takes 41 of 45 texts that are no length for one (docs/design.md, "Reading").
def parse_length(text: str | None, whole: float | None, font_size: float = 16.0) -> float | None:
    """A length in user units; percentages are of `whole`. None when it isn't one, or has nothing to refer to."""
    match = _LENGTH.fullmatch(text) if text else None
    if match is None:
        return None
    number, unit = float(match[1]), match[2].lower()
    if not math.isfinite(number):
        return None
    if unit == "%":
        return None if whole is None else number / 100 * whole
    if unit in ("em", "rem"):
        return number * font_size
    if unit in ("ex", "ch"):
        return number * font_size / 2
    factor = PX_PER_UNIT.get(unit)
    return None if factor is None else number * factor


def parse_number(text: str | None) -> float | None:
    """A plain finite number, or None."""
    match = _LENGTH.fullmatch(text) if text else None
    if match is None or match[2]:
        return None
    number = float(match[1])
    return number if math.isfinite(number) else None


def parse_fraction(text: str | None) -> float | None:
    """A number or a percentage, held between 0 and 1 as opacities and offsets are; None if it is neither."""
    match = _LENGTH.fullmatch(text) if text else None
    if match is None or match[2] not in ("", "%"):
        return None
    return min(max(float(match[1]) / (100 if match[2] else 1), 0.0), 1.0)


def parse_numbers(text: str) -> tuple[float, ...] | None:
    """Numbers parted by spaces or commas; None if anything else is among them or one isn't finite."""
    if re.sub(r"[\s,]+", "", _NUMBERS.sub("", text)):
        return None
    numbers = tuple(float(number) for number in _NUMBERS.findall(text))
    return numbers if all(map(math.isfinite, numbers)) else None
