"""Islands: wood that doesn't reach the frame through necks of the allowed width.

Enters: one sheet's wood, what of it is visible, the frame, the limits. Leaves: the wood without what nobody sees and
nothing needs, the islands, and the narrow places. Holds afterwards: all wood that isn't an island hangs on the frame.
"""

from dataclasses import dataclass

import numpy as np
import shapely
from shapely import Polygon, STRtree

from layercut.geometry.precision import AREA_MM2
from layercut.geometry.regions import Region, as_region, point_on, polygons_of, union
from layercut.job import LimitsJob
from layercut.model import Island, Layer, Panel
from layercut.stack.necks import Narrows, Neck, Prong, find_narrows
from layercut.stack.wood import SheetWood


@dataclass(frozen=True, slots=True)
class Hold:
    """How a sheet holds together: its wood, its islands, and the visible places that are narrow but carry nothing."""

    wood: Region
    islands: tuple[Island, ...]
    necks: tuple[Neck, ...]
    prongs: tuple[Prong, ...]


@dataclass(frozen=True, slots=True)
class _Part:
    """Wood that isn't held: free (`neck_mm` None) or hanging by a neck."""

    region: Region
    neck_mm: float | None


def check_hold(layer: Layer, sheet: SheetWood, panel: Panel, limits: LimitsJob) -> Hold:
    """Find what would fall out or snap off; hidden wood that would is left out, visible wood is an island."""
    framed, free = _split_by_frame(sheet.wood, panel)
    narrows = find_narrows(framed, limits.neck, limits.narrow_reach)
    parts = [_Part(piece, None) for piece in free] + _hanging(narrows, framed, panel)
    seen = [_is_seen(part.region, sheet.visible) for part in parts]
    dropped = [part.region for part, visible in zip(parts, seen, strict=True) if not visible]
    wood = _without(sheet.wood, dropped, sheet.visible, panel)
    islands = _name_islands(layer, [part for part, visible in zip(parts, seen, strict=True) if visible])
    necks = tuple(neck for neck in narrows.necks if _is_plain(neck, islands, sheet.visible))
    prongs = tuple(prong for prong in narrows.prongs if _is_seen(prong.region, sheet.visible))
    return Hold(wood, islands, necks, prongs)


def _split_by_frame(wood: Region, panel: Panel) -> tuple[Polygon, list[Polygon]]:
    """The piece that holds the frame, and the others."""
    pieces = polygons_of(wood)
    anchor = shapely.point_on_surface(panel.frame)
    holds = [bool(shapely.contains(piece, anchor)) for piece in pieces]
    framed = pieces[holds.index(True)]
    return framed, [piece for piece, held in zip(pieces, holds, strict=True) if not held]


def _hanging(narrows: Narrows, framed: Polygon, panel: Panel) -> list[_Part]:
    """The bodies that only necks join to the frame: every body but the frame's own."""
    if len(narrows.bodies) < 2:
        return []
    anchor = shapely.point_on_surface(panel.frame)
    widths: dict[int, float] = {}
    for neck in narrows.necks:
        for body in neck.bodies:
            widths[body] = max(widths.get(body, 0.0), neck.width_mm)
    return [
        _Part(as_region(shapely.intersection(body, framed)), widths.get(index, 0.0))
        for index, body in enumerate(narrows.bodies)
        if not shapely.contains(body, anchor)
    ]


def _without(wood: Region, dropped: list[Region], visible: Region, panel: Panel) -> Region:
    """The wood less some parts, and less the unseen scraps of corners and necks that then hang on nothing."""
    if not dropped:
        return wood
    framed, free = _split_by_frame(as_region(shapely.difference(wood, union(dropped))), panel)
    return union([framed, *(piece for piece in free if _is_seen(piece, visible))])


def _is_seen(region: Region, visible: Region) -> bool:
    return float(shapely.intersection(region, visible).area) >= AREA_MM2


def _is_plain(neck: Neck, islands: tuple[Island, ...], visible: Region) -> bool:
    """A visible neck that no island hangs by: worth a word, but nothing falls."""
    if neck.region.is_empty or not _is_seen(neck.region, visible):
        return False
    hung = [island.region for island in islands if island.neck_mm is not None]
    return not any(shapely.dwithin(neck.region, region, 0.02) for region in hung)


def _name_islands(layer: Layer, parts: list[_Part]) -> tuple[Island, ...]:
    """Number the islands in the order of the shapes they come from, then from the top left."""
    shapes = [shape for shape in layer.shapes if shape.role == "wood"]
    tree = STRtree([shape.geometry for shape in shapes])
    found = []
    for part in parts:
        near = tree.query(part.region, predicate="intersects")
        shared = [float(shapely.intersection(shapes[i].geometry, part.region).area) for i in near]
        order = int(near[int(np.argmax(shared))]) if len(near) else len(shapes)
        element = shapes[order].element if len(near) else ""
        x, y = point_on(part.region)
        found.append((order, y, x, element, part))
    found.sort(key=lambda entry: entry[:3])
    return tuple(
        Island(f"{layer.name}#{number}", part.region, (x, y), float(part.region.area), element, part.neck_mm)
        for number, (_, y, x, element, part) in enumerate(found, start=1)
    )
