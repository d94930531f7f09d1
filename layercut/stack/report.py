"""What is wrong or doubtful about a stack, in sentences.

Enters: what the earlier steps found for each layer. Leaves: findings, with place, size and what to do.
"""

import json
from collections.abc import Iterable, Sequence

import numpy as np
import shapely
from shapely import Polygon

from layercut.findings import Finding
from layercut.geometry.offsets import can_be_seen, shrink
from layercut.geometry.precision import AREA_MM2, GRID_MM, SIGHT_MM
from layercut.geometry.regions import as_region, box_size, point_on, polygons_of, prepared, union
from layercut.job import Job
from layercut.job_tables import IslandsJob, LimitsJob
from layercut.model import Island, Layer, Panel, Shape
from layercut.stack.faces import Face
from layercut.stack.misregistration import Misregistration
from layercut.stack.policies import policy_of
from layercut.stack.resolve_islands import ResolvedSheet
from layercut.stack.supports import SupportPlan
from layercut.units import said_apart, said_mm, said_mm2, said_size

_REFUSED = {
    "tie": "can't be tied: no strip that is short enough for its width (limits.slender) joins it to the frame. Cut "
    "it loose, paint it behind, draw a bridge, or make ties wider (islands.tie_width).",
    "behind": "can't be painted behind: there is no sheet behind it. Tie it, or cut it loose.",
}
"""What is said of an island for which a policy finds no way."""

TIGHT_MM = 0.2
"""Nobody lines sheets up closer than this, mm, so a sheet that must lie more exactly is worth a word (common
practice)."""


def reach_findings(layer: Layer, face: Face, panel: Panel) -> Iterable[Finding]:
    """Shapes that reach beyond the panel or lie wholly under the frame."""
    shapes = [shape for shape in layer.shapes if shape.role == "wood" and not shape.geometry.is_empty]
    if not shapes:
        return
    regions = np.array([shape.geometry for shape in shapes], dtype=object)
    view = shrink(panel.interior, GRID_MM)  # an edge along the frame is not in view
    shapely.prepare(view)
    on_panel = np.asarray(shapely.intersects(prepared(panel.outline), regions))
    in_view = np.asarray(shapely.intersects(view, regions))
    lost = [shape for shape, on in zip(shapes, on_panel, strict=True) if not on]
    unseen = [shape for shape, on, seen in zip(shapes, on_panel, in_view, strict=True) if on and not seen]
    if lost:
        yield _grouped("off-panel", layer, lost, "outside the panel and will be missing. Move it onto the panel.")
    if unseen:
        yield _grouped("under-frame", layer, unseen, "under the frame, where nobody sees it. Move it inwards.")
    # Corners of the page beyond a round rim are no loss: the maker asked for the rim.
    accounted = union((shapely.box(0, 0, panel.width_mm, panel.height_mm), *(shape.geometry for shape in lost)))
    beyond = as_region(shapely.difference(face.region, accounted))
    if can_be_seen(shrink(beyond, SIGHT_MM)):
        yield Finding(
            "off-panel",
            "info",
            f"{said_mm2(beyond.area)} of the layer reach beyond the panel and are cut off.",
            layer.name,
            at_mm=point_on(max(polygons_of(beyond), key=lambda part: float(part.area))),
            size_mm=box_size(beyond),
        )


def _grouped(code: str, layer: Layer, shapes: Sequence[Shape], where: str) -> Finding:
    """One finding for any number of shapes with the same fault; it names the first."""
    first = shapes[0]
    who = first.element if len(shapes) == 1 else f"{first.element} and {len(shapes) - 1} more"
    verb = "lies" if len(shapes) == 1 else "lie"
    return Finding(
        code,
        "warning",
        f"{who} {verb} {where}",
        layer.name,
        first.element,
        at_mm=point_on(first.geometry),
        size_mm=box_size(first.geometry),
    )


def unsupported_findings(layer: Layer, behind: SupportPlan) -> Iterable[Finding]:
    """Loose pieces of this layer that nothing behind can carry."""
    for piece in behind.unsupported:
        width, height = box_size(piece.region)
        what = "kept to carry a loose piece in front" if piece.riser else "would be loose"
        yield Finding(
            "unsupported-piece",
            "error",
            f"{piece.id}, {said_size(width, height)}, {what}, but nothing behind it can carry it: that is "
            "open, or too narrow to hide wood that could. Tie it, draw it larger, or draw something behind it.",
            layer.name,
            at_mm=point_on(piece.region),
            size_mm=(width, height),
        )


def misregistration_findings(layer: Layer, allowed: Misregistration, setback_mm: float) -> Iterable[Finding]:
    """A word where the sheet must lie more exactly than anybody lays it."""
    if allowed.distance_mm >= TIGHT_MM:
        return
    yield Finding(
        "slip",
        "info",
        f"when this sheet slips by more than {said_mm(allowed.distance_mm, '.2f')}, bare wood shows at this place. "
        f"Let the deeper of the two shapes that meet here reach {said_mm(setback_mm, 'g')} further under the one in "
        "front.",
        layer.name,
        at_mm=allowed.at_mm,
        size_mm=(round(allowed.distance_mm, 3),),
    )


def unseen_findings(layer: Layer, resolved: ResolvedSheet) -> Iterable[Finding]:
    if resolved.sheet.visible.area >= AREA_MM2 or (resolved.sheet.face.is_empty and not resolved.given):
        return
    why = "all of it is painted behind or left out" if resolved.given else "layers in front cover all of it"
    message = f"nothing of this layer is seen: {why}. Its sheet could be left out."
    yield Finding("layer-unseen", "warning", message, layer.name)


def speck_findings(layer: Layer, specks: Sequence[Polygon]) -> Iterable[Finding]:
    """One word for all scraps that were left out."""
    if not specks:
        return
    total = sum(float(speck.area) for speck in specks)
    what = "1 scrap of wood" if len(specks) == 1 else f"{len(specks)} scraps of wood"
    yield Finding(
        "detail-lost",
        "info",
        f"{what} too small to see, {said_mm2(total, '.3f')} in all, left out.",
        layer.name,
        at_mm=point_on(specks[0]),
        size_mm=box_size(specks[0]),
    )


def _hairline_findings(layer: Layer, hairlines: Sequence[Polygon], kerf_mm: float) -> Iterable[Finding]:
    """Gaps between two pieces that the beam can't cut, so that the pieces stay joined."""
    for gap in hairlines:
        yield Finding(
            "opening-pinches",
            "warning",
            f"a gap narrower than the kerf of {said_mm(kerf_mm, 'g')} can't be cut, so the wood beside it stays "
            "joined there. Draw it wider.",
            layer.name,
            at_mm=point_on(gap),
            size_mm=box_size(gap),
        )


def connectivity_findings(layer: Layer, resolved: ResolvedSheet, job: Job) -> Iterable[Finding]:
    limits = job.limits
    yield from (_island_finding(layer, island, job.islands, limits) for island in resolved.refused)
    yield from _hairline_findings(layer, resolved.sheet.hairlines, job.material.kerf)
    for neck in resolved.connectivity.necks:
        wide, least = said_apart(neck.width_mm, ".2f", limits.neck)
        yield Finding(
            "narrow",
            "warning",
            f"wood {wide} wide, narrower than the limit of {least}; "
            "nothing hangs by it alone. Draw it wider if it matters.",
            layer.name,
            at_mm=neck.at_mm,
            size_mm=(round(neck.width_mm, 3),),
        )
    for prong in resolved.connectivity.prongs:
        wide, least = said_apart(prong.width_mm, ".2f", limits.neck)
        yield Finding(
            "narrow",
            "warning",
            f"a prong about {wide} wide reaches {said_mm(prong.reach_mm, '.1f')}; the limit is {least}. "
            "It may break; draw it wider or lean it on something.",
            layer.name,
            at_mm=point_on(prong.region),
            size_mm=box_size(prong.region),
        )


def _island_finding(layer: Layer, island: Island, islands: IslandsJob, limits: LimitsJob) -> Finding:
    """An island, and the ways out in words that can be pasted."""
    width, height = box_size(island.region)
    what = f"{island.id}, {said_size(width, height)} of wood,"
    refused = _REFUSED.get(policy_of(islands, layer, island))
    if refused is not None:
        message = f"{what} {refused}"
        return Finding("island", "error", message, layer.name, island.element, island.at_mm, (width, height))
    if island.neck_mm is None:
        message = f"{what} is joined to nothing and would fall out. {_ways_out(island)}"
        return Finding("island", "error", message, layer.name, island.element, island.at_mm, (width, height))
    hangs = "hangs by a neck" if len(island.across) == 1 else f"hangs by {len(island.across)} necks, the widest"
    wide, least = said_apart(island.neck_mm, ".2f", limits.neck)
    message = (
        f"{what} {hangs} {wide} wide; the limit is {least}. "
        f"Draw the neck wider, or lower limits.neck if your wood bears it. {_ways_out(island)}"
    )
    middle = max(island.across, key=lambda line: float(line.length)).interpolate(0.5, normalized=True)
    at = (round(middle.x, 2), round(middle.y, 2))
    return Finding("neck", "error", message, layer.name, island.element, at, (round(island.neck_mm, 3),))


def _ways_out(island: Island) -> str:
    """Tie it, cut it loose, or draw it otherwise; with the lines for the job file."""
    name = json.dumps(island.id, ensure_ascii=False)
    return (
        f'Ways out: let layercut choose (--islands auto, or in the job file [islands.pieces] {name} = "auto"); '
        f'join it by a strip ("tie"); cut it free and glue it on ("loose"); paint it on the sheet behind ("behind"); '
        'leave it out ("out"); or draw it so that it reaches its neighbours or behind a layer in front.'
    )
