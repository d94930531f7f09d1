"""The notes of a paint map: how far paint reaches, where glue goes, numbers, and the legend below.

Enters: a sheet's part of the paint plan. Leaves: SVG groups, marked as notes. Holds: nothing depends on colour alone;
numbers are strokes, so that they need no font.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from textwrap import wrap

import shapely

from layercut.colour.names import plain_name
from layercut.geometry.hatching import hatch_lines
from layercut.geometry.regions import polygons_of
from layercut.model import Panel
from layercut.units import Units
from layercut.views.pages.map_ground import ground_of
from layercut.views.pages.map_labels import Label, label_size, place_labels, smallest_hidden_mm2
from layercut.views.pages.way_notes import (
    Arrow,
    arrow_runs,
    arrows,
    figure_svg,
    made_of,
    needed_numbers,
    part_words,
)
from layercut.views.paint_svg import Definitions, laid_washes
from layercut.views.svg_text import number, plain, short_path, stroke_digits
from layercut.workplan import Colour, PaintedPart, PaintPlan, Place, Run, SheetPaint

INK = "#2c2318"
"""Outlines, numbers, hatching and words."""

OUTLINE_MM = 0.12
"""Width of the line around each part, mm."""

FIGURES_MM = (2.6, 2.0)
"""Height of a number on paper, mm: at most and at least. Below 2 mm one needs a glass (common practice)."""

NOTE_MM = 0.05
"""How exactly notes follow their regions, mm."""

HATCH_MM, HATCH_LINE_MM = 1.4, 0.22
"""Distance and width of the hatch lines of glue zones, mm on paper."""

CHECK_MM, CHECK_INCH_MM = (50.0, 20.0), (50.8, 25.4)
"""Length of the line in the legend that tells whether the map was printed at full size: of a wide map and of a
narrow one, for readers of mm and of inches."""

LEAST_MM2 = 10.0
"""A tenth of a cm², the last digit that is told of areas, mm2."""

NARROW_MM = 95.0
"""A map narrower than this is narrow."""

ROW_MM, TEXT_MM, COLUMN_MM = 6.4, 2.7, 92.0
"""The legend: height of a row, size of its letters, width of a column; mm."""

LINE_MM = 3.1
"""From one line of words to the next, two of which stand in a row, mm."""

MOST_ROWS = 120
"""Rows in the legend of one map; the rest is in manifest.json."""

LETTER_SHARE = 0.56
"""Mean width of a letter, as a part of its size: to cut words off where the column ends."""


def area_words(area_mm2: float, units: Units) -> str:
    """An area of paint; of hardly any, that it is less than the last digit that is told."""
    return units.area(area_mm2) if area_mm2 >= LEAST_MM2 / 2 else f"under {units.area(LEAST_MM2)}"


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


def glue_notes(sheet: SheetPaint, exact_mm: float = NOTE_MM, scale: float = 1.0) -> str:
    """The zones to leave bare, hatched: in lines, since a pattern is printed as a flat grey that looks like a paint.

    `scale` is how much further apart and wider the lines are than at full size.
    """
    if sheet.glue.is_empty:
        return ""
    lines = short_path(hatch_lines(sheet.glue, HATCH_MM * scale), exact_mm)
    zone = short_path([sheet.glue], exact_mm)
    return (
        f'<g data-part="notes" fill="none" stroke="{INK}">\n'
        f'<path stroke-width="{number(HATCH_LINE_MM * scale)}" d="{lines}"/>\n'
        f'<path stroke-width="{OUTLINE_MM}" d="{zone}"/>\n</g>'
    )


def number_notes(sheet: SheetPaint, panel: Panel) -> str:
    """An outline around every part that is seen, the ways of blends, and each colour's number, in it or beside it."""
    outlines = [f'<path fill="none" d="{short_path([part.visible], NOTE_MM)}"/>' for part in sheet.parts]
    look = f'stroke="{INK}" stroke-width="{OUTLINE_MM}"'
    return _group(look, [*outlines, *_numbers(sheet, panel)])


def _numbers(sheet: SheetPaint, panel: Panel, scale: float = 1.0) -> list[str]:
    """Arrows of blends, lines from numbers to the parts that they stand beside, and the numbers, on white."""
    drawn, labels = labelled(sheet, panel, scale)
    return [
        *(element for arrow in drawn for element in arrow.elements),
        *_leaders([label.line for label in labels if label.line], scale),
        *(figure_svg(one.number, one.at, label_size(one.number, one.height_mm), one.height_mm) for one in labels),
    ]


def labelled(sheet: SheetPaint, panel: Panel, scale: float = 1.0) -> tuple[list[Arrow], tuple[Label, ...]]:
    """The arrows and the numbers of a map whose figures are `scale` times as high as at full size."""
    most, least = (scale * height for height in FIGURES_MM)
    parts = [polygon for part in sheet.parts for polygon in polygons_of(part.visible)]
    ways = [shapely.LineString([way.from_mm, way.to_mm]) for way in arrow_runs(sheet)]
    size = (panel.width_mm, panel.height_mm)
    ground = ground_of(parts, size, smallest_hidden_mm2(sheet, least), ways)
    drawn = arrows(sheet, panel, INK, ground, scale)
    figures = [box for arrow in drawn for box in arrow.figures]
    return drawn, place_labels(sheet, ground, (most, least), figures)


def _leaders(lines: Sequence[tuple[Place, Place]], scale: float) -> Iterator[str]:
    """Lines from numbers to their parts, white beneath the ink, with a dot where each ends."""
    if not lines:
        return
    path = "".join(f"M{number(x)} {number(y)}L{number(u)} {number(v)}" for (x, y), (u, v) in lines)
    dots = "".join(f"M{number(u)} {number(v)}h0" for _, (u, v) in lines)
    for colour, width, dot in (("#ffffff", 0.5, 1.0), (INK, 0.15, 0.65)):
        look = f'fill="none" stroke="{colour}" stroke-linecap="round"'
        yield f'<path {look} stroke-width="{number(width * scale)}" d="{path}"/>'
        yield f'<path {look} stroke-width="{number(dot * scale)}" d="{dots}"/>'


@dataclass(frozen=True, slots=True)
class _Entry:
    """A row of the legend: a colour with its words, or more words about the colour above."""

    words: tuple[str, ...]
    colour: Colour | None = None


class Legend:
    """The legend below a map: every colour of the sheet, where its blends run, and what the hatching and the dashed
    edges mean."""

    def __init__(self, plan: PaintPlan, sheet: SheetPaint, panel: Panel, units: Units) -> None:
        self._units = units
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
        for place, (mark, words, left) in enumerate(self._notes):
            y = top_mm + (self._rows + place + 0.8) * ROW_MM
            rows.append(f"{mark.format(x='2', y=number(y))}{self._text(left, y, words, self._width - left - 1)}")
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
            words = self._words(colour, area_words(part.painted_mm2, self._units))
            yield _Entry(self._wrapped(words, 24), colour)
            for words in part_words(part, self._plan, self._panel, self._units):
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
        label = f"{digits}{stroke_digits(entry.colour.number, FIGURES_MM[0])}</g>"
        return f"{label}{boxes}{self._lines(x + 23, y - 1.4 * (len(entry.words) > 1), entry.words)}"

    def _lines(self, x: float, y: float, lines: tuple[str, ...]) -> str:
        return "".join(self._text(x, y + LINE_MM * k, words, self._width - x) for k, words in enumerate(lines))

    def _words(self, colour: Colour, area: str) -> str:
        coats = "1 coat" if colour.coats == 1 else f"{colour.coats} coats"
        made = made_of(colour, self._plan)
        name = f"{plain_name(colour.colour)} {colour.colour}"
        drawn = "blend" if colour.blend else made if colour.laid else name
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

    def _remarks(self) -> list[tuple[str, str, float]]:
        """What the looks of the map mean: a small picture with places for x and y, words, and where these begin."""
        sheet, units, box = self._sheet, self._units, 'x="{x}" y="{y}" width="7" height="4.2"'
        edge = f'stroke="{INK}" stroke-width="{OUTLINE_MM}"'
        remarks = [self._check_line()]
        if not sheet.glue.is_empty:
            lines = shapely.multilinestrings(list(hatch_lines(shapely.box(0, 0, 7, 4.2), HATCH_MM)))
            hatch = f'<path stroke="{INK}" stroke-width="{HATCH_LINE_MM}" d="{short_path([lines], NOTE_MM)}"/>'
            words = "Leave bare: the sheet in front is glued on here."
            mark = f'<g transform="translate({{x}} {{y}})">{hatch}</g><rect {box} fill="none" {edge}/>'
            remarks.append((mark, words, 11))
        if any(not part.reach.is_empty for part in sheet.parts):
            words = f"Paint on, {units.length(self._plan.overlap_mm)}, under the sheet in front."
            remarks.append((f'<rect {box} fill="none" {edge} stroke-dasharray=".6 .5"/>', words, 11))
        if sheet.frame_mm2:
            words = f"Stain last, after gluing: the frame ({units.area(sheet.frame_mm2)}) and the outer edges."
            remarks.append((f'<rect {box} fill="none" stroke="#8a6238" stroke-width=".2"/>', words, 11))
        if self._shown:
            remarks.append(("", "Three swatches a colour: base, middle (as drawn), light.", 11))
        if any(part.runs for part in sheet.parts):
            remarks.append(("", "Arrows show where blends run, with ticks at 0, 50 and 100 %.", 11))
        if any(self._plan.colour(part.number).over is not None for part in sheet.parts):
            remarks.append(("", "A glaze's edge is not engraved: trace it from this map.", 11))
        if more := sum(entry.colour is not None for entry in self._left):
            remarks.append(("", f"{more} more colours are listed in manifest.json.", 11))
        return remarks

    def _check_line(self) -> tuple[str, str, float]:
        """A line of a known length, to be measured on the print."""
        wide, narrow = CHECK_INCH_MM if self._units.imperial else CHECK_MM
        length = narrow if self._width < NARROW_MM else wide
        bar = f"M{{x}} {{y}}m0 .6v3m0 -1.5h{number(length)}m0 -1.5v3"
        words = f"{self._units.length(length)}: print at 100 %."
        return f'<path fill="none" stroke="{INK}" stroke-width=".2" d="{bar}"/>', words, length + 4


@dataclass(frozen=True, slots=True)
class Shown:
    """How a map is shown that isn't at full size: how exact its outlines are, mm, and how many times larger its
    figures and pens are, so that they come out on the page as on paper."""

    exact_mm: float
    scale: float


def seen_notes(plan: PaintPlan, sheet: SheetPaint, panel: Panel, blends: Definitions, shown: Shown) -> str:
    """Every part that is seen, as it is painted, outlined and numbered: for a map that nobody reads back."""
    exact_mm = shown.exact_mm
    paths: list[str] = []
    for part in sheet.parts:
        outline = short_path([part.visible], exact_mm)
        if part.runs:
            paths += [_run(run, blends, short_path([run.region], exact_mm)) for run in part.runs]
            paths.append(f'<path fill="none" d="{outline}"/>')
        else:
            paths.append(f'<path fill="{plan.colour(part.number).colour}" d="{outline}"/>')
    look = f'stroke="{INK}" stroke-width="{OUTLINE_MM}" fill-rule="evenodd"'
    return _group(look, [*paths, *_numbers(sheet, panel, shown.scale)])


def _run(run: Run, blends: Definitions, path: str) -> str:
    return laid_washes(run.washes, lambda look: f'<path {look} stroke="none" d="{path}"/>', blends)


def _group(look: str, parts: list[str]) -> str:
    return f'<g data-part="notes" {look}>\n' + "\n".join(parts) + "\n</g>"
