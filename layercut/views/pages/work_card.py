"""The work card: the one page to take to the machine.

Enters: a finished build. Leaves: a section of HTML, the first of the traveller. Holds: it fits on one page of A4 and
of US letter, however many sheets and pieces there are: what there is no room for is counted.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from pathlib import PurePath

import shapely
from jinja2 import Environment, StrictUndefined, Template
from shapely import Polygon, STRtree

from layercut.geometry.regions import polygons_of
from layercut.model import Made, Sheet
from layercut.views.durations import in_words, sheet_seconds, total_parts
from layercut.views.pages.piece_names import piece_words
from layercut.views.svg_text import number

CRUMB_MM2 = 25.0
"""Waste smaller than this is a crumb: it may fall through the bed, or stick, and is brushed out."""

DUST = 1.3
"""A gap around loose wood that has no more than so many times the area of the beam's way is dust, and no waste."""

MOST_SHEETS, MOST_PIECES = 20, 60
"""So many sheets and loose pieces are listed; the others are counted."""

MOST_LETTERS = 44
"""A name of more letters is cut short."""

MOST_TICKS = 8
"""So many boxes to tick are drawn for the copies of one sheet."""

ROOMY_LINES, DENSE_ROWS = 11, 13
"""More lines than this, pieces in three columns, are set smaller; and more sheets than this one line each."""

WOOD_LETTERS = 20
"""So many letters of the wood's name stand in each row; the whole name stands above."""


@dataclass(frozen=True, slots=True)
class _Row:
    """A sheet as the card lists it, with a box to tick for each copy."""

    ticks: int
    place: int
    name: str
    file: str
    copies: int
    size: str
    time: str
    falls: str


def work_card(build: Made) -> str:
    """The card as HTML."""
    units, material = build.job.units, build.job.material
    rows = [_row(place, sheet, build) for place, sheet in enumerate(build.sheets, start=1)]
    pieces = list(_pieces(build))
    lines = min(len(rows), MOST_SHEETS) + min(len(pieces), MOST_PIECES) / 3
    return _template().render(
        stem=PurePath(build.drawing.file).stem,
        picture=_picture(build),
        density="packed" if len(rows) > DENSE_ROWS else "dense" if lines > ROOMY_LINES else "",
        wood=f"{material.name}, {units.length(material.thickness)}",
        wood_of_each=f"{_short(material.name, WOOD_LETTERS)}, {units.length(material.thickness)}",
        kerf=units.length(material.kerf),
        # A default is nobody's measure: the card must not look as if it were.
        kerf_given="kerf" in material.model_fields_set,
        boards=_boards(build),
        counted=build.work.material.stock is not None,
        time=in_words(sum(total_parts((sheet.times, sheet.copies) for sheet in build.sheets))),
        rows=rows[:MOST_SHEETS],
        more_rows=max(len(rows) - MOST_SHEETS, 0),
        pieces=pieces[:MOST_PIECES],
        more_pieces=max(len(pieces) - MOST_PIECES, 0),
        count=sum(sheet.copies for sheet in build.sheets),
    )


@cache
def _template() -> Template:
    text = (files("layercut.views.pages") / "work_card.html").read_text(encoding="utf-8")
    environment = Environment(autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True)
    return environment.from_string(text)


def _row(place: int, sheet: Sheet, build: Made) -> _Row:
    panel, units = build.stack.panel, build.job.units
    return _Row(
        ticks=min(sheet.copies, MOST_TICKS),
        place=place,
        name=_short(sheet.name),
        file=sheet.file,
        copies=sheet.copies,
        size=units.size(panel.width_mm, panel.height_mm),
        time=in_words(sheet_seconds(sheet.times)),
        falls=_falls(sheet, build),
    )


def _falls(sheet: Sheet, build: Made) -> str:
    """What falls out of one sheet, in words: waste, crumbs, and the loose pieces by their numbers."""
    waste = list(falling_waste(sheet, build.job.material.kerf))
    crumbs = sum(area < CRUMB_MM2 for area in waste)
    large = len(waste) - crumbs
    words = []
    if large:
        words.append(f"{large} {'piece' if large == 1 else 'pieces'} of waste")
    if crumbs:
        words.append(f"{crumbs} {'crumb' if crumbs == 1 else 'crumbs'}")
    if sheet.strips:
        numbers = ", ".join(str(number) for number in sorted(strip.number for strip in sheet.strips))
        words.append(f"strip {numbers}" if len(sheet.strips) == 1 else f"strips {numbers}")
    first = 1
    for other in build.sheets:
        if other is sheet:
            break
        first += len(other.loose)
    if sheet.loose:
        last = first + len(sheet.loose) - 1
        words.append(f"loose no. {first}" if first == last else f"loose nos. {first} to {last}")
    return ", ".join(words) or "nothing"


def falling_waste(sheet: Sheet, kerf_mm: float) -> Iterator[float]:
    """The areas of the pieces of waste that fall out of a sheet, mm2: its holes less the wood that lies in them.

    What is no wider than the beam is dust and no piece.
    """
    pieces = polygons_of(sheet.wood)
    tree = STRtree(pieces)
    for piece in pieces:
        for ring in piece.interiors:
            hole = Polygon(ring)
            inside = [Polygon(pieces[k].exterior) for k in tree.query(hole, predicate="contains").tolist()]
            rest = float(hole.area - shapely.union_all(inside).area)
            beam = kerf_mm * (hole.length + sum(one.length for one in inside)) / 2
            if rest > DUST * beam if inside else rest > kerf_mm**2:
                yield rest


def _pieces(build: Made) -> Iterator[str]:
    """Every loose piece with its sheet, in the order of their numbers."""
    words = piece_words(build)
    for sheet in build.sheets:
        for piece in sheet.loose:
            yield f"{_short(words[piece.id])} ({_short(sheet.name)})"


def _boards(build: Made) -> str:
    """How many boards to bring, or how to have them counted."""
    material, units = build.work.material, build.job.units
    count = f"{material.panels} {'sheet' if material.panels == 1 else 'sheets'}"
    kerf, panel = build.job.material.kerf, build.stack.panel
    size = units.size(panel.width_mm + kerf, panel.height_mm + kerf)
    if material.stock is None:
        return f"wood for {count} of {size}, kerf included"
    board = units.size(material.stock.width_mm, material.stock.height_mm)
    if not material.stock.each:
        return f"not one sheet of {size} fits on a board of {board}"
    boards = material.stock.boards
    return f"{boards} {'board' if boards == 1 else 'boards'} of {board} for {count}"


def _picture(build: Made) -> str:
    """The flat stack, small: the sheets that the page's picture holds, one over the other."""
    panel = build.stack.panel
    sheets = "".join(
        f'<use href="#sheet-{place}" clip-path="url(#on-{place})"/>'
        for place in range(1, len(build.stack.layers) + 1)
    )
    return (
        f'<svg viewBox="0 0 {number(panel.width_mm)} {number(panel.height_mm)}" role="img" '
        f'aria-label="The finished stack">{sheets}</svg>'
    )


def _short(name: str, most: int = MOST_LETTERS) -> str:
    return name if len(name) <= most else f"{name[: most - 1]}…"
