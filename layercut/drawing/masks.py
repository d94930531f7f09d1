"""Masks.

Enters: the items of an element and its `mask`. Leaves: the same items under what the mask lets through, in mm, as
CSS Masking 1 says: by luminance or opacity, both kinds of units, masks on masks. A mask whose edges are all hard is a
clip and no more. A reference to nothing masks nothing.
"""

from dataclasses import replace

import numpy as np
import shapely
from lxml import etree

from layercut.colour.coats import Coat, Mask, Veil
from layercut.colour.folding import constant_value
from layercut.colour.laying import Part, lay_out
from layercut.drawing.clips import items_box
from layercut.drawing.diagnostics import Diagnostics
from layercut.drawing.display_list import Context, Item
from layercut.drawing.document import local_name
from layercut.drawing.gradients import Box, box_map
from layercut.drawing.paints import parse_url
from layercut.drawing.render import render, within_reach
from layercut.drawing.transforms import compose
from layercut.drawing.traversal import Traversal
from layercut.drawing.units import Viewport, parse_length
from layercut.geometry.curves import Affine, map_points
from layercut.geometry.regions import Region, as_region, union

_WHOLE = Viewport(1.0, 1.0)

_HARD = 1e-4
"""A mask that lets through all but this much lets through all: rounding, and colours of eight bits."""


def mask_items(  # noqa: PLR0917 - a clip's, and the box
    traversal: Traversal,
    element: etree._Element,
    said: str,
    here: Context,
    items: list[Item],
    around: Box | None = None,
) -> list[Item]:
    """The items under the element's mask; none where it lets nothing through.

    The box that a mask may count in is the items' own, unless another is meant.
    """
    address = parse_url(said)
    target = traversal.references.find(address) if address else None
    if target is None or local_name(target) != "mask":
        what = "a mask that refers to nothing" if address is not None else "this form of 'mask'"
        traversal.note(element, here, f"{what} was ignored", "Mask with a <mask>, or cut the shape itself.")
        return items
    if not items:
        return items
    if target in here.used:
        traversal.note(element, here, "a mask that refers to itself was ignored", "Remove it.")
        return items
    mask = _read(traversal, target, here, around or items_box(traversal, items, here.matrix))
    if not mask.parts:
        return []
    # Around what it lets through a mask cuts, as a clip does; a veil is left only of one that is soft somewhere.
    support = union(region for region, _ in mask.parts)
    hard = all((constant_value(washes, mask.by) or 0.0) > 1 - _HARD for _, washes in mask.parts)
    if not hard and mask.by == "luminance" and _is_linear(traversal, target):
        what = "'color-interpolation' is not supported, and a mask was taken by its luminance in sRGB"
        traversal.note(element, here, what, "Mask by opacity, or take 'linearRGB' away.")
    veil = replace(here.veils[-1], mask=None if hard else mask)
    return [_veiled(item.clipped(support), veil) for item in items]


def _is_linear(traversal: Traversal, target: etree._Element) -> bool:
    return traversal.styles.computed(target).get("color-interpolation").lower() == "linearrgb"


def _veiled(item: Item, own: Veil) -> Item:
    """The item with its element's veil as it is now known; without it where it lets all through."""
    idle = own.mask is None and own.opacity >= 1
    veils = (own if veil.key == own.key else veil for veil in item.veils if veil.key != own.key or not idle)
    return replace(item, veils=tuple(veils))


def _read(traversal: Traversal, target: etree._Element, here: Context, box: Box | None) -> Mask:
    """What a mask lets through of an element with this box in its user space."""
    style = traversal.styles.computed(target)
    by = "alpha" if style.own.get("mask-type", "luminance").lower() == "alpha" else "luminance"
    nothing = Mask((), "alpha" if by == "alpha" else "luminance")
    boxed = (target.get("maskUnits") or "") != "userSpaceOnUse"
    content_boxed = (target.get("maskContentUnits") or "") == "objectBoundingBox"
    if box is None and (boxed or content_boxed):
        return nothing
    room = _room(target, here, box_map(box) if boxed and box is not None else None)
    if room is None:
        return nothing
    outside = Context(
        here.matrix,
        style,
        here.viewport,
        traversal.veil_of(style),
        layer=here.layer,
        depth=here.depth + 1,
        used=(*here.used, target),
        masking=True,
    )
    inside = outside
    if content_boxed and box is not None:
        inside = replace(outside, matrix=compose(here.matrix, box_map(box)), viewport=_WHOLE)
    content: list[Item] = []
    for child in target:
        content += traversal.walk(child, inside)
    # A mask or clip path on the mask itself lies in the space of what is masked, not in that of the mask's content.
    content = traversal.with_effects(target, style, outside, content, box)
    parts = _parts(traversal, [item.clipped(room) for item in content if item.paints])
    values = (constant_value(washes, by) for _, washes in parts)
    shown = (part for part, value in zip(parts, values, strict=True) if value is None or value > _HARD)
    return replace(nothing, parts=tuple(shown))


def _parts(traversal: Traversal, content: list[Item]) -> tuple[Part, ...]:
    """The regions of a mask's content, each with the coats that lie there."""
    rules = replace(traversal.rules, line_below_mm=0.0, wood_opacity=0.0, paint_roles={})
    # What a mask is made of is no paint of a layer, so nothing is to be told of it.
    shapes = render(content, rules, Diagnostics(), "")
    return lay_out(
        [shape.coat or Coat(as_region(shape.geometry), shape.paint.wash) for shape in shapes if shape.role == "wood"]
    )


def _room(target: etree._Element, here: Context, box: Affine | None) -> Region | None:
    """Where a mask reaches at all: by its x, y, width and height, a tenth around the box unless said otherwise."""
    viewport = _WHOLE if box is not None else here.viewport
    size = here.style.font_size

    def length(name: str, whole: float, default: float) -> float:
        said = parse_length(target.get(name), whole, size)
        return default * whole if said is None else said

    x, y = length("x", viewport.width, -0.1), length("y", viewport.height, -0.1)
    width, height = length("width", viewport.width, 1.2), length("height", viewport.height, 1.2)
    if width <= 0 or height <= 0:
        return None
    corners = np.array([(x, y), (x + width, y), (x + width, y + height), (x, y + height)])
    matrix = here.matrix if box is None else compose(here.matrix, box)
    placed = map_points(corners, matrix)
    return shapely.Polygon(placed) if within_reach(placed.ravel()) else None
