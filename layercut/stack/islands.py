"""Islands: wood that doesn't reach the frame through necks of the allowed width.

Enters: one sheet's wood, what of it is visible, the frame, the limits. Leaves: the wood without what nobody sees and
nothing needs, the islands, and the narrow places. Holds afterwards: all wood that isn't an island hangs on the frame.
"""

import math
from dataclasses import dataclass
from itertools import combinations

import networkx as nx
import numpy as np
import shapely
from shapely import LineString, Polygon, STRtree

from layercut.geometry.offsets import can_be_seen
from layercut.geometry.precision import AREA_MM2
from layercut.geometry.regions import Region, as_region, point_on, polygons_of, union
from layercut.job import LimitsJob
from layercut.model import Island, Layer, Panel
from layercut.stack.hairlines import part_threads
from layercut.stack.necks import Narrows, Neck, Prong, find_narrows
from layercut.stack.wood import SheetWood


@dataclass(frozen=True, slots=True)
class Hold:
    """How a sheet holds together: its wood, its islands, and the visible places that are narrow but carry nothing.

    `spare` is hidden wood that is joined to nothing and was left out; it could carry a loose piece.
    """

    wood: Region
    islands: tuple[Island, ...]
    spare: tuple[Polygon, ...]
    necks: tuple[Neck, ...]
    prongs: tuple[Prong, ...]


@dataclass(frozen=True, slots=True)
class _Part:
    """Wood that isn't held: free (`neck_mm` None) or hanging by necks, with the lines across them."""

    region: Region
    neck_mm: float | None = None
    across: tuple[LineString, ...] = ()


def check_hold(layer: Layer, sheet: SheetWood, panel: Panel, limits: LimitsJob) -> Hold:
    """Find what would fall out or snap off; hidden wood that would is left out, visible wood is an island."""
    framed, free = _split_by_frame(sheet.wood, panel)
    slivers = _hidden_slivers(framed, sheet.visible, panel, limits)
    if not slivers.is_empty:
        framed, scraps = _split_by_frame(as_region(shapely.difference(framed, slivers)), panel)
        free += [scrap for scrap in scraps if _is_seen(scrap, sheet.visible)]
    spare = [piece for piece in free if not _is_seen(piece, sheet.visible)]
    pieces = [piece for piece in free if _is_seen(piece, sheet.visible)]
    while True:
        narrows = find_narrows(framed, limits.neck, limits.narrow_reach)
        hanging = _hanging(narrows, framed, panel)
        dropped = _unseen(hanging, sheet.visible, panel)
        if dropped.area < AREA_MM2:
            # Only what holds by the limit itself is worth looking at by a share of it.
            thin = _thin_hanging(framed, hanging, panel, limits)
            hanging += thin
            dropped = _unseen(thin, sheet.visible, panel)
        if dropped.area < AREA_MM2:
            break
        # Without the unseen parts others may hang on nothing, seen ones among them, so look again.
        framed, free = _split_by_frame(as_region(shapely.difference(framed, dropped)), panel)
        pieces += [piece for piece in free if _is_seen(piece, sheet.visible)]
    islands = _name_islands(layer, [*(_Part(piece) for piece in pieces), *hanging])
    return Hold(
        wood=union((framed, *pieces)),
        islands=islands,
        spare=tuple(spare),
        necks=tuple(neck for neck in narrows.necks if _is_plain(neck, islands, sheet.visible)),
        prongs=tuple(prong for prong in narrows.prongs if _is_seen(prong.region, sheet.visible)),
    )


def _unseen(parts: list[_Part], visible: Region, panel: Panel) -> Region:
    """What nobody sees of parts that aren't held; the frame is never given up."""
    unseen = union(part.region for part in parts if not _is_seen(part.region, visible))
    return as_region(shapely.difference(unseen, panel.frame))


def _split_by_frame(wood: Region, panel: Panel) -> tuple[Polygon, list[Polygon]]:
    """The piece that holds the frame, and the others; what hangs together by a thread only is apart."""
    pieces = polygons_of(part_threads(wood))
    anchor = shapely.point_on_surface(panel.frame)
    holds = [bool(shapely.contains(piece, anchor)) for piece in pieces]
    framed = pieces[holds.index(True)]
    return framed, [piece for piece, held in zip(pieces, holds, strict=True) if not held]


def _hanging(narrows: Narrows, framed: Polygon, panel: Panel) -> list[_Part]:
    """The bodies that only necks join to the frame: every body but the frame's own."""
    if len(narrows.bodies) < 2:
        return []
    anchor = shapely.point_on_surface(panel.frame)
    root = next(index for index, body in enumerate(narrows.bodies) if shapely.contains(body, anchor))
    widths = _widest_ways(narrows, root)
    necks_of: dict[int, list[Neck]] = {}
    for neck in narrows.necks:
        for body in neck.bodies:
            necks_of.setdefault(body, []).append(neck)
    return [
        _Part(
            region=as_region(shapely.intersection(body, framed)),
            neck_mm=widths[index],
            across=tuple(neck.across for neck in necks_of[index]),
        )
        for index, body in enumerate(narrows.bodies)
        if index != root
    ]


THIN_SHARE = 1 / 3
"""Wood narrower than the limit all over is held against this share of it: what it hangs by must not be far thinner
than it is itself."""


def _thin_hanging(framed: Polygon, known: list[_Part], panel: Panel, limits: LimitsJob) -> list[_Part]:
    """Wood too thin for a disc as wide as the limit, which hangs by necks much thinner still."""
    narrows = find_narrows(framed, limits.neck * THIN_SHARE, limits.narrow_reach)
    found = _hanging(narrows, framed, panel)
    if not found:
        return []
    bodies = union(part.region for part in known)
    return [part for part in found if not shapely.intersects(part.region, bodies)]


def _hidden_slivers(framed: Polygon, visible: Region, panel: Panel, limits: LimitsJob) -> Region:
    """Long thin strips of wood that nobody sees: they carry nothing, and would break off in the hand."""
    narrows = find_narrows(framed, limits.neck * THIN_SHARE, limits.neck)
    strips = [neck.region for neck in narrows.necks if not neck.region.is_empty]
    strips += [prong.region for prong in narrows.prongs]
    unseen = [strip for strip in strips if not _is_seen(strip, visible)]
    return as_region(shapely.difference(union(unseen), panel.frame))


def _widest_ways(narrows: Narrows, root: int) -> dict[int, float]:
    """For each body the narrowest neck on the widest way to the frame's body: the maximum spanning tree's path has it
    (Pollack 1960)."""
    graph = nx.Graph()
    for neck in narrows.necks:
        for a, b in combinations(neck.bodies, 2):
            if neck.width_mm > graph.get_edge_data(a, b, {"width": -1.0})["width"]:
                graph.add_edge(a, b, width=neck.width_mm)
    tree = nx.maximum_spanning_tree(graph, weight="width")
    widths = {root: math.inf}
    for a, b in nx.bfs_edges(tree, root):
        widths[b] = min(widths[a], tree.edges[a, b]["width"])
    return widths


def _is_seen(region: Region, visible: Region) -> bool:
    return can_be_seen(as_region(shapely.intersection(region, visible)))


def _is_plain(neck: Neck, islands: tuple[Island, ...], visible: Region) -> bool:
    """A visible neck that no island hangs by: worth a word, but nothing falls."""
    if neck.region.is_empty or not _is_seen(neck.region, visible):
        return False
    hung = [island.region for island in islands if island.neck_mm is not None]
    return not any(shapely.dwithin(neck.region, region, 0.02) for region in hung)


def _name_islands(layer: Layer, parts: list[_Part]) -> tuple[Island, ...]:
    """Name each island by its layer and the place of its shape among the layer's shapes, such as `garden#12`.

    So the name outlives edits of other shapes. A shape's second island is `garden#12b`, and so on from the top left.
    """
    shapes = [shape for shape in layer.shapes if shape.role == "wood" and not shape.geometry.is_empty]
    place = {element: i for i, element in enumerate(dict.fromkeys(shape.element for shape in layer.shapes), start=1)}
    tree = STRtree([shape.geometry for shape in shapes])
    found: dict[str, list[tuple[float, float, _Part]]] = {}
    for part in parts:
        near = tree.query(part.region, predicate="intersects")
        shared = [float(shapely.intersection(shapes[i].geometry, part.region).area) for i in near]
        element = shapes[int(near[int(np.argmax(shared))])].element if len(near) else ""
        x, y = point_on(part.region)
        found.setdefault(element, []).append((y, x, part))
    return tuple(
        Island(
            id=f"{layer.name}#{place.get(element, 0)}{_suffix(number)}",
            region=part.region,
            at_mm=(x, y),
            area_mm2=float(part.region.area),
            element=element,
            neck_mm=part.neck_mm,
            across=part.across,
        )
        for element in sorted(found, key=lambda name: place.get(name, 0))
        for number, (y, x, part) in enumerate(sorted(found[element], key=lambda entry: entry[:2]))
    )


def _suffix(number: int) -> str:
    """Nothing for the first, then b, c, ... z, 27, 28, ..."""
    if number == 0:
        return ""
    return chr(ord("a") + number) if number < 26 else f"-{number + 1}"
