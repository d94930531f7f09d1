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
from layercut.geometry.regions import as_region, box_size, point_on, polygons_of, union
from layercut.job import Job
from layercut.model import Island, Layer, Panel, Shape
from layercut.stack.faces import Face
from layercut.stack.loose import Carried
from layercut.stack.settle import Settled
from layercut.stack.slip import Slip

_REFUSED = {
    "tie": "can't be tied: no strip that is short enough for its width (limits.slender) joins it to the frame. Cut "
    "it loose, paint it behind, draw a bridge, or make ties wider (islands.tie_width).",
    "behind": "can't be painted behind: there is no sheet behind it. Tie it, or cut it loose.",
}
"""What is said of an island for which a policy finds no way."""

TIGHT_MM = 0.2
"""Nobody lines sheets up closer than this, so a slip that must stay under it is worth a word (common practice)."""


def reach_findings(layer: Layer, face: Face, panel: Panel) -> Iterable[Finding]:
    """Shapes that reach beyond the panel or lie wholly under the frame."""
    shapes = [shape for shape in layer.shapes if shape.role == "wood" and not shape.geometry.is_empty]
    if not shapes:
        return
    regions = np.array([shape.geometry for shape in shapes], dtype=object)
    view = shrink(panel.interior, GRID_MM)  # an edge along the frame is not in view
    shapely.prepare(panel.outline)
    shapely.prepare(view)
    on_panel = np.asarray(shapely.intersects(panel.outline, regions))
    in_view = np.asarray(shapely.intersects(view, regions))
    lost = [shape for shape, on in zip(shapes, on_panel, strict=True) if not on]
    unseen = [shape for shape, on, seen in zip(shapes, on_panel, in_view, strict=True) if on and not seen]
    if lost:
        yield _grouped("off-panel", layer, lost, "outside the panel and will be missing. Move it onto the panel.")
    if unseen:
        yield _grouped("under-frame", layer, unseen, "under the frame, where nobody sees it. Move it inwards.")
    # Corners of the page beyond a round rim are no loss: the maker asked for the rim.
    told = union((shapely.box(0, 0, panel.width_mm, panel.height_mm), *(shape.geometry for shape in lost)))
    beyond = as_region(shapely.difference(face.region, told))
    if can_be_seen(shrink(beyond, SIGHT_MM)):
        yield Finding(
            "off-panel",
            "info",
            f"{beyond.area:.1f} mm² of the layer reach beyond the panel and are cut off.",
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


def unheld_findings(layer: Layer, behind: Carried) -> Iterable[Finding]:
    """Loose pieces of this layer that nothing behind can carry."""
    for load in behind.unheld:
        width, height = box_size(load.region)
        what = "kept to carry a loose piece in front" if "#riser-" in load.id else "would be loose"
        yield Finding(
            "unsupported-piece",
            "error",
            f"{load.id}, {width:.1f} x {height:.1f} mm, {what}, but nothing behind it can carry it: that is "
            "open, or too narrow to hide wood that could. Tie it, draw it larger, or draw something behind it.",
            layer.name,
            at_mm=point_on(load.region),
            size_mm=(width, height),
        )


def slip_findings(layer: Layer, slip: Slip, job: Job) -> Iterable[Finding]:
    """A word where the sheet must lie more exactly than anybody lays it."""
    if slip.distance_mm >= TIGHT_MM:
        return
    yield Finding(
        "slip",
        "info",
        f"when this sheet slips by more than {slip.distance_mm:.2f} mm, bare wood shows at this place. Let the "
        f"deeper of the two shapes that meet here reach {job.limits.setback:g} mm further under the one in front.",
        layer.name,
        at_mm=slip.at_mm,
        size_mm=(round(slip.distance_mm, 3),),
    )


def unseen_findings(layer: Layer, settled: Settled) -> Iterable[Finding]:
    if settled.sheet.visible.area >= AREA_MM2 or (settled.sheet.face.is_empty and not settled.given):
        return
    why = "all of it is painted behind or left out" if settled.given else "layers in front cover all of it"
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
        f"{what} too small to see, {total:.3f} mm² in all, left out.",
        layer.name,
        at_mm=point_on(specks[0]),
        size_mm=box_size(specks[0]),
    )


def _hairline_findings(layer: Layer, settled: Settled, job: Job) -> Iterable[Finding]:
    """Gaps between two pieces that the beam can't cut, so that the pieces stay joined."""
    for gap in settled.sheet.hairlines:
        yield Finding(
            "opening-pinches",
            "warning",
            f"a gap narrower than the kerf of {job.material.kerf:g} mm can't be cut, so the wood beside it stays "
            "joined there. Draw it wider.",
            layer.name,
            at_mm=point_on(gap),
            size_mm=box_size(gap),
        )


def hold_findings(layer: Layer, settled: Settled, job: Job) -> Iterable[Finding]:
    yield from (_island_finding(layer, island, job) for island in settled.refused)
    yield from _hairline_findings(layer, settled, job)
    for neck in settled.hold.necks:
        yield Finding(
            "narrow",
            "warning",
            f"wood {neck.width_mm:.2f} mm wide, narrower than the limit of {job.limits.neck:g} mm; "
            "nothing hangs by it alone. Draw it wider if it matters.",
            layer.name,
            at_mm=neck.at_mm,
            size_mm=(round(neck.width_mm, 3),),
        )
    for prong in settled.hold.prongs:
        yield Finding(
            "narrow",
            "warning",
            f"a prong about {prong.width_mm:.2f} mm wide reaches {prong.reach_mm:.1f} mm; the limit is "
            f"{job.limits.neck:g} mm. It may break; draw it wider or lean it on something.",
            layer.name,
            at_mm=point_on(prong.region),
            size_mm=box_size(prong.region),
        )


def _island_finding(layer: Layer, island: Island, job: Job) -> Finding:
    """An island, and the ways out in words that can be pasted."""
    width, height = box_size(island.region)
    what = f"{island.id}, {width:.1f} x {height:.1f} mm of wood,"
    refused = _REFUSED.get(job.islands.policy_for(layer.name, island.names))
    if refused is not None:
        message = f"{what} {refused}"
        return Finding("island", "error", message, layer.name, island.element, island.at_mm, (width, height))
    if island.neck_mm is None:
        message = f"{what} is joined to nothing and would fall out. {_ways_out(island)}"
        return Finding("island", "error", message, layer.name, island.element, island.at_mm, (width, height))
    hangs = "hangs by a neck" if len(island.across) == 1 else f"hangs by {len(island.across)} necks, the widest"
    message = (
        f"{what} {hangs} {island.neck_mm:.2f} mm wide; the limit is {job.limits.neck:g} mm. "
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
