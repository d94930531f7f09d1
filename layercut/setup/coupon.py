"""A test piece to find the kerf, and the kerf from a reading of it.

Enters: the bar's length and its number of blocks, then the length that a caliper shows. Leaves: an `OrderedSheet` to
cut, and the kerf with its uncertainty, mm.

Each block is a closed contour of its own, and the beam's middle runs along it, so every block comes out smaller by
half a kerf on each side: N blocks of drawn length L in all, pushed together, measure L - N k. Hence k = (L - M) / N.
A machine may also draw everything a little too long or too short. A second bar, uncut, measures W = L (1 + e) - k
with the same error e, the blocks M = L (1 + e) - N k, and so k = (W - M) / (N - 1) whatever e is.
"""

import math
from dataclasses import dataclass
from typing import Any

from shapely import LineString, MultiPolygon, Polygon, box
from shapely.geometry.base import BaseGeometry

from layercut.errors import LayercutError
from layercut.geometry.precision import OUTPUT_DECIMALS
from layercut.geometry.stroke_letters import digit_strokes
from layercut.model import OrderedSheet, Panel
from layercut.units import MILLIMETRES, Units, in_mm, said_fine, said_fine_number

LENGTH_MM = 50.0
BLOCKS = 5
RESOLUTION_MM = 0.05
"""One step of a common caliper, mm."""

GAP_MM = 4.0
"""Wood between the contours and around them, mm."""

HEIGHT_MM = 14.0
"""Height of the bars, mm: enough for fingers and a caliper's jaws."""

SMALLEST_BLOCK_MM = 5.0
"""A narrower block drops through the bed and tips in the caliper, mm."""

LIKELY_KERF_MM = (0.02, 0.6)
"""A reading that means less or more than this, mm, is a misreading: a small laser's beam takes 0.1 to 0.3 (common
practice; no source gives bounds)."""

DIGITS_MM = 4.0
"""Height of the blocks' numbers at most, mm."""

DIGIT_ROOM = 1.05
"""Room for a digit beside others, in its heights."""


@dataclass(frozen=True, slots=True)
class Coupon:
    """A test piece: a bar of `length_mm` in `blocks` equal blocks, and a bar of that length in one."""

    length_mm: float = LENGTH_MM
    blocks: int = BLOCKS

    @property
    def block_mm(self) -> float:
        """Width of one block as drawn, mm."""
        return round(self.length_mm / self.blocks, OUTPUT_DECIMALS)


@dataclass(frozen=True, slots=True)
class KerfReading:
    """A kerf and how sure it is, mm; `working` is how it was worked out, its quantities as `units.py` leaves them.

    `machine_error` is how much too long the machine draws (0.001: a thousandth), None without the uncut bar.
    """

    kerf_mm: float
    plus_minus_mm: float
    working: str
    machine_error: float | None = None

    @property
    def formula(self) -> str:
        """How it was worked out, with the numbers in mm."""
        return in_mm(self.working)


def make_coupon(length_mm: float = LENGTH_MM, blocks: int = BLOCKS) -> Coupon:
    """A test piece, its blocks a whole number of thousandths of a mm wide.

    Raises LayercutError `coupon` for one that can't be cut or measured.
    """
    if blocks < 2 or not math.isfinite(length_mm) or not 0 < length_mm <= 1000:
        message = f"a bar of {said_fine(length_mm)} in {blocks} blocks can't be cut."
        raise LayercutError(
            "coupon", message, f"Take 2 blocks or more, and at most {said_fine(1000)}.", file="--blocks"
        )
    if length_mm / blocks < SMALLEST_BLOCK_MM:
        message = (
            f"blocks of {said_fine(length_mm / blocks, '.3g')} are too narrow to hold and would drop through the bed."
        )
        hint = f"Make them {said_fine(SMALLEST_BLOCK_MM)} or more: a longer bar, or fewer blocks."
        raise LayercutError("coupon", message, hint, file="--blocks")
    # On the grid, so that what is written is what the kerf is reckoned from.
    block = round(length_mm / blocks, OUTPUT_DECIMALS)
    return Coupon(round(block * blocks, OUTPUT_DECIMALS), blocks)


def coupon_sheet(coupon: Coupon) -> tuple[OrderedSheet, Panel]:
    """The test piece as a sheet: numbered blocks, the uncut bar below them, and a rim around it all.

    No kerf is made up for, since it is what is looked for.
    """
    wide = coupon.block_mm
    width = coupon.length_mm + (coupon.blocks + 1) * GAP_MM
    height = 2 * HEIGHT_MM + 3 * GAP_MM
    openings: list[Polygon] = []
    marks: list[LineString] = []
    for number in range(coupon.blocks):
        left = GAP_MM + number * (wide + GAP_MM)
        openings.append(box(left, GAP_MM, left + wide, GAP_MM + HEIGHT_MM))
        marks += _number_lines(str(number + 1), left + wide / 2, GAP_MM + HEIGHT_MM / 2, wide)
    top = 2 * GAP_MM + HEIGHT_MM
    left = (width - coupon.length_mm) / 2
    openings.append(box(left, top, left + coupon.length_mm, top + HEIGHT_MM))
    outline = box(0, 0, width, height)
    wood: BaseGeometry = outline.difference(MultiPolygon(openings))
    panel = Panel(width, height, GAP_MM, outline, outline, Polygon(outline.exterior, [o.exterior for o in openings]))
    sheet = OrderedSheet("kerf coupon", "layer", "coupon.svg", 1, wood, (), tuple(marks), tuple(openings), outline)
    return sheet, panel


def read_kerf(
    coupon: Coupon, measured_mm: float, resolution_mm: float = RESOLUTION_MM, whole_mm: float | None = None
) -> KerfReading:
    """The kerf from the length of all blocks pushed together, and from the uncut bar's where it was measured too.

    A reading is taken to be good to one step of the tool. Raises LayercutError `coupon` for a reading that can't be.
    """
    if not (math.isfinite(resolution_mm) and 0 < resolution_mm <= 1):
        raise LayercutError(
            "coupon", f"a tool's step lies between 0 and {said_fine(1)}.", "Such as 0.05mm.", file="--resolution"
        )
    length, count, found = coupon.length_mm, coupon.blocks, said_fine_number(measured_mm)
    if whole_mm is None:
        kerf, sure, error = (length - measured_mm) / count, resolution_mm / count, None
        formula = f"kerf = (drawn - measured) / blocks = ({said_fine_number(length)} - {found}) / {count}"
    else:
        kerf, sure = (whole_mm - measured_mm) / (count - 1), resolution_mm * math.sqrt(2) / (count - 1)
        error = (whole_mm + kerf) / length - 1
        whole = said_fine_number(whole_mm)
        formula = f"kerf = (whole - measured) / (blocks - 1) = ({whole} - {found}) / {count - 1}"
    _check_kerf(kerf, measured_mm, coupon, error)
    return KerfReading(kerf, sure, formula, error)


def kerf_lines(reading: KerfReading, units: Units = MILLIMETRES) -> tuple[str, ...]:
    """What is to be said of a reading, a line each."""
    kerf, sure = said_fine(reading.kerf_mm, ".3f"), said_fine(reading.plus_minus_mm, ".3f")
    lines = [units.told(f"{reading.working} = {kerf}, +- {sure}")]
    if reading.machine_error is None:
        lines.append("this takes the machine's own scale as right; with --whole, the uncut bar, its error drops out")
    else:
        way = "long" if reading.machine_error > 0 else "short"
        lines.append(f"the machine draws {abs(reading.machine_error):.2%} too {way}")
    return tuple(lines)


def kerf_text(reading: KerfReading, units: Units) -> str:
    """The kerf as a job file takes it: to a thousandth of a mm, or a ten-thousandth of an inch."""
    return units.typed(reading.kerf_mm, 4) if units.imperial else f"{reading.kerf_mm:.3f}mm"


def kerf_document(reading: KerfReading) -> dict[str, Any]:
    """The same for tools."""
    return {
        "kerf_mm": round(reading.kerf_mm, 4),
        "plus_minus_mm": round(reading.plus_minus_mm, 4),
        "formula": reading.formula,
        "machine_error": None if reading.machine_error is None else round(reading.machine_error, 5),
    }


def _check_kerf(kerf: float, measured_mm: float, coupon: Coupon, error: float | None) -> None:
    drawn = f"{coupon.blocks} blocks drawn {said_fine(coupon.length_mm)} long in all"
    measured = said_fine(measured_mm)
    if not math.isfinite(kerf) or kerf <= 0:
        message = f"{measured} leaves no kerf for {drawn}."
        hint = "Push the blocks together without dust or char between them, and measure again."
        raise LayercutError("coupon", message, hint, file="--measured")
    least, most = LIKELY_KERF_MM
    if not least <= kerf <= most:
        message = (
            f"{measured} would mean a kerf of {said_fine(kerf, '.3f')} for {drawn}, and {said_fine_number(least)} to "
            f"{said_fine_number(most)} is likely."
        )
        hint = "Measure again, all blocks together, and give --length and --blocks as they were cut."
        raise LayercutError("coupon", message, hint, file="--measured")
    if error is not None and abs(error) > 0.05:
        message = f"the machine would draw everything {error:.1%} off."
        raise LayercutError("coupon", message, "Measure the uncut bar again, along its length.", file="--whole")


def _number_lines(text: str, x: float, y: float, room: float) -> list[LineString]:
    """A number in single strokes around a middle, each burnt once."""
    height = min(DIGITS_MM, room / (DIGIT_ROOM * len(text)))
    return [LineString([(x + px * height, y + py * height) for px, py in line]) for line in digit_strokes(text)]
