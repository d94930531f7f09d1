"""The stack as one value, and what is wrong or doubtful about it.

Enters: what the earlier steps found for each layer. Leaves: a `Stack` with its findings.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from layercut.findings import Finding
from layercut.geometry.precision import AREA_MM2
from layercut.geometry.regions import as_region, box_size, point_on, union
from layercut.job import Job
from layercut.model import Island, Layer, Panel, Shape, Stack, StackLayer
from layercut.stack.faces import Face
from layercut.stack.islands import Hold
from layercut.stack.wood import SheetWood


@dataclass(frozen=True, slots=True)
class LayerParts:
    """What the earlier steps found for one layer."""

    layer: Layer
    face: Face
    wood: SheetWood
    hold: Hold


def assemble_stack(panel: Panel, parts: Sequence[LayerParts], job: Job) -> Stack:
    """Put the sheets' regions together, from back to front, and say what was found on the way."""
    layers = tuple(_stack_layer(part) for part in parts)
    findings: list[Finding] = []
    for part in parts:
        findings += _reach_findings(part.layer, part.face, panel)
        findings += _unseen_findings(part.layer, part.wood)
        findings += _hold_findings(part.layer, part.hold, job)
    shown = union(layer.visible for layer in layers)
    return Stack(panel, layers, as_region(shapely.difference(panel.interior, shown)), tuple(findings))


def _stack_layer(part: LayerParts) -> StackLayer:
    wood = part.wood
    return StackLayer(
        name=part.layer.name,
        face=wood.face,
        visible=wood.visible,
        opening=wood.opening,
        hidden=wood.hidden,
        wood=part.hold.wood,
        painted=part.face.painted,
        islands=part.hold.islands,
    )


def _reach_findings(layer: Layer, face: Face, panel: Panel) -> Iterable[Finding]:
    """Shapes that reach beyond the panel or lie wholly under the frame."""
    shapes = [shape for shape in layer.shapes if shape.role == "wood"]
    if not shapes:
        return
    regions = np.array([shape.geometry for shape in shapes], dtype=object)
    shapely.prepare(panel.outline)
    shapely.prepare(panel.interior)
    on_panel = np.asarray(shapely.intersects(panel.outline, regions))
    in_view = np.asarray(shapely.intersects(panel.interior, regions))
    lost = [shape for shape, on in zip(shapes, on_panel, strict=True) if not on]
    unseen = [shape for shape, on, seen in zip(shapes, on_panel, in_view, strict=True) if on and not seen]
    if lost:
        yield _grouped("off-panel", layer, lost, "outside the panel and lost. Move it onto the panel.")
    if unseen:
        yield _grouped("under-frame", layer, unseen, "wholly under the frame. Move it inwards.")
    beyond = as_region(shapely.difference(face.region, panel.outline))
    if beyond.area >= AREA_MM2 and not lost:
        yield Finding(
            "off-panel",
            "info",
            f"{beyond.area:.0f} mm2 of the layer reach beyond the panel and are cut off.",
            layer.name,
            at_mm=point_on(beyond),
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


def _unseen_findings(layer: Layer, wood: SheetWood) -> Iterable[Finding]:
    if not wood.face.is_empty and wood.visible.area < AREA_MM2:
        yield Finding(
            "layer-unseen",
            "warning",
            "nothing of this layer is seen: layers in front cover all of it. Its sheet could be left out.",
            layer.name,
        )


def _hold_findings(layer: Layer, hold: Hold, job: Job) -> Iterable[Finding]:
    yield from (_island_finding(layer, island, job) for island in hold.islands)
    for neck in hold.necks:
        yield Finding(
            "narrow",
            "warning",
            f"wood {neck.width_mm:.2f} mm wide, narrower than the limit of {job.limits.neck:g} mm; "
            "nothing hangs by it alone. Draw it wider if it matters.",
            layer.name,
            at_mm=neck.at_mm,
            size_mm=(round(neck.width_mm, 3),),
        )
    for prong in hold.prongs:
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
    width, height = box_size(island.region)
    what = f"{island.id}, {width:.1f} x {height:.1f} mm of wood,"
    ways = "Draw a bridge to its neighbours, let it reach behind a layer in front, or leave it out."
    size: tuple[float, ...] = (width, height)
    code = "island" if island.neck_mm is None else "neck"
    if island.neck_mm is None:
        message = f"{what} is joined to nothing and would fall out. {ways}"
    else:
        message = (
            f"{what} hangs by a neck {island.neck_mm:.2f} mm wide; the limit is {job.limits.neck:g} mm. "
            "Draw the neck wider, or lower limits.neck if your wood bears it."
        )
        size = (round(island.neck_mm, 3),)
    return Finding(code, "error", message, layer.name, island.element, island.at_mm, size)
