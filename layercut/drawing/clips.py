"""Clip paths.

Enters: the items of an element and its `clip-path`. Leaves: the same items with the clip's region, in mm, as
CSS Masking 1 says: both kinds of units, clip rules, clips on clips. A reference to nothing clips nothing.
"""

from dataclasses import dataclass, field

import numpy as np
from lxml import etree

from layercut.drawing.display_list import Context, Item
from layercut.drawing.document import local_name
from layercut.drawing.gradients import box_map
from layercut.drawing.paints import parse_url
from layercut.drawing.placement import own_transform
from layercut.drawing.render import flat_items, item_regions
from layercut.drawing.transforms import compose, inverse
from layercut.drawing.traversal import Traversal
from layercut.drawing.units import Viewport
from layercut.geometry.curves import Affine, map_points
from layercut.geometry.regions import EMPTY, Region, union


@dataclass(frozen=True, slots=True)
class ClipPaths:
    """The clip paths of one drawing, each made once for each place that it is used at."""

    _made: dict[tuple[etree._Element, Affine], Region | None] = field(default_factory=dict)

    def clip(
        self, traversal: Traversal, element: etree._Element, clip: str, here: Context, items: list[Item]
    ) -> list[Item]:
        """The items, cut by the element's clip path."""
        address = parse_url(clip)
        target = traversal.references.find(address) if address else None
        if target is None or local_name(target) != "clipPath":
            what = "a clip path that refers to nothing" if address is not None else "this form of 'clip-path'"
            hint = "Clip with a <clipPath>, or cut the shapes themselves."
            traversal.note(element, here, f"{what} was ignored", hint)
            return items
        if not items:
            return items
        if target in here.used:
            traversal.note(element, here, "a clip path that refers to itself was ignored", "Remove it.")
            return items
        region = self._region(traversal, target, here, items)
        return items if region is None else [item.clipped(region) for item in items]

    def _region(
        self, traversal: Traversal, target: etree._Element, here: Context, items: list[Item]
    ) -> Region | None:
        key = (target, here.matrix)
        boxed = (target.get("clipPathUnits") or "") == "objectBoundingBox"
        if boxed:
            box = items_box(traversal, items, here.matrix)
            if box is None:
                return EMPTY
            key = (target, compose(here.matrix, box_map(box)))
        if key not in self._made:
            self._made[key] = self._make(traversal, target, key[1], here, boxed=boxed)
        return self._made[key]

    def _make(
        self, traversal: Traversal, target: etree._Element, matrix: Affine, here: Context, *, boxed: bool
    ) -> Region | None:
        style = traversal.styles.computed(target)
        viewport = Viewport(1.0, 1.0) if boxed else here.viewport
        own, _ = own_transform(target, style, viewport)
        inside = Context(
            compose(matrix, own),
            style,
            viewport,
            depth=here.depth + 1,
            layer=here.layer,
            used=(*here.used, target),
            clipping=True,
        )
        items: list[Item] = []
        for child in target:
            items += traversal.walk(child, inside)
        clip = style.own.get("clip-path", "none")
        if clip.lower() != "none":
            items = self.clip(traversal, target, clip, inside, items)
        return union(item_regions([item for item in items if item.fill], traversal.rules, traversal.layer_name(here)))


def items_box(traversal: Traversal, items: list[Item], matrix: Affine) -> tuple[float, float, float, float] | None:
    """Left, top, width and height of the box around the items, in the user space of `matrix`; None if flat."""
    back = inverse(matrix)
    lines = [line for lines in flat_items(items, traversal.rules, "") for line in lines]
    if back is None or not lines:
        return None
    points = map_points(np.concatenate([line.points for line in lines]), back)
    (x0, y0), (x1, y1) = points.min(axis=0), points.max(axis=0)
    if x1 <= x0 or y1 <= y0:
        return None
    return (float(x0), float(y0), float(x1 - x0), float(y1 - y0))
