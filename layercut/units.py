"""The units in which a person reads lengths, areas and weights: millimetres and grams, or inches and ounces.

Enters: numbers in mm, mm2, g and the like. Leaves: words. Holds: nothing that a machine reads comes from here. An
inch is 25.4 mm and a pound 453.59237 g, exactly (NIST SP 811, 2008, appendix B.8).

A sentence that is written before its reader's units are known, such as a finding's, holds its quantities as `said_mm`
and its like leave them: both the words in mm and the number, between two characters that no drawing and no job file
can hold. `told` gives the sentence in a reader's units, `in_mm` in mm.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

UnitName = Literal["mm", "in"]

MM_PER_INCH = 25.4
MM_PER_FOOT = 12 * MM_PER_INCH
G_PER_POUND = 453.59237
G_PER_OUNCE = G_PER_POUND / 16
OUNCES_PER_POUND = 16
KG_M3_PER_LB_FT3 = G_PER_POUND / 1000 / (MM_PER_FOOT / 1000) ** 3

SIXTY_FOURTHS = 64
"""The finest fraction of a folding rule."""

FRACTION_MM = 0.1
"""A fraction stands for a length that is no further from it, mm."""

FRACTION_SHARE = 0.06
"""Nor any further than this part of the length: a kerf is told in decimals."""

EXACT = 1e-7
"""What is no further from a whole number of sixty-fourths is one: rounding."""

QUARTERS = 4
"""A real length, as of a house, is told to a quarter of an inch."""

_OPEN, _NUMBER_END, _CLOSE = "\x02", "\x1f", "\x03"
"""Around a quantity in a sentence: XML 1.0 (2.2) and TOML 1.0 allow none of these in what they hold."""

_QUANTITY = re.compile(f"{_OPEN}([a-z]+) ([^{_NUMBER_END}]*){_NUMBER_END}([^{_CLOSE}]*){_CLOSE}")


@dataclass(frozen=True, slots=True)
class Units:
    """One way to tell quantities. All numbers that enter are metric; `digits` counts decimals of the metric words."""

    name: UnitName = "mm"

    @property
    def imperial(self) -> bool:
        """True for inches, ounces and pounds."""
        return self.name == "in"

    def number(self, mm: float, digits: int = 2) -> str:
        """A length without its unit: `12.7`, `1/2`."""
        return inches(mm) if self.imperial else _plain(mm, digits)

    def length(self, mm: float, digits: int = 2) -> str:
        """A length: `12.7 mm`, `1/2 in`."""
        return f"{self.number(mm, digits)} {self.name}"

    def size(self, width_mm: float, height_mm: float, digits: int = 2) -> str:
        """A width and a height: `280 × 216 mm`, `11 1/32 × 8 1/2 in`."""  # noqa: RUF002 - the sign of a size
        return f"{self.number(width_mm, digits)} × {self.number(height_mm, digits)} {self.name}"  # noqa: RUF001

    def place(self, x_mm: float, y_mm: float, digits: int = 1) -> str:
        """A place by its two distances: `24.8, 93.0 mm`; in inches with two decimals, for fractions hide an order."""
        if self.imperial:
            return f"{x_mm / MM_PER_INCH:.2f}, {y_mm / MM_PER_INCH:.2f} in"
        return f"{x_mm:.{digits}f}, {y_mm:.{digits}f} mm"

    def fine(self, mm: float) -> str:
        """A length as a caliper shows it: `0.147 mm`, `0.0058 in`; never a fraction, which may be 0.1 mm off."""
        return f"{self.fine_number(mm)} {self.name}"

    def fine_number(self, mm: float) -> str:
        """The same without its unit: `0.147`, `0.0058`."""
        return _plain(mm / MM_PER_INCH, 4) if self.imperial else _plain(mm, 3)

    def typed(self, mm: float, digits: int = 6) -> str:
        """A length as a job file takes it: `279.4mm`, `8 1/2in`, `8.27in`.

        To a thousandth of a mm; in inches to so many decimals, of which six read back as the same length.
        """
        if not self.imperial:
            return f"{_plain(mm, 3)}mm"
        parts = mm / MM_PER_INCH * SIXTY_FOURTHS
        whole = mm > 0 and abs(parts - round(parts)) < EXACT
        return f"{inches(mm) if whole else _plain(mm / MM_PER_INCH, digits)}in"

    def run(self, mm: float) -> str:
        """A long way, such as all cuts of a sheet: `3.42 m`, `11.2 ft`."""
        return f"{mm / MM_PER_FOOT:.1f} ft" if self.imperial else f"{mm / 1000:.2f} m"

    def small_area(self, mm2: float, digits: int = 0) -> str:
        """An area as of glue under a small piece: `12 mm²`, `0.019 in²`."""
        return f"{self.small_number(mm2, digits)} {self.name}²"

    def small_number(self, mm2: float, digits: int = 0) -> str:
        """A small area without its unit: `12`, `0.019`."""
        return _significant(mm2 / MM_PER_INCH**2) if self.imperial else f"{mm2:.{digits}f}"

    def area(self, mm2: float) -> str:
        """An area as of paint: `12.5 cm²`, `1.94 in²`."""
        return f"{mm2 / MM_PER_INCH**2:.2f} in²" if self.imperial else f"{mm2 / 100:.1f} cm²"

    def mass(self, grams: float) -> str:
        """A weight: `420 g`, `1.25 kg`, `14.8 oz`, `2.76 lb`."""
        if not self.imperial:
            return f"{grams:.0f} g" if grams < 1000 else f"{grams / 1000:.2f} kg"
        ounces = grams / G_PER_OUNCE
        return f"{ounces:.1f} oz" if ounces < OUNCES_PER_POUND else f"{grams / G_PER_POUND:.2f} lb"

    def density(self, kg_m3: float) -> str:
        """A density: `680 kg/m³`, `42.5 lb/ft³`."""
        return f"{kg_m3 / KG_M3_PER_LB_FT3:.1f} lb/ft³" if self.imperial else f"{_plain(kg_m3, 2)} kg/m³"

    def speed(self, mm_s: float) -> str:
        """A speed: `10 mm/s`, `0.394 in/s`."""
        return f"{_decimal_inches(mm_s)} in/s" if self.imperial else f"{_plain(mm_s, 2)} mm/s"

    def acceleration(self, mm_s2: float) -> str:
        """An acceleration: `1000 mm/s²`, `39.4 in/s²`."""
        return f"{_decimal_inches(mm_s2)} in/s²" if self.imperial else f"{_plain(mm_s2, 2)} mm/s²"

    def told(self, sentence: str) -> str:
        """A sentence with its quantities in these units."""
        return _QUANTITY.sub(self._quantity, sentence) if self.imperial else in_mm(sentence)

    def _quantity(self, found: re.Match[str]) -> str:
        return _SAYERS[found[1]](self, *map(float, found[2].split()))


MILLIMETRES = Units("mm")
INCHES = Units("in")

_SAYERS: dict[str, Callable[..., str]] = {
    "length": Units.length,
    "number": Units.number,
    "size": Units.size,
    "place": Units.place,
    "area": Units.small_area,
    "areanumber": Units.small_number,
    "paint": Units.area,
    "mass": Units.mass,
    "fine": Units.fine,
    "finenumber": Units.fine_number,
    "run": Units.run,
    "real": lambda _units, mm: feet(mm),
    "unit": lambda units: units.name,
}

Digits = int | str
"""How the metric words of a quantity are written: so many decimals at most, or a format such as `.1f` or `g`."""


def said_mm(mm: float, digits: Digits = 2, sign: str = " mm") -> str:
    """A length in a sentence: `2.5 mm` for who reads mm; without `sign`, `2.5`."""
    return _said("length", f"{_written(mm, digits)}{sign}", mm)


def said_apart(mm: float, digits: Digits, limit_mm: float, limit_digits: Digits = "g") -> tuple[str, str]:
    """A length and the limit that it misses, in a sentence; as decimals where both would be the same fraction."""
    say = said_fine if inches(mm) == inches(limit_mm) else said_mm
    return say(mm, digits), say(limit_mm, limit_digits)


def said_number(mm: float, digits: Digits = 2) -> str:
    """A length in a sentence whose unit follows with another length: `2.5`."""
    return _said("number", _written(mm, digits), mm)


def said_size(width_mm: float, height_mm: float, digits: Digits = ".1f", sign: str = "x") -> str:
    """A width and a height in a sentence: `10.0 x 4.5 mm`."""
    return _said("size", f"{_written(width_mm, digits)} {sign} {_written(height_mm, digits)} mm", width_mm, height_mm)


def said_place(x_mm: float, y_mm: float, digits: Digits = ".1f") -> str:
    """A place in a sentence: `24.8, 93.0 mm`."""
    return _said("place", f"{_written(x_mm, digits)}, {_written(y_mm, digits)} mm", x_mm, y_mm)


def said_fine(mm: float, digits: Digits = "g") -> str:
    """A length in a sentence as a caliper shows it: `0.147 mm`."""
    return _said("fine", f"{_written(mm, digits)} mm", mm)


def said_fine_number(mm: float, digits: Digits = "g") -> str:
    """The same without its unit: `0.147`."""
    return _said("finenumber", _written(mm, digits), mm)


def said_real(mm: float, words: str) -> str:
    """A real length, as of a house, in a sentence, in these words for who reads mm."""
    return _said("real", words, mm)


def said_length(mm: float, words: str) -> str:
    """A length in a sentence, in these words for who reads mm: `a thousandth of a millimetre`."""
    return _said("length", words, mm)


def said_run(mm: float, words: str) -> str:
    """A long way in a sentence, in these words for who reads mm: `100 m`."""
    return _said("run", words, mm)


def said_unit() -> str:
    """The unit of lengths alone: `mm`."""
    return _said("unit", MILLIMETRES.name)


def said_mm2(mm2: float, digits: Digits = ".1f", sign: str = "mm²") -> str:
    """A small area in a sentence: `12.5 mm²`."""
    return _said("area", f"{_written(mm2, digits)} {sign}", mm2)


def said_number2(mm2: float, digits: Digits = ".1f") -> str:
    """A small area in a sentence whose unit stands with another: `12.5`."""
    return _said("areanumber", _written(mm2, digits), mm2)


def said_mass(grams: float, digits: Digits = "g", sign: str = " g") -> str:
    """A weight in a sentence: `420 g`; without `sign`, `420` for who reads g."""
    return _said("mass", f"{_written(grams, digits)}{sign}", grams)


def in_mm(sentence: str) -> str:
    """A sentence with its quantities in mm."""
    return _QUANTITY.sub(lambda found: found[3], sentence) if _OPEN in sentence else sentence


def inches(mm: float) -> str:
    """A length in inches, without the unit: a fraction to 1/64 where one is within 0.1 mm, else decimals.

    The fraction is in its lowest terms: `6 1/2`, `3/64`, `11`.
    """
    sign, size = ("-", -mm) if mm < 0 else ("", mm)
    parts = round(size / MM_PER_INCH * SIXTY_FOURTHS)
    off = abs(parts * MM_PER_INCH / SIXTY_FOURTHS - size)
    if off > min(FRACTION_MM, FRACTION_SHARE * size):
        return sign + _decimal_inches(size)
    whole, over = divmod(parts, SIXTY_FOURTHS)
    if not over:
        return f"{sign}{whole}" if whole else "0"
    below = SIXTY_FOURTHS
    while over % 2 == 0:
        over, below = over // 2, below // 2
    return f"{sign}{whole} {over}/{below}" if whole else f"{sign}{over}/{below}"


def feet(mm: float) -> str:
    """A real length in feet and inches, to a quarter of an inch: `36 ft`, `5 ft 8 1/4 in`; below a foot, inches."""
    if abs(mm) < MM_PER_FOOT:
        return INCHES.length(mm)
    quarter = MM_PER_INCH / QUARTERS
    whole, over = divmod(round(abs(mm) / quarter), round(MM_PER_FOOT / quarter))
    words = f"{'-' if mm < 0 else ''}{whole} ft"
    return f"{words} {inches(over * quarter)} in" if over else words


def _decimal_inches(mm: float) -> str:
    """Three decimals, four where the length is below a tenth of an inch, more where that would be nothing."""
    value = mm / MM_PER_INCH
    digits = 3 if abs(value) >= 0.1 else 4
    while value and digits < 7 and abs(value) < 10 ** (1 - digits):
        digits += 1
    return _plain(value, digits)


def _plain(value: float, digits: int) -> str:
    text = f"{value:.{digits}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text == "-0" else text


def _written(value: float, digits: Digits) -> str:
    return _plain(value, digits) if isinstance(digits, int) else format(value, digits)


def _significant(value: float) -> str:
    """Two digits that count, at least two decimals: `0.019`, `1.94`."""
    digits = 2
    while value and digits < 6 and abs(value) < 10 ** (1 - digits):
        digits += 1
    return f"{value:.{digits}f}"


def _said(kind: str, words: str, *numbers: float) -> str:
    return f"{_OPEN}{kind} {' '.join(map(repr, map(float, numbers)))}{_NUMBER_END}{words}{_CLOSE}"
