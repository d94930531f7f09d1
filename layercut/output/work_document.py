"""The work plan as data: the part `work` of the manifest.

Enters: a `Made`. Leaves: plain JSON values, as docs/manifest.schema.json has them, numbers with fixed decimals.
Regions stay out of it: the paint maps have them.
"""

from typing import Any

from layercut.model import Made, Planned
from layercut.workplan import (
    BlendDirection,
    BurnTimes,
    Colour,
    Cost,
    Hangers,
    Hanging,
    Layout,
    MaterialPlan,
    OwnMatch,
    OwnMix,
    PaintPlan,
    Place,
    SheetPaint,
    Step,
    TimePlan,
)


def work_document(build: Planned) -> dict[str, Any] | None:
    """The work plan of a build; None where nothing is cut."""
    if not isinstance(build, Made):
        return None
    work = build.work
    return {
        "paint": _paint(build, work.paint),
        "hanging": _hanging(work.hanging),
        "times": _times(work.times),
        "material": _material(work.material),
        "steps": [_step(step) for step in work.steps],
        "cost": _cost(work.cost),
    }


def _paint(build: Made, plan: PaintPlan) -> dict[str, Any]:
    files = [sheet.file for sheet in build.sheets if sheet.kind == "layer"]
    return {
        "overlap_mm": _number(plan.overlap_mm, 3),
        "edge_mm2": _number(plan.edge_mm2, 1),
        "own": plan.own or None,
        "merge": _number(plan.merge, 3),
        "most": plan.most,
        "colours": [_colour(colour) for colour in plan.colours],
        "sheets": [_sheet_paint(file, sheet) for file, sheet in zip(files, plan.sheets, strict=True)],
    }


def _colour(colour: Colour) -> dict[str, Any]:
    matches = colour.matches or (None, None, None)
    return {
        "number": colour.number,
        "colour": colour.colour,
        "finish": colour.finish,
        "coats": colour.coats,
        "visible_mm2": _number(colour.visible_mm2, 1),
        "painted_mm2": _number(colour.painted_mm2, 1),
        "base": _shade(colour.shades.base, matches[0]),
        "middle": _shade(colour.shades.middle, matches[1]),
        "light": _shade(colour.shades.light, matches[2]),
        "blend": [
            {
                "offset": _number(stop.offset, 4),
                "opacity": _number(stop.opacity, 4),
                **_shade(stop.colour, stop.match),
            }
            for stop in colour.blend
        ],
        "laid": [
            {"number": coat.number, "opacity": _number(coat.opacity, 4), "masked": coat.masked}
            for coat in colour.laid
        ],
        "over": colour.over,
        "merged": [{"colour": one.colour, "difference": _number(one.difference, 2)} for one in colour.merged],
    }


def _shade(colour: str, match: OwnMatch | None) -> dict[str, Any]:
    return {"colour": colour, "paint": match and _match(match)}


def _match(match: OwnMatch) -> dict[str, Any]:
    return {
        "name": match.name,
        "colour": match.colour,
        "difference": _number(match.difference, 2),
        "mix": match.mix and _mix(match.mix),
    }


def _mix(mix: OwnMix) -> dict[str, Any]:
    parts = [{"name": part.name, "colour": part.colour, "drops": part.drops} for part in mix.parts]
    return {"parts": parts, "colour": mix.colour, "difference": _number(mix.difference, 2)}


def _sheet_paint(file: str, sheet: SheetPaint) -> dict[str, Any]:
    return {
        "file": file,
        "parts": [
            {
                "number": part.number,
                "visible_mm2": _number(part.visible.area, 1),
                "painted_mm2": _number(part.painted_mm2, 1),
                "runs": [
                    {"visible_mm2": _number(run.region.area, 1), "ways": [_way(way) for way in run.ways]}
                    for run in part.runs
                ],
            }
            for part in sheet.parts
        ],
        "contact_mm2": _number(sheet.contact_mm2, 1),
        "glue_mm2": _number(sheet.glue_mm2, 1),
        "frame_mm2": _number(sheet.frame_mm2, 1),
    }


def _way(way: BlendDirection) -> dict[str, Any]:
    straight = way.kind == "linear"
    return {
        "number": way.number,
        "kind": way.kind,
        "from_mm": _place(way.from_mm),
        "to_mm": _place(way.to_mm),
        "spread": way.spread,
        "middle_mm": None if straight else _place(way.middle_mm),
        "axes_mm": None if straight else _place(way.axes_mm),
    }


def _place(place: Place) -> list[float]:
    return [_number(value, 2) for value in place]


def _hanging(hanging: Hanging) -> dict[str, Any]:
    return {
        "spacers": hanging.spacers,
        "spacer_width_mm": _number(hanging.spacer_width_mm, 3),
        "screw_mm": None if hanging.screw_mm is None else _number(hanging.screw_mm, 3),
        "longest_screw_mm": _number(hanging.longest_mm, 3),
        "guard_mm": _number(hanging.guard_mm, 3),
        "depth_mm": _number(hanging.depth_of_stack_mm, 3),
        "density_kg_m3": _number(hanging.density_kg_m3, 1),
        "density_source": hanging.density_source,
        "mass_g": _number(hanging.mass_g, 1),
        "extra_g": _number(hanging.extra_g, 1),
        "weight_n": _number(hanging.weight_n, 3),
        "centre_mm": [_number(value, 1) for value in hanging.centre_mm],
        "centre_from_wall_mm": _number(hanging.depth_mm, 1),
        "wire_angle_deg": _number(hanging.wire_angle_deg, 1),
        "tension_n": None if hanging.tension_n is None else _number(hanging.tension_n, 3),
        "safety": _number(hanging.safety, 2),
        "load_n": _number(hanging.load_n, 2),
        "wire_load_n": None if hanging.wire_load_n is None else _number(hanging.wire_load_n, 2),
        "hangers": _hangers(hanging.hangers),
    }


def _hangers(hangers: Hangers) -> dict[str, Any]:
    height = hangers.hook_height_mm
    return {
        "kind": hangers.kind,
        "rings_mm": [_place(ring) for ring in hangers.rings_mm],
        "spacing_mm": _number(hangers.spacing_mm, 2),
        "hook_mm": _place(hangers.hook_mm),
        "hidden": hangers.hidden,
        "sag_mm": _number(hangers.sag_mm, 2),
        "wire_mm": _number(hangers.wire_mm, 1),
        "cut_mm": _number(hangers.cut_mm, 1),
        "on_wood": hangers.on_wood,
        "hook_height_mm": None if height is None else _number(height, 1),
    }


def _times(plan: TimePlan) -> dict[str, Any]:
    return {
        "total": _burn(plan.total),
        "sheets": [{"name": one.name, "copies": one.copies, **_burn(one.times)} for one in plan.sheets],
    }


def _burn(times: BurnTimes) -> dict[str, Any]:
    return {
        "areas_s": _number(times.areas_s, 1),
        "lines_s": _number(times.lines_s, 1),
        "openings_s": _number(times.openings_s, 1),
        "rim_s": _number(times.rim_s, 1),
        "travel_s": _number(times.travel_s, 1),
    }


def _material(plan: MaterialPlan) -> dict[str, Any]:
    return {
        "panels": plan.panels,
        "wood_mm2": _number(plan.wood_mm2, 1),
        "waste_mm2": _number(plan.waste_mm2, 1),
        "bed": _layout(plan.bed),
        "stock": _layout(plan.stock),
        "spares": [
            {"part": one.part, "sheet": one.sheet, "at_mm": list(one.at_mm), "turned_deg": one.turned_deg}
            for one in plan.nested
        ],
        "unplaced": list(plan.unplaced),
    }


def _layout(layout: Layout | None) -> dict[str, Any] | None:
    if layout is None:
        return None
    return {
        "width_mm": _number(layout.width_mm, 3),
        "height_mm": _number(layout.height_mm, 3),
        "each": layout.each,
        "boards": layout.boards,
    }


def _cost(cost: Cost | None) -> dict[str, Any] | None:
    if cost is None:
        return None
    return {
        "currency": cost.currency.word,
        "boards": cost.boards,
        "wood": None if cost.wood is None else _number(cost.wood, 2),
        "seconds": _number(cost.seconds, 1),
        "machine": None if cost.machine is None else _number(cost.machine, 2),
        "total": _number(cost.total, 2),
    }


def _step(step: Step) -> dict[str, Any]:
    return {
        "kind": step.kind,
        "what": step.what,
        "on": step.on or None,
        "contact_mm2": _number(step.contact_mm2, 1),
        "pieces": [
            {
                "id": piece.piece,
                "rests_on": piece.rests_on,
                "contact_mm2": _number(piece.contact_mm2, 1),
                "locator": piece.locator,
                "riser": piece.riser,
            }
            for piece in step.pieces
        ],
    }


def _number(value: float, digits: int) -> float:
    return round(float(value), digits) + 0.0  # + 0.0 turns -0.0 into 0.0
