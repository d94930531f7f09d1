"""The paint plan: sheet by sheet a map and its colours, each with its shades.

Enters: a finished build. Leaves: one section of HTML for the traveller. Holds: what `sections/__init__.py` says; a
colour that lies on several sheets is listed with each, its details once.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from shapely import Polygon

from layercut.colour.names import plain_name
from layercut.model import Made, Panel
from layercut.units import Units
from layercut.views.pages.map_notes import (
    CHECK_INCH_MM,
    CHECK_MM,
    INK,
    NARROW_MM,
    Legend,
    Shown,
    area_words,
    glue_notes,
    reach_notes,
    seen_notes,
)
from layercut.views.pages.pot_words import merged_words, mix_words
from layercut.views.pages.sections.filling import Picture, filled
from layercut.views.pages.way_notes import made_of, needed_numbers, part_words, stop_words
from layercut.views.paint_svg import Definitions
from layercut.views.svg_text import number, region_path
from layercut.workplan import Colour, OwnMatch, PaintedPart, PaintPlan, SheetPaint

MAP_STEPS = 800
"""A map on the page leaves out detail finer than this part of the panel."""

PAPER_MM = (184.0, 190.0)
"""The room for a map on a printed page, mm: A4's width within the margins, and what a heading and a caption leave of
letter's height."""

PAPERS_MM = ((210.0, 297.0), (215.9, 279.4))
"""A4 (ISO 216) and US letter (ANSI/ASME Y14.1), mm."""

LEAST_COLOURS, MOST_COLOURS = 40, 240
"""Colours listed with each sheet at least, and with all of them; the rest are in manifest.json."""


@dataclass(frozen=True, slots=True)
class _Row:
    """A colour as the table of a sheet shows it. `codes` are its shades; `details` is empty where another sheet has
    told them, and `told` is that sheet's number."""

    number: int
    swatches: str
    name: str
    codes: str
    finish: str
    seen: str
    painted: str
    details: tuple[str, ...]
    told: int


@dataclass(frozen=True, slots=True)
class _Sheet:
    """A sheet with its map and its colours."""

    place: int
    name: str
    map: Picture
    rows: tuple[_Row, ...]
    more: int


def paint_section(build: Made, page: str) -> str:
    """The section; gradients that `page` defines already aren't defined again."""
    plan, units = build.work.paint, build.job.units
    return filled(
        "paint",
        job=build.job,
        plan=plan,
        overlap=units.length(plan.overlap_mm),
        sheets=tuple(_sheets(build, plan, page)),
        frame=units.area(sum(sheet.frame_mm2 for sheet in plan.sheets)),
        edge=units.area(plan.edge_mm2),
        far=sum(1 for colour in plan.colours for match in colour.matches if _is_far(match, plan)),
        full_size=_full_size_words(build, plan),
        corner="mm" if units.name == "mm" else "inches",
    )


def _full_size_words(build: Made, plan: PaintPlan) -> str:
    """How the files in `paint/` are printed, and how one sees that they came out right."""
    units, panel = build.job.units, build.stack.panel
    check = (CHECK_INCH_MM if units.imperial else CHECK_MM)[panel.width_mm < NARROW_MM]
    high = panel.height_mm + max((Legend(plan, sheet, panel, units).height_mm for sheet in plan.sheets), default=0.0)
    words = (
        "The files in paint/ are the same maps at full size. Print them at 100 %, no scaling: the panel must then "
        f"measure {units.length(panel.width_mm)} across, and the line in the legend {units.length(check)}."
    )
    short, long = sorted((panel.width_mm, high))
    if any(short <= paper[0] and long <= paper[1] for paper in PAPERS_MM):
        return words
    size = units.size(panel.width_mm, high, 0)
    return (
        f"{words} With the legend they are up to {size}: larger than A4 and letter, so they take larger paper, or "
        "tiles."
    )


def _sheets(build: Made, plan: PaintPlan, page: str) -> Iterator[_Sheet]:
    told: dict[int, int] = {}
    most = max(LEAST_COLOURS, MOST_COLOURS // max(len(plan.sheets), 1))
    for place, (layer, sheet, drawn) in enumerate(
        zip(build.stack.layers, plan.sheets, _maps(build, plan, page), strict=True), start=1
    ):
        parts = {part.number: part for part in sheet.parts}
        numbers = sorted(needed_numbers(plan, parts))
        rows = []
        for paint in numbers[:most]:
            first = told.setdefault(paint, place)
            rows.append(_row(plan.colour(paint), parts.get(paint), build, first if first != place else 0))
        yield _Sheet(place, layer.name, drawn, tuple(rows), len(numbers) - len(rows))


def _row(colour: Colour, part: PaintedPart | None, build: Made, told: int) -> _Row:
    plan, units, shades = build.work.paint, build.job.units, colour.shades
    three = (shades.base, shades.middle, shades.light)
    plain = colour.finish == "stain" or len(set(three)) == 1
    coats = "1 coat" if colour.coats == 1 else f"{colour.coats} coats"
    ways = part_words(part, plan, build.stack.panel, units) if part else ()
    return _Row(
        number=colour.number,
        swatches=_swatches((shades.middle,) if plain else three),
        name=_name(colour, plan),
        codes=" ".join((shades.middle,) if plain else three),
        finish=f"{colour.finish}, {coats}",
        seen=area_words(part.visible.area, units) if part else "",
        painted=area_words(part.painted_mm2, units) if part else "",
        details=(*(() if told else _details(colour, build)), *ways),
        told=told,
    )


def _name(colour: Colour, plan: PaintPlan) -> str:
    """What one calls a paint: its colour, what a blend goes from and to, what lies over what."""
    if colour.blend:
        ends = dict.fromkeys(plain_name(stop.colour) for stop in (colour.blend[0], colour.blend[-1]))
        return f"blend, {' to '.join(ends)}"
    return made_of(colour, plan) if colour.laid else plain_name(colour.colour)


def _details(colour: Colour, build: Made) -> Iterator[str]:
    """What is told of a colour once: a blend's stops, what it lies on, the nearest own paints, on which sheets."""
    plan, units = build.work.paint, build.job.units
    stops = ", ".join(f"{stop_words(stop)} at {100 * stop.offset:.0f} %" for stop in colour.blend)
    words = "; ".join(filter(None, (stops and f"a blend of {stops}", made_of(colour, plan), merged_words(colour))))
    if words:
        yield words
    for name, match in zip(("base", "middle", "light"), colour.matches, strict=False):
        yield f"{name}: {_match_words(match, plan)}"
    for stop in colour.blend:
        if stop.match:
            yield f"at {100 * stop.offset:.0f} %: {_match_words(stop.match, plan)}"
    names = [
        layer.name
        for layer, sheet in zip(build.stack.layers, plan.sheets, strict=True)
        if any(part.number == colour.number for part in sheet.parts)
    ]
    if len(names) > 1:
        yield f"In all {units.area(colour.painted_mm2)} to paint, on {', '.join(names)}."
    elif not names:
        yield "Under or in others only."


def _match_words(match: OwnMatch, plan: PaintPlan) -> str:
    far = ", far" if _is_far(match, plan) else ""
    nearest = f"{match.name} {match.colour} (differs by {match.difference:.1f}{far})"
    return "; ".join(filter(None, (nearest, mix_words(match))))


def _is_far(match: OwnMatch, plan: PaintPlan) -> bool:
    return match.difference > plan.own_limit


def _swatches(colours: tuple[str, ...]) -> str:
    boxes = "".join(
        f'<rect x="{0.5 + 16 * k}" y=".5" width="16" height="18" fill="{colour}" stroke="{INK}"/>'
        for k, colour in enumerate(colours)
    )
    width = 16 * len(colours) + 1
    return f'<svg viewBox="0 0 {width} 19" width="{width}" height="19" aria-hidden="true">{boxes}</svg>'


def _maps(build: Made, plan: PaintPlan, page: str) -> list[Picture]:
    """Each sheet's map. The last one holds the gradients that the page hasn't already."""
    blends, panel = Definitions(), build.stack.panel
    last = len(plan.sheets) - 1
    drawn = [
        _map(sheet, plan, panel, blends, panel.face if place == last else panel.frame)
        for place, sheet in enumerate(plan.sheets)
    ]
    missing = "".join(blends.missing_from(page))
    maps = []
    for place, (layer, sheet, inside) in enumerate(zip(build.stack.layers, plan.sheets, drawn, strict=True), start=1):
        defined = f"<defs>{missing}</defs>" if missing and place == len(drawn) else ""
        svg = (
            f'<svg viewBox="0 0 {number(panel.width_mm)} {number(panel.height_mm)}" role="img" '
            f'aria-label="Paint map of sheet {place}; its numbers are those of the table">{defined}{inside}</svg>'
        )
        maps.append(Picture(svg, _map_words(place, layer.name, sheet, build.job.units)))
    return maps


def _map(sheet: SheetPaint, plan: PaintPlan, panel: Panel, blends: Definitions, frame: Polygon) -> str:
    """A map whose figures and hatching are as large on a printed page as those of the files at full size."""
    exact = max(panel.width_mm, panel.height_mm) / MAP_STEPS
    scale = max(panel.width_mm / PAPER_MM[0], panel.height_mm / PAPER_MM[1])
    parts = (
        reach_notes(plan, sheet, blends, exact),
        glue_notes(sheet, exact, scale),
        f'<path fill="none" stroke="{INK}" stroke-width=".2" d="{region_path(frame)}"/>',
        seen_notes(plan, sheet, panel, blends, Shown(exact, scale)),
    )
    return "".join(parts)


def _map_words(place: int, name: str, sheet: SheetPaint, units: Units) -> str:
    words = f"Sheet {place}, {name}: {len(sheet.parts)} {'colour' if len(sheet.parts) == 1 else 'colours'}."
    if not sheet.glue_mm2:
        return words
    contact, glue = units.area(sheet.contact_mm2), units.area(sheet.glue_mm2)
    return f"{words} The next sheet touches {contact}; leave the {glue} that are hatched bare for glue."
