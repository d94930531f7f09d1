"""One sheet: its marks and cuts, in burning order.

Enters: a layer's regions, its marks and cut lines. Leaves: an `OrderedSheet`. Holds: areas are engraved before lines,
lines before openings, the rim comes last.
"""

import unicodedata
from collections.abc import Iterable
from typing import TypeVar

import numpy as np
import shapely
from shapely import LineString, Polygon

from layercut.geometry.precision import FLATTEN_MM, OUTPUT_DECIMALS
from layercut.geometry.thinning import thinned_apart
from layercut.model import OrderedSheet, StackLayer
from layercut.sheets.kerf import CutLines
from layercut.sheets.marks import Marks
from layercut.sheets.order import order_lines, order_rings

Shape = TypeVar("Shape", LineString, Polygon)

HOME_MM = (0.0, 0.0)
"""Where the beam starts: the panel's top left corner."""


def order_sheet(number: int, planned: StackLayer, marks: Marks, lines: CutLines, *, count: int = 1) -> OrderedSheet:
    """Put what is to be burnt into order; `number` is 1 for the back sheet, of `count` in all."""
    areas = tuple(_in_reading_order(marks.areas))
    simple = thinned_apart(np.array(marks.lines, dtype=object), FLATTEN_MM)
    marking = order_lines(_in_reading_order(simple), end_of_areas(areas))
    opening = order_rings(_in_reading_order(lines.openings), marking.end_mm)
    rim = order_rings([lines.outline], opening.end_mm)
    return OrderedSheet(
        name=planned.name,
        kind="layer",
        file=f"sheets/{sheet_stem(number, planned.name, count)}.svg",
        copies=1,
        wood=planned.wood,
        mark_areas=areas,
        mark_lines=marking.stops,
        openings=tuple(Polygon(ring) for ring in opening.stops),
        outline=Polygon(rim.stops[0]),
        ties=planned.ties,
        loose=planned.loose,
        slip_mm=planned.slip_mm,
    )


def sheet_stem(number: int, name: str, count: int = 1) -> str:
    """A sheet's file name without its ending: its number among `count`, and as much of its name as every file system
    takes. Marks on letters are left out; letters that ASCII has nothing for stay as they are."""
    plain = "".join(map(_plain_letter, unicodedata.normalize("NFC", name.lower())))
    plain = unicodedata.normalize("NFC", "-".join(part for part in plain.split("-") if part)[:40].strip("-"))
    digits = f"{number:0{max(2, len(str(count)))}}"
    return f"{digits}-{plain}" if plain else digits


def _plain_letter(char: str) -> str:
    """A character for a file name: what of its decomposition is ASCII, else itself if it is part of a word, else `-`.

    The decomposition is Unicode's compatible one (Unicode Standard Annex 15, NFKD).
    """
    ascii_part = "".join(c for c in unicodedata.normalize("NFKD", char) if c.isascii() and c.isalnum()).lower()
    in_word = char.isalnum() or unicodedata.category(char).startswith("M")
    return ascii_part or (char if in_word else "-")


def _in_reading_order(shapes: Iterable[Shape]) -> list[Shape]:
    """A fixed order to start from, so that the same drawing gives the same sheets."""
    found = list(shapes)
    x0, y0, x1, y1 = shapely.bounds(np.array(found, dtype=object)).reshape(-1, 4).round(OUTPUT_DECIMALS).T
    return [found[k] for k in np.lexsort((x1, y1, x0, y0)).tolist()]


def end_of_areas(areas: tuple[Polygon, ...]) -> tuple[float, float]:
    """Areas are burnt in rows from the top down, so the beam leaves the last one at its lowest row."""
    if not areas:
        return HOME_MM
    return (float(areas[-1].bounds[2]), float(areas[-1].bounds[3]))
