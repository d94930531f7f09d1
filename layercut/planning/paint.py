"""The paint plan: which colour goes where, how far it reaches under the sheet in front, and what stays bare for glue.

Enters: the drawing, the stack and the job. Leaves: a `PaintPlan`. Holds: the visible parts of a sheet don't overlap
and are what its map shows; paint beyond them lies where a sheet in front covers it; glue zones lie where two sheets
touch.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely import MultiPolygon

from layercut.findings import Finding
from layercut.geometry.precision import AREA_MM2
from layercut.geometry.regions import EMPTY, Region, as_region, point_on, polygons_of, prepared, union
from layercut.job_tables import PaintJob
from layercut.model import Drawing, Layer, Paint, Stack, StackLayer
from layercut.planning.glue import contact_of, glue_zone
from layercut.planning.looks import PaintLook, coats_of, look_of
from layercut.planning.own_paints import OwnPaints
from layercut.planning.paint_overlap import reach_under, share_out
from layercut.planning.palette import Area, Given, Key, Numbers, coat_key, mix_colours, number_paints
from layercut.planning.stain import is_stained, stained_part
from layercut.planning.unpainted import unpainted
from layercut.planning.ways import way_of
from layercut.workplan import BlendDirection, Colour, Finish, OwnMatch, PaintedPart, PaintPlan, Run, SheetPaint

MOST_FOLLOWED = 60
"""So many regions of blends on a sheet, the largest, are told where each of their gradients runs."""


@dataclass(frozen=True, slots=True)
class _SheetParts:
    """One sheet's paints: what is seen of each, where it goes on under the sheet in front, and the runs of blends."""

    visible: dict[Key, Region]
    reach: dict[Key, Region]
    runs: dict[Key, list[tuple[Paint, Region]]]

    def painted_mm2(self, key: Key) -> float:
        """What is painted of one, mm2."""
        return float(self.visible[key].area + self.reach[key].area)


def plan_paint(drawing: Drawing, stack: Stack, edge_mm2: float, paint: PaintJob, own: OwnPaints | None) -> PaintPlan:
    """The whole plan; `edge_mm2` is the rim of the glued-up stack, all of whose sheets are stained together."""
    overlap = paint.overlap
    sheets = [
        _paint_sheet(layer, planned, stack, place, paint)
        for place, (layer, planned) in enumerate(zip(drawing.layers, stack.layers, strict=True))
    ]
    areas = _areas(sheets)
    numbers = number_paints(areas)
    return PaintPlan(
        overlap_mm=overlap,
        colours=mix_colours(areas, numbers, Given(paint, own, stack.merged)),
        sheets=tuple(_sheet_paint(sheet, place, stack, numbers, overlap) for place, sheet in enumerate(sheets)),
        edge_mm2=edge_mm2,
        own=own.file if own else "",
        own_limit=paint.own_limit if own else 0.0,
        merge=paint.merge,
        most=paint.colours,
    )


def _areas(sheets: Sequence[_SheetParts]) -> dict[Key, Area]:
    """How much of each paint there is on all sheets, in the order in which they are met from the back."""
    areas: dict[Key, Area] = {}
    unders: dict[Key, dict[PaintLook | None, float]] = {}
    for sheet in sheets:
        for key, seen in sheet.visible.items():
            before = areas.get(key, Area())
            areas[key] = Area(before.visible_mm2 + float(seen.area), before.painted_mm2 + sheet.painted_mm2(key))
            for paint, region in sheet.runs[key]:
                under = look_of(paint.under) if paint.under else None
                some = unders.setdefault(key, {})
                some[under] = some.get(under, 0.0) + float(region.area)
    return {key: replace(area, under=_under(unders[key])) for key, area in areas.items()}


def _under(areas: dict[PaintLook | None, float]) -> PaintLook | None:
    """What a paint lies on, if all of it is a glaze: the look under most of it."""
    return None if None in areas else max(areas, key=lambda look: areas[look])


def own_findings(plan: PaintPlan, stack: Stack) -> list[Finding]:
    """One warning for all colours to which none of the own paints comes near; it names the furthest off.

    The paint table marks each of them. Of a blend, the stop that is furthest off counts.
    """
    far = [(colour, *worst) for colour in plan.colours if (worst := _worst(colour, plan.own_limit))]
    if not far:
        return []
    colour, drawn, match = max(far, key=lambda one: one[2].difference)
    layer, part = _first_part(colour.number, plan, stack)
    message = (
        f"no paint of {plan.own} comes near {_counted(len(far), len(plan.colours))}: {drawn} is furthest off, and "
        f"the nearest to it, {match.name} ({match.colour}), differs by {match.difference:.1f} (CIEDE2000), where "
        f"{plan.own_limit:g} is far. Mix it, or add a paint; the paint table marks every colour that is far."
    )
    return [Finding("paint-far", "warning", message, layer.name, at_mm=point_on(part.visible))]


def _counted(far: int, all_of_them: int) -> str:
    if far == all_of_them:
        return "the only colour" if far == 1 else f"any of the {far} colours"
    return f"1 of the {all_of_them} colours" if far == 1 else f"{far} of the {all_of_them} colours"


def _worst(colour: Colour, limit: float) -> tuple[str, OwnMatch] | None:
    """The colour, or the stop of its blend, to which even the nearest own paint is furthest off; None within the
    limit."""
    if colour.laid:
        return None  # blends over each other are painted one after the other, so it is their colours that are wanted
    wanted = [(stop.colour, stop.match) for stop in colour.blend] or [(colour.colour, _of_middle(colour))]
    far = [(drawn, match) for drawn, match in wanted if match and match.difference > limit]
    return max(far, key=lambda one: one[1].difference) if far else None


def _first_part(number: int, plan: PaintPlan, stack: Stack) -> tuple[StackLayer, PaintedPart]:
    """The layer and the part where a paint is seen first, be it through a glaze or in a stack."""
    users = {number}
    for colour in reversed(plan.colours):  # what lies beneath has the higher numbers
        if colour.over in users or any(coat.number in users for coat in colour.laid):
            users.add(colour.number)
    return next(
        (layer, part)
        for layer, sheet in zip(stack.layers, plan.sheets, strict=True)
        for part in sheet.parts
        if part.number in users
    )


def _of_middle(colour: Colour) -> OwnMatch | None:
    return colour.matches[1] if colour.matches else None


def _paint_sheet(layer: Layer, planned: StackLayer, stack: Stack, place: int, paint: PaintJob) -> _SheetParts:
    by_paint: dict[Paint, list[Region]] = {}
    for part in planned.painted:
        by_paint.setdefault(part.paint, []).append(part.region)
    stain_all = is_stained(layer, paint.stain)
    stained = EMPTY if stain_all else stained_part(layer, paint.stain)
    runs: dict[Key, list[tuple[Paint, Region]]] = {}
    drawn: dict[Key, list[Region]] = {}
    for look, parts in by_paint.items():
        for finish, face in _split(_joined(parts), stained, stain_all):
            seen = _seen_of(face, planned.visible)
            if seen.area >= AREA_MM2:
                key = Key(look_of(look), finish)
                runs.setdefault(key, []).append((look, seen))
                drawn.setdefault(key, []).append(face)
    visible = {key: _joined([region for _, region in parts]) for key, parts in runs.items()}
    # Nothing lies in front of the last sheet, so its paint ends where it is seen to end.
    if place + 1 == len(stack.layers) or not visible:
        return _SheetParts(visible, dict.fromkeys(visible, EMPTY), runs)
    strip = reach_under(planned.visible, planned.wood, paint.overlap)
    seen_of_each, faces = list(visible.values()), [_joined(parts) for parts in drawn.values()]
    shares = share_out(strip, seen_of_each, faces, planned.face, paint.overlap)
    return _SheetParts(visible, dict(zip(visible, shares, strict=True)), runs)


def _joined(parts: Sequence[Region]) -> Region:
    return union(parts) if len(parts) > 1 else parts[0]


def _seen_of(face: Region, visible: Region) -> Region:
    """What is seen of a paint's face; only the parts at the edge of what is seen have to be cut."""
    parts = np.array(polygons_of(face), dtype=object)
    visible = prepared(visible)
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


def _sheet_paint(sheet: _SheetParts, place: int, stack: Stack, numbers: Numbers, overlap: float) -> SheetPaint:
    runs = _runs(sheet, numbers)
    parts = [
        PaintedPart(numbers[key], seen, sheet.reach[key], runs.get(key, ())) for key, seen in sheet.visible.items()
    ]
    parts.sort(key=lambda part: part.number)
    layer, frame = stack.layers[place], stack.panel.face
    seen = [region for part in parts for region in ([run.region for run in part.runs] or [part.visible])]
    bare = unpainted(layer.visible, seen)
    if place == 0 and not stack.bare.is_empty:
        bare = union((bare, stack.bare))  # where nothing is drawn, the back sheet's wood shows
    guests = tuple((one.id, as_region(shapely.intersection(one.region, layer.visible))) for one in layer.guests)
    if place + 1 == len(stack.layers):
        return SheetPaint(tuple(parts), EMPTY, 0.0, 0.0, bare, guests, float(frame.area))
    front = stack.layers[place + 1]
    contact = contact_of(layer.wood, front.wood)
    glue = glue_zone(contact, [piece.region for piece in front.loose], overlap)
    return SheetPaint(tuple(parts), glue, float(glue.area), float(contact.area), bare, guests, 0.0)


def _runs(sheet: _SheetParts, numbers: Numbers) -> dict[Key, tuple[Run, ...]]:
    """The runs of every blend, the largest first; the largest of the sheet with their ways."""
    graded = [(key, *part) for key, parts in sheet.runs.items() if key.look.coats for part in parts]
    graded.sort(key=lambda part: -part[2].area)
    ways: dict[object, BlendDirection | None] = {}
    runs: dict[Key, list[Run]] = {}
    for place, (key, paint, region) in enumerate(graded):
        followed = _ways(paint, key, region, numbers, ways) if place < MOST_FOLLOWED else ()
        runs.setdefault(key, []).append(Run(region, paint.washes, followed))
    return {key: tuple(some) for key, some in runs.items()}


def _ways(
    paint: Paint, key: Key, region: Region, numbers: Numbers, known: dict[object, BlendDirection | None]
) -> tuple[BlendDirection, ...]:
    """The ways of a paint's gradients on a region, the top one first. One that is `known` from a larger region, on
    which it may have had other colours, is followed along the same line."""
    ways = []
    for look, gradient in coats_of(paint.washes):
        if gradient is None:
            continue
        where = (gradient.kind, gradient.points, gradient.to_mm, gradient.spread)
        if where not in known:
            known[where] = way_of(gradient, 0, region)
        if (way := known[where]) is not None:
            ways.append(replace(way, number=numbers[coat_key(look, key.finish) if key.look.is_stack else key]))
    return tuple(reversed(ways))
