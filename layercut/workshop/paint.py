"""The paint plan: which colour goes where, how far it reaches under the sheet in front, and what stays bare for glue.

Enters: the drawing, the stack and the job. Leaves: a `PaintPlan`. Holds: the visible parts of a sheet don't overlap
and are what its map shows; paint beyond them lies where a sheet in front covers it; glue zones lie where two sheets
touch.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import MultiPolygon

from layercut.findings import Finding
from layercut.geometry.precision import AREA_MM2
from layercut.geometry.regions import EMPTY, Region, as_region, point_on, polygons_of, union
from layercut.job import Job
from layercut.model import Drawing, Layer, Paint, Stack, StackLayer
from layercut.workplan import BlendStop, Colour, Finish, PaintedPart, PaintPlan, RackMatch, Shades, SheetPaint
from layercut.workshop.glue import contact_of, glue_zone
from layercut.workshop.rack import Matcher, Rack
from layercut.workshop.reach import reach_under, share_out
from layercut.workshop.shades import mean_colour, shades_of
from layercut.workshop.stain import is_stained, stained_part

MOST_MATCHED = 200
"""So many colours, those with the most area, are matched with the rack: each takes some milliseconds."""


@dataclass(frozen=True, slots=True)
class _Key:
    """What makes two regions one paint."""

    paint: Paint
    finish: Finish


@dataclass(frozen=True, slots=True)
class _SheetParts:
    """One sheet's paints: what is seen of each, and where it goes on under the sheet in front."""

    visible: dict[_Key, Region]
    reach: dict[_Key, Region]

    def painted_mm2(self, key: _Key) -> float:
        """What is painted of one, mm2; 0 where it isn't on the sheet."""
        return float(self.visible[key].area + self.reach[key].area) if key in self.visible else 0.0


def plan_paint(drawing: Drawing, stack: Stack, copies: int, job: Job, rack: Rack | None) -> PaintPlan:
    """The whole plan; `copies` counts the sheets with their copies, whose rims are stained together."""
    overlap = job.paint.overlap
    sheets = [
        _paint_sheet(layer, planned, stack, place, job)
        for place, (layer, planned) in enumerate(zip(drawing.layers, stack.layers, strict=True))
    ]
    numbers: dict[_Key, int] = {}
    for sheet in sheets:
        for key in sheet.visible:
            numbers.setdefault(key, len(numbers) + 1)
    matches = _matches(sheets, rack)
    return PaintPlan(
        overlap_mm=overlap,
        colours=tuple(_colour(key, number, sheets, matches, job) for key, number in numbers.items()),
        sheets=tuple(_sheet_paint(sheet, place, stack, numbers, overlap) for place, sheet in enumerate(sheets)),
        edge_mm2=float(stack.panel.outline.length) * job.material.thickness * copies,
        rack=rack.file if rack else "",
        rack_limit=job.paint.rack_limit if rack else 0.0,
    )


def rack_findings(plan: PaintPlan, stack: Stack) -> list[Finding]:
    """A warning for every colour, or stop of a blend, to which no paint of the rack comes near."""
    findings = []
    for colour in plan.colours:
        wanted = [(stop.colour, stop.match) for stop in colour.blend]
        wanted = wanted or [(colour.colour, _of_middle(colour))]
        far = [(drawn, match) for drawn, match in wanted if match and match.difference > plan.rack_limit]
        if not far:
            continue
        drawn, match = max(far, key=lambda one: one[1].difference)
        layer, part = next(
            (layer, part)
            for layer, sheet in zip(stack.layers, plan.sheets, strict=True)
            for part in sheet.parts
            if part.number == colour.number
        )
        message = (
            f"no paint of {plan.rack} comes near the colour {drawn}: the nearest, {match.name} ({match.colour}), "
            f"differs by {match.difference:.1f} (CIEDE2000), and {plan.rack_limit:g} is far. Mix it, or add a paint."
        )
        findings.append(Finding("paint-far", "warning", message, layer.name, at_mm=point_on(part.visible)))
    return findings


def _of_middle(colour: Colour) -> RackMatch | None:
    return colour.matches[1] if colour.matches else None


def _paint_sheet(layer: Layer, planned: StackLayer, stack: Stack, place: int, job: Job) -> _SheetParts:
    by_paint: dict[Paint, list[Region]] = {}
    for part in planned.painted:
        by_paint.setdefault(part.paint, []).append(part.region)
    drawn = {paint: union(parts) if len(parts) > 1 else parts[0] for paint, parts in by_paint.items()}
    stain_all = is_stained(layer, job)
    stained = EMPTY if stain_all else stained_part(layer, job)
    visible: dict[_Key, Region] = {}
    faces: dict[_Key, Region] = {}
    for paint, region in drawn.items():
        for finish, face in _split(region, stained, stain_all):
            seen = _seen_of(face, planned.visible)
            if seen.area >= AREA_MM2:
                visible[_Key(paint, finish)] = seen
                faces[_Key(paint, finish)] = face
    # Nothing lies in front of the last sheet, so its paint ends where it is seen to end.
    if place + 1 == len(stack.layers) or not visible:
        return _SheetParts(visible, dict.fromkeys(visible, EMPTY))
    strip = reach_under(planned.visible, planned.wood, job.paint.overlap)
    seen, drawn_whole = list(visible.values()), list(faces.values())
    shares = share_out(strip, seen, drawn_whole, planned.face, job.paint.overlap)
    return _SheetParts(visible, dict(zip(visible, shares, strict=True)))


def _seen_of(face: Region, visible: Region) -> Region:
    """What is seen of a paint's face; only the parts at the edge of what is seen have to be cut."""
    parts = np.array(polygons_of(face), dtype=object)
    shapely.prepare(visible)
    whole = shapely.contains_properly(visible, parts)
    cut = shapely.intersection(MultiPolygon(list(parts[~whole])), visible)
    return as_region(MultiPolygon([*parts[whole], *polygons_of(cut)]))


def _split(region: Region, stained: Region, stain_all: bool) -> Iterable[tuple[Finish, Region]]:
    """A paint's face, parted into what is painted and what is stained."""
    if stain_all:
        yield "stain", region
        return
    if stained.is_empty:
        yield "paint", region
        return
    yield "paint", as_region(shapely.difference(region, stained))
    yield "stain", as_region(shapely.intersection(region, stained))


def _colour(key: _Key, number: int, sheets: Sequence[_SheetParts], matches: dict[str, RackMatch], job: Job) -> Colour:
    drawn, blend = key.paint.colour, key.paint.blend
    middle = mean_colour(blend) if blend else drawn
    shades = shades_of(middle) if key.finish == "paint" else Shades(middle, middle, middle)
    three = [matches[shade] for shade in (shades.base, middle, shades.light) if shade in matches]
    return Colour(
        number=number,
        colour=drawn,
        finish=key.finish,
        shades=shades,
        coats=job.paint.coats if key.finish == "paint" else 1,
        visible_mm2=sum(float(sheet.visible[key].area) for sheet in sheets if key in sheet.visible),
        painted_mm2=sum(sheet.painted_mm2(key) for sheet in sheets),
        blend=tuple(BlendStop(offset, colour, matches.get(colour)) for offset, colour in blend),
        matches=tuple(three) if len(three) == 3 else (),
    )


def _matches(sheets: Sequence[_SheetParts], rack: Rack | None) -> dict[str, RackMatch]:
    """The nearest paint of the rack to every shade and stop of the colours with the most area; none without a
    rack."""
    if rack is None:
        return {}
    areas: dict[_Key, float] = {}
    for sheet in sheets:
        for key, seen in sheet.visible.items():
            areas[key] = areas.get(key, 0.0) + float(seen.area)
    matcher = Matcher(rack)
    wanted: list[str] = []
    for key in sorted(areas, key=lambda key: -areas[key])[:MOST_MATCHED]:
        middle = mean_colour(key.paint.blend) if key.paint.blend else key.paint.colour
        shades = shades_of(middle)
        more = (shades.base, shades.light) if key.finish == "paint" else ()
        wanted += [middle, *more, *(colour for _, colour in key.paint.blend)]
    return {colour: matcher.nearest(colour) for colour in dict.fromkeys(wanted)}


def _sheet_paint(
    sheet: _SheetParts, place: int, stack: Stack, numbers: dict[_Key, int], overlap: float
) -> SheetPaint:
    parts = [PaintedPart(numbers[key], seen, sheet.reach[key]) for key, seen in sheet.visible.items()]
    parts.sort(key=lambda part: part.number)
    if place + 1 == len(stack.layers):
        return SheetPaint(tuple(parts), EMPTY, 0.0, 0.0, float(stack.panel.frame.area))
    front = stack.layers[place + 1]
    contact = contact_of(stack.layers[place].wood, front.wood)
    glue = glue_zone(contact, [piece.region for piece in front.loose], overlap)
    return SheetPaint(tuple(parts), glue, float(glue.area), float(contact.area))
