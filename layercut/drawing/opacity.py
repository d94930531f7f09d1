"""Wood, glaze or nothing: what a shape's opacity makes of it.

Enters: a shape with its wash and the groups around it. Leaves: the shape as wood where it is opaque enough, else as a
glaze; lines and areas that are engraved only where they are so opaque. A layer hears once what became a glaze.
"""

from collections.abc import Sequence
from dataclasses import replace

import shapely

from layercut.colour.coats import Coat, Veil
from layercut.colour.folding import is_opaque
from layercut.colour.shown import is_even, most_opaque, shown_region
from layercut.colour.washes import GradedWash, Wash
from layercut.drawing.diagnostics import Diagnostics
from layercut.geometry.lines import lines_of, together
from layercut.geometry.regions import as_region
from layercut.model import Paint, Shape

_TO_WOOD = "To make it wood, give it more opacity (paint.wood_opacity says how much), or begin its name with 'wood'."


def by_opacity(
    shape: Shape, wash: Wash, veils: Sequence[Veil], least: float, *, diagnostics: Diagnostics, layer: str
) -> list[Shape]:
    """The shape as its opacity makes it; none of it where it is a line too faint to be meant."""
    if shape.role != "wood":
        return _engraved(shape, wash, tuple(veils), least, diagnostics=diagnostics, layer=layer)
    if isinstance(wash, GradedWash):
        diagnostics.add("blend", "a gradient is painted as a blend", layer=layer, element=shape.element)
    if not veils and is_opaque(wash):
        return [replace(shape, paint=Paint.over((wash,)))]
    if any(veil.mask is not None for veil in veils):
        diagnostics.add("blend", "the soft edge of a mask is painted as a blend", layer=layer, element=shape.element)
    # The coat keeps all of the shape, its paint goes on where it fades out; only the wood ends where it is too faint.
    coat = Coat(as_region(shape.geometry), wash, tuple(veils))
    painted = replace(shape, paint=Paint.over((wash,)), coat=coat)
    wood = shown_region(coat, least) if least > 0 else coat.region
    if wood is coat.region:
        return [painted]
    diagnostics.add(
        "glaze",
        "translucent paint is no wood, and colours what is seen through it",
        _TO_WOOD,
        layer=layer,
        element=shape.element,
    )
    return [replace(painted, role="glaze") if wood.is_empty else replace(painted, geometry=wood)]


def _engraved(
    shape: Shape, wash: Wash, veils: tuple[Veil, ...], least: float, *, diagnostics: Diagnostics, layer: str
) -> list[Shape]:
    """A mark or an opening where its paint is opaque enough; what nobody asked for by name is left out if faint."""
    if least <= 0 or (not veils and is_opaque(wash)):
        return [shape]
    box = shapely.box(*shapely.buffer(shape.geometry, 1.0).bounds)
    coat = Coat(box, wash, veils)
    if most_opaque(coat) < least:
        hint = "Give it more opacity, or hide it."
        diagnostics.add(
            "see-through", "a line too faint to be meant was left out", hint, layer=layer, element=shape.element
        )
        return []
    if is_even(wash) and all(veil.mask is None for veil in veils):
        return [shape]
    inside = shapely.intersection(shape.geometry, shown_region(coat, least))
    geometry = together(lines_of(inside)) if shape.role == "mark-line" else as_region(inside)
    return [] if geometry.is_empty else [replace(shape, geometry=geometry)]
