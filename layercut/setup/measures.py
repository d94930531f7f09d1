"""Real lengths as a maker writes them, and how sure they are.

Enters: texts such as `36ft`, `5ft 8in`, `20ft=84px`. Leaves: `Measure`, mm, with its uncertainty.
"""

import math
import re
from dataclasses import dataclass

from layercut.errors import JobError
from layercut.job_values import MM_PER_UNIT
from layercut.units import INCHES, MILLIMETRES, Units, said_real

FOOT_MM = MM_PER_UNIT["ft"]
INCH_MM = MM_PER_UNIT["in"]

LONGEST_MM = 1e8
"""A real length beyond 100 km is a slip of the keyboard."""

_PART = re.compile(r"\s*(\d+\s+\d+/\d+|\d+/\d+|\d+\.?\d*|\.\d+)\s*([a-zA-Z]+)")
_PIXELS = re.compile(r"\s*(\d+\.?\d*|\.\d+)\s*px\s*")
_NOT_REAL = {"px", "pt"}  # lengths of the screen and the page, not of a house


@dataclass(frozen=True, slots=True)
class Measure:
    """A real length and its standard uncertainty, both mm."""

    mm: float
    plus_minus_mm: float = 0.0

    @property
    def most_mm(self) -> float:
        """The length at the upper end of its uncertainty, mm."""
        return self.mm + self.plus_minus_mm


@dataclass(frozen=True, slots=True)
class ScaleBar:
    """A scale bar of a picture: its real length (mm), its length in the picture (px), the error of a reading (px)."""

    real_mm: float
    pixels: float
    pixel_error: float = 1.0


def parse_real(text: str, name: str, *, zero: bool = False) -> float:
    """A real length in mm: parts with their units, added up, such as `36ft`, `5ft 8in`, `6 1/2in`.

    `name` is the option that the message names; `zero` lets the length be 0. Raises JobError `measure`.
    """
    total, place = 0.0, 0
    if zero and text.strip() == "0":
        return 0.0
    while match := _PART.match(text, place):
        number, unit = match[1], match[2].lower()
        if unit not in MM_PER_UNIT or unit in _NOT_REAL:
            hint = "Pixels need a --scale-bar." if unit == "px" else f"Use one of {', '.join(_units())}."
            raise JobError("measure", f"'{text.strip()}' has no unit of length that layercut knows.", hint, file=name)
        total += _number(number, text, name) * MM_PER_UNIT[unit]
        place = match.end()
    if place == 0 or text[place:].strip():
        message = f"'{text.strip()}' is not a length with its unit."
        raise JobError("measure", message, "Write it such as 36ft, 5ft 8in or 11m.", file=name)
    if total > LONGEST_MM:
        raise JobError("measure", f"'{text.strip()}' is longer than 100 km.", "Check the number.", file=name)
    if total <= 0 and not zero:
        raise JobError("measure", f"'{text.strip()}' is no length at all.", "It must be more than zero.", file=name)
    return total


def parse_scale_bar(text: str, pixel_error: float = 1.0) -> ScaleBar:
    """A scale bar such as `20ft=84px`.

    Raises JobError `measure`, also where the bar is shorter than its own error.
    """
    real, equals, pixels = text.partition("=")
    if not equals or not _PIXELS.fullmatch(pixels):
        message = f"'{text}' is not a scale bar."
        raise JobError(
            "measure", message, "Write its real length and its pixels, such as 20ft=84px.", file="--scale-bar"
        )
    if not (math.isfinite(pixel_error) and pixel_error >= 0):
        raise JobError("measure", "the error of a reading can't be less than nothing.", file="--pixel-error")
    bar = ScaleBar(parse_real(real, "--scale-bar"), _pixels(pixels), pixel_error)
    if bar.pixels <= max(pixel_error, 0.0):
        message = f"a bar of {bar.pixels:g} px is no longer than the error of a reading, {pixel_error:g} px."
        raise JobError("measure", message, "Measure in a larger picture.", file="--scale-bar")
    return bar


def measure(text: str, name: str, bar: ScaleBar | None = None, *, zero: bool = False) -> Measure:
    """A real length: with its own unit (taken as exact), or in pixels of the picture that `bar` belongs to.

    L = R p / b for a bar of real length R and b pixels. Both readings may be a pixel off, independently, so the
    relative uncertainties add in quadrature: u(L)/L = sqrt((e/p)^2 + (e/b)^2) (JCGM 100:2008, 5.1.6).
    Raises JobError `measure`.
    """
    if bar is None or not _PIXELS.fullmatch(text):
        return Measure(parse_real(text, name, zero=zero))
    pixels = _pixels(text)
    if pixels <= 0 and not zero:
        raise JobError("measure", f"'{text.strip()}' is no length at all.", "It must be more than zero.", file=name)
    length = bar.real_mm * pixels / bar.pixels
    error = bar.real_mm / bar.pixels * math.hypot(bar.pixel_error, bar.pixel_error * pixels / bar.pixels)
    if length > LONGEST_MM:
        raise JobError(
            "measure", f"'{text.strip()}' comes out longer than 100 km.", "Check the scale bar.", file=name
        )
    return Measure(length, error)


def parse_pair(text: str, name: str) -> tuple[float, float]:
    """Two real lengths in mm, width and height, such as `36ft x 18ft`. Raises JobError `measure`."""
    parts = re.split(r"\s*(?:[x\u00d7](?![a-zA-Z])|,)\s*", text.strip())
    if len(parts) != 2:
        raise JobError(
            "measure", f"'{text}' is not a width and a height.", 'Write it such as "12in x 9in".', file=name
        )
    return parse_real(parts[0], name), parse_real(parts[1], name)


def in_feet(mm: float) -> str:
    """A real length for people: feet and mm, such as `36 ft (10973 mm)`; below a foot, inches."""
    if abs(mm) < FOOT_MM:
        return f"{_plain(mm / INCH_MM, 1)} in ({mm:.0f} mm)"
    return f"{_plain(mm / FOOT_MM, 2)} ft ({mm:.0f} mm)"


def said_feet(mm: float) -> str:
    """A real length in a sentence: for who reads mm as `in_feet` has it, else in feet and inches alone."""
    return said_real(mm, in_feet(mm))


def units_of(*texts: str | None) -> Units:
    """The units in which whoever wrote these lengths reads: inches where one of them is in inches or feet."""
    written = {match[2].lower() for text in texts if text for match in _PART.finditer(text)}
    return INCHES if written & {"in", "ft"} else MILLIMETRES


def _plain(value: float, digits: int) -> str:
    return f"{value:.{digits}f}".rstrip("0").rstrip(".")


def _pixels(text: str) -> float:
    return float(text.strip().removesuffix("px"))


def _units() -> list[str]:
    return [unit for unit in MM_PER_UNIT if unit not in _NOT_REAL]


def _number(text: str, whole: str, name: str) -> float:
    """A number that may be a whole one and a fraction, as on a folding rule."""
    total = 0.0
    for part in text.split():
        above, _, below = part.partition("/")
        if below and int(below) == 0:
            raise JobError("measure", f"'{whole.strip()}' divides by nothing.", file=name)
        total += float(above) / (float(below) if below else 1.0)
    return total
