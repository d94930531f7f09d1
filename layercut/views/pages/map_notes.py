"""The notes of a paint map: how far paint reaches, where glue goes, numbers, and the legend below.

Enters: a sheet's part of the paint plan. Leaves: SVG groups, marked as notes. Holds: nothing depends on colour alone;
numbers are strokes, so that they need no font.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from textwrap import wrap

import numpy as np
import shapely
from numpy.typing import NDArray

from layercut.geometry.regions import polygons_of
from layercut.geometry.thinning import thinned
from layercut.model import Panel
from layercut.views.pages.way_notes import arrows, made_of, needed_numbers, part_words
from layercut.views.paint_svg import Definitions, laid_washes
from layercut.views.svg_text import number, plain, short_path, stroke_digits
from layercut.workplan import Colour, PaintedPart, PaintPlan, Run, SheetPaint

INK = "#2c2318"
"""Outlines, numbers, hatching and words."""

OUTLINE_MM = 0.12
"""Width of the line around each part, mm."""

DIGIT_MM = (2.6, 1.3)
"""Height of a number, mm: at most and at least; it shrinks with the part that it stands in."""

MOST_NUMBERS = 400
"""Numbers on one map, at most, for the largest parts; and one for every colour in any case."""

ROOM_MM = 0.2
"""How exactly a number's room is found, mm: it is white around it, and larger."""

NOTE_MM = 0.05
"""How exactly notes follow their regions, mm."""

HATCH_MM = 1.4
"""Distance of the hatch lines of glue zones, mm."""

ROW_MM, TEXT_MM, COLUMN_MM = 6.4, 2.7, 92.0
"""The legend: height of a row, size of its letters, width of a column; mm."""

LINE_MM = 3.1
"""From one line of words to the next, two of which stand in a row, mm."""

MOST_ROWS = 120
"""Rows in the legend of one map; the rest is in manifest.json."""

LETTER_SHARE = 0.56
"""Mean width of a letter, as a part of its size: to cut words off where the column ends."""


def reach_notes(plan: PaintPlan, sheet: SheetPaint, blends: Definitions, exact_mm: float = NOTE_MM) -> str:
    """Paint that goes on under the sheet in front: pale, with a dashed edge. Nothing seen lies there."""
    reached = [part for part in sheet.parts if not part.reach.is_empty]
    if not reached:
        return ""
    paths = [_reach(plan, part, blends, short_path([part.reach], exact_mm)) for part in reached]
    look = f'stroke="{INK}" stroke-width="{OUTLINE_MM}" stroke-dasharray=".6 .5" fill-rule="evenodd"'
    return _group(look, paths)


def _reach(plan: PaintPlan, part: PaintedPart, blends: Definitions, path: str) -> str:
    """What goes on under the sheet in front, pale: a blend runs on, unless it lies elsewhere in each region."""
    if len(part.runs) == 1:
        blend = laid_washes(part.runs[0].washes, lambda look: f'<path {look} stroke="none" d="{path}"/>', blends)
        return f'<g opacity=".4">{blend}</g><path fill="none" d="{path}"/>'
    return f'<path fill="{plan.colour(part.number).colour}" fill-opacity=".4" d="{path}"/>'


def glue_notes(sheet: SheetPaint, name: str = "glue", exact_mm: float = NOTE_MM) -> str:
    """The zones to leave bare, hatched; `name` is the hatching's own in its document."""
    if sheet.glue.is_empty:
        return ""
    hatch = (
        f'<pattern id="{name}" patternUnits="userSpaceOnUse" width="{HATCH_MM}" height="{HATCH_MM}" '
        f'patternTransform="rotate(45)"><path d="M0 {HATCH_MM / 2}H{HATCH_MM}" stroke="{INK}" stroke-width=".3"/>'
        "</pattern>"
    )
    zone = f'<path fill="url(#{name})" fill-rule="evenodd" d="{short_path([sheet.glue], exact_mm)}"/>'
    return _group(f'stroke="{INK}" stroke-width="{OUTLINE_MM}"', [hatch, zone])


def number_notes(sheet: SheetPaint, panel: Panel) -> str:
    """An outline around every part that is seen, the ways of blends, and each colour's number in it, on white."""
    outlines = [f'<path fill="none" d="{short_path([part.visible], NOTE_MM)}"/>' for part in sheet.parts]
    look = f'stroke="{INK}" stroke-width="{OUTLINE_MM}"'
    return _group(look, [*outlines, *arrows(sheet, panel, INK), *_numbers(sheet)])


@dataclass(frozen=True, slots=True)
class _Spot:
    """Where a number stands: its middle, and how much room there is around it, mm."""

    number: int
    x: float
    y: float
    room_mm: float


@lru_cache(maxsize=64)
def _spots(sheet: SheetPaint) -> tuple[_Spot, ...]:
    """The places of the numbers: in the widest place of each of the largest parts, and of the largest of every
    colour. Kept, since the page and the map of a sheet both need them."""
    parts = [(part.number, polygon) for part in sheet.parts for polygon in polygons_of(part.visible)]
    if not parts:
        return ()
    owners = [owner for owner, _ in parts]
    polygons = np.array([polygon for _, polygon in parts], dtype=object)
    areas = shapely.area(polygons)
    order = np.argsort(-areas, kind="stable").tolist()
    first: dict[int, int] = {}
    for k in order:
        first.setdefault(owners[k], k)
    # A number needs more than its least height of room; smaller parts have theirs only if no other part does.
    chosen = sorted({*(k for k in order[:MOST_NUMBERS] if areas[k] >= DIGIT_MM[1] ** 2), *first.values()})
    radii = _largest_circles(polygons[chosen])
    middles = shapely.get_coordinates(shapely.get_point(radii, 0))
    rooms = shapely.length(radii)
    return tuple(
        _Spot(owners[k], x, y, room)
        for k, (x, y), room in zip(chosen, middles.tolist(), rooms.tolist(), strict=True)
        if room >= DIGIT_MM[1] * 0.6 or first[owners[k]] == k
    )


def _largest_circles(polygons: NDArray[np.object_]) -> NDArray[np.object_]:
    """The radius of the largest circle in each polygon, as a line from its middle."""
    simple = thinned(polygons, ROOM_MM)
    # Simplifying may leave nothing of a small one, or let it cross itself.
    kept = shapely.is_valid(simple) & (shapely.get_type_id(simple) == shapely.GeometryType.POLYGON)
    kept &= ~shapely.is_empty(simple)
    shapes = np.where(kept, simple, polygons)
    return np.asarray(shapely.maximum_inscribed_circle(shapes, tolerance=ROOM_MM), dtype=object)


def _numbers(sheet: SheetPaint) -> list[str]:
    return [_numbered(spot) for spot in _spots(sheet)]


def _numbered(spot: _Spot) -> str:
    digits = len(str(spot.number))
    height = min(max(spot.room_mm, DIGIT_MM[1]), DIGIT_MM[0])
    wide, high = height * (0.93 * digits + 0.45), height * 1.55
    return (
        f'<g transform="translate({number(spot.x)} {number(spot.y)})"><rect fill="#ffffff" stroke="none" '
        f'fill-opacity=".85" x="{number(-wide / 2)}" y="{number(-high / 2)}" width="{number(wide)}" '
        f'height="{number(high)}" rx="{number(high / 3)}"/>{stroke_digits(spot.number, height)}</g>'
    )


@dataclass(frozen=True, slots=True)
class _Entry:
    """A row of the legend: a colour with its words, or more words about the colour above."""

    words: tuple[str, ...]
    colour: Colour | None = None


class Legend:
    """The legend below a map: every colour of the sheet, where its blends run, and what the hatching and the dashed
    edges mean."""

    def __init__(self, plan: PaintPlan, sheet: SheetPaint, panel: Panel) -> None:
        self._plan, self._sheet, self._panel, self._width = plan, sheet, panel, panel.width_mm
        self._columns = max(1, int(self._width // COLUMN_MM))
        self._column_mm = self._width / self._columns
        entries = [*self._entries()]
        self._shown, self._left = entries[:MOST_ROWS], entries[MOST_ROWS:]
        self._notes = self._remarks()
        self._rows = math.ceil(len(self._shown) / self._columns)

    @property
    def height_mm(self) -> float:
        """How high it is, mm."""
        return round((self._rows + len(self._notes) + 1) * ROW_MM, 3)

    def notes(self, top_mm: float) -> str:
        """The legend as a group of notes, from `top_mm` down."""
        rows = []
        for place, entry in enumerate(self._shown):
            column, row = divmod(place, self._rows)
            rows.append(self._row(column * self._column_mm, top_mm + (row + 0.8) * ROW_MM, entry))
        for place, (mark, words) in enumerate(self._notes):
            y = top_mm + (self._rows + place + 0.8) * ROW_MM
            rows.append(f"{mark.format(x='2', y=number(y))}{self._text(11, y, words, self._width - 12)}")
        look = f'font-family="sans-serif" font-size="{TEXT_MM}" fill="{INK}" stroke="none"'
        return _group(look, rows)

    def _entries(self) -> Iterator[_Entry]:
        """The sheet's colours in the order of their numbers, and the blends that only lie over or under others."""
        parts = {part.number: part for part in self._sheet.parts}
        for paint in sorted(needed_numbers(self._plan, parts)):
            colour, part = self._plan.colour(paint), parts.get(paint)
            if part is None:
                yield _Entry(self._wrapped(self._words(colour, "in others only"), 24), colour)
                continue
            area = f"{part.painted_mm2 / 100:.1f} cm²" if part.painted_mm2 >= 5 else "under 0.1 cm²"
            yield _Entry(self._wrapped(self._words(colour, area), 24), colour)
            for words in part_words(part, self._plan, self._panel):
                yield _Entry(self._wrapped(words, 10))

    def _wrapped(self, words: str, left_mm: float) -> tuple[str, ...]:
        """Words in two lines at most, beside what takes the left of the column."""
        return tuple(wrap(words, self._letters(self._column_mm - left_mm), max_lines=2, placeholder="…"))

    def _row(self, x: float, y: float, entry: _Entry) -> str:
        if entry.colour is None:
            return self._lines(x + 9, y - 1.4, entry.words)
        shades = entry.colour.shades
        swatches = [shades.base, shades.middle, shades.light]
        boxes = "".join(
            f'<rect x="{number(x + 9 + 4 * k)}" y="{number(y - 0.1)}" width="4" height="4.2" fill="{shade}" '
            f'stroke="{INK}" stroke-width="{OUTLINE_MM}"/>'
            for k, shade in enumerate(swatches)
        )
        digits = f'<g stroke="{INK}" transform="translate({number(x + 5)} {number(y + 2)})">'
        label = f"{digits}{stroke_digits(entry.colour.number, DIGIT_MM[0])}</g>"
        return f"{label}{boxes}{self._lines(x + 23, y - 1.4 * (len(entry.words) > 1), entry.words)}"

    def _lines(self, x: float, y: float, lines: tuple[str, ...]) -> str:
        return "".join(self._text(x, y + LINE_MM * k, words, self._width - x) for k, words in enumerate(lines))

    def _words(self, colour: Colour, area: str) -> str:
        coats = "1 coat" if colour.coats == 1 else f"{colour.coats} coats"
        made = made_of(colour, self._plan)
        drawn = "blend" if colour.blend else made if colour.laid else colour.colour
        drawn = f"{drawn}, {made}" if made and not colour.laid else drawn
        match = f" = {colour.matches[1].name}" if colour.matches else ""
        if colour.matches and colour.matches[1].difference > self._plan.own_limit:
            match = f" (nearest, far: {colour.matches[1].name})"
        return f"{drawn}{match}, {colour.finish}, {coats}, {area}"

    def _letters(self, room_mm: float) -> int:
        return max(int(room_mm / (TEXT_MM * LETTER_SHARE)), 1)

    def _text(self, x: float, y: float, words: str, room_mm: float) -> str:
        letters = self._letters(room_mm)
        cut = words if len(words) <= letters else f"{words[: letters - 1]}…"
        return f'<text x="{number(x)}" y="{number(y + 3)}">{plain(cut)}</text>'

    def _remarks(self) -> list[tuple[str, str]]:
        """What the looks of the map mean: a small picture with places for x and y, and words."""
        sheet, box = self._sheet, 'x="{x}" y="{y}" width="7" height="4.2"'
        edge = f'stroke="{INK}" stroke-width="{OUTLINE_MM}"'
        remarks = []
        if not sheet.glue.is_empty:
            words = "Leave bare: the sheet in front is glued on here."
            remarks.append((f'<rect {box} fill="url(#glue)" {edge}/>', words))
        if any(not part.reach.is_empty for part in sheet.parts):
            words = f"Paint on, {self._plan.overlap_mm:g} mm, under the sheet in front."
            remarks.append((f'<rect {box} fill="none" {edge} stroke-dasharray=".6 .5"/>', words))
        if sheet.frame_mm2:
            words = f"Stain last, after gluing: the frame ({sheet.frame_mm2 / 100:.1f} cm²) and the outer edges."
            remarks.append((f'<rect {box} fill="none" stroke="#8a6238" stroke-width=".2"/>', words))
        if self._shown:
            remarks.append(("", "Three swatches a colour: base, middle (as drawn), light."))
        if any(part.runs for part in sheet.parts):
            remarks.append(("", "Arrows show where blends run, with ticks at 0, 50 and 100 %."))
        if any(self._plan.colour(part.number).over is not None for part in sheet.parts):
            remarks.append(("", "A glaze's edge is not engraved: trace it from this map."))
        if more := sum(entry.colour is not None for entry in self._left):
            remarks.append(("", f"{more} more colours are listed in manifest.json."))
        return remarks


def seen_notes(plan: PaintPlan, sheet: SheetPaint, panel: Panel, blends: Definitions, exact_mm: float) -> str:
    """Every part that is seen, as it is painted, outlined and numbered: for a map that nobody reads back."""
    paths: list[str] = []
    for part in sheet.parts:
        outline = short_path([part.visible], exact_mm)
        if part.runs:
            paths += [_run(run, blends, short_path([run.region], exact_mm)) for run in part.runs]
            paths.append(f'<path fill="none" d="{outline}"/>')
        else:
            paths.append(f'<path fill="{plan.colour(part.number).colour}" d="{outline}"/>')
    look = f'stroke="{INK}" stroke-width="{OUTLINE_MM}" fill-rule="evenodd"'
    return _group(look, [*paths, *arrows(sheet, panel, INK), *_numbers(sheet)])


def _run(run: Run, blends: Definitions, path: str) -> str:
    return laid_washes(run.washes, lambda look: f'<path {look} stroke="none" d="{path}"/>', blends)


def _group(look: str, parts: list[str]) -> str:
    return f'<g data-part="notes" {look}>\n' + "\n".join(parts) + "\n</g>"
