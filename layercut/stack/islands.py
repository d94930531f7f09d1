"""Islands: wood that doesn't reach the frame through necks of the allowed width.

Enters: one sheet's wood, what of it is visible, the frame, the limits. Leaves: the wood without what nobody sees and
nothing needs, the islands, and the narrow places. Holds afterwards: all wood that isn't an island hangs on the frame.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations, compress

import networkx as nx
import numpy as np
import shapely
from shapely import LineString, MultiPolygon, Polygon, STRtree

from layercut.geometry.offsets import are_seen
from layercut.geometry.patchwork import Patchwork
from layercut.geometry.precision import AREA_MM2, NECK_SLACK_MM
from layercut.geometry.regions import Region, as_region, point_on, polygons_of, union
from layercut.job import LimitsJob
from layercut.model import Island, Layer, Panel
from layercut.stack.hairlines import part_threads
from layercut.stack.naming import name_pieces
from layercut.stack.necks import Narrows, Neck, Prong, find_narrows

NEAR_LIMITS = 4.0
"""How far around a cut it is looked for parts that hang now, in neck limits: only what lies in there as a whole is
found, so a leaf must have room."""


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
class Part:
    """Wood that isn't held: free (`neck_mm` None) or hanging by necks, with the lines across them."""

    region: Region
    neck_mm: float | None = None
    across: tuple[LineString, ...] = ()


def check_hold(layer: Layer, wood: Region, visible: Patchwork, panel: Panel, limits: LimitsJob) -> Hold:
    """Find what would fall out or snap off; hidden wood that would is left out, visible wood is an island."""
    framed, free = _split_by_frame(wood, panel)
    narrows = find_narrows(framed, limits.neck, limits.narrow_reach)
    at_first = _thin_places(narrows, framed, panel, limits)
    thin: Narrows | None = at_first
    slivers = _hidden_slivers(at_first, visible, panel, limits)
    scraps: list[Polygon] = []
    if not slivers.is_empty:
        framed, scraps = _split_by_frame(as_region(shapely.difference(framed, slivers)), panel)
        narrows, thin = find_narrows(framed, limits.neck, limits.narrow_reach), None
    in_sight = are_seen(free, visible)
    spare = tuple(compress(free, ~in_sight))
    pieces = [*compress(free, in_sight), *_seen_of(scraps, visible)]
    while True:
        hanging = _hanging(narrows, framed, panel)
        dropped = _unseen(hanging, visible, panel)
        if dropped.area < AREA_MM2:
            # Only what holds by the limit itself is worth looking at by a share of it.
            thin_parts = _thin_hanging(thin or _thin_places(narrows, framed, panel, limits), framed, hanging, panel)
            hanging += thin_parts
            dropped = _unseen(thin_parts, visible, panel)
        if dropped.area < AREA_MM2:
            break
        # Without the unseen parts others may hang on nothing, seen ones among them, so look again.
        framed, free = _split_by_frame(as_region(shapely.difference(framed, dropped)), panel)
        narrows, thin = find_narrows(framed, limits.neck, limits.narrow_reach), None
        pieces += _seen_of(free, visible)
    islands = _name_islands(layer, [*(Part(piece) for piece in pieces), *hanging])
    return Hold(
        wood=as_region(MultiPolygon([framed, *pieces])),
        islands=islands,
        spare=spare,
        necks=_plain_necks(narrows.necks, islands, visible),
        prongs=tuple(compress(narrows.prongs, are_seen([prong.region for prong in narrows.prongs], visible))),
    )


def hung_near(
    wood: Region, places: Sequence[Region], visible: Patchwork, panel: Panel, limits: LimitsJob
) -> tuple[Part, ...]:
    """The seen parts that hang by necks near some places, as far as what lies near tells: much less work than
    `check_hold`, which has the last word. Everything beyond is taken for wood that holds."""
    framed, _ = _frame_and_others(polygons_of(wood), panel)
    near, solid = _look_near(places, NEAR_LIMITS * limits.neck, framed, panel)
    narrows = find_narrows(solid, limits.neck, limits.narrow_reach)
    hanging = _hanging(narrows, solid, panel)
    hanging += _thin_hanging(_thin_places(narrows, solid, panel, limits), solid, hanging, panel)
    shapely.prepare(near)
    inside = [part for part in hanging if shapely.contains_properly(near, part.region)]
    return tuple(compress(inside, are_seen([part.region for part in inside], visible)))


def _look_near(places: Sequence[Region], reach_mm: float, framed: Polygon, panel: Panel) -> tuple[Region, Polygon]:
    """Boxes around some places, and the wood there with everything beyond taken for solid."""
    boxes = shapely.box(*shapely.bounds(np.array(places, dtype=object)).T)
    near = _filled(union(shapely.buffer(boxes, reach_mm, join_style="mitre")))
    open_near = shapely.difference(near, framed)
    solid, _ = _frame_and_others(polygons_of(shapely.difference(panel.outline, open_near)), panel)
    return near, solid


def _filled(region: Region) -> Region:
    """A region without its holes."""
    return union(Polygon(part.exterior) for part in polygons_of(region))


def _seen_of(pieces: Sequence[Polygon], visible: Patchwork) -> list[Polygon]:
    return list(compress(pieces, are_seen(pieces, visible)))


def _unseen(parts: Sequence[Part], visible: Patchwork, panel: Panel) -> Region:
    """What nobody sees of parts that aren't held; the frame is never given up."""
    regions = [part.region for part in parts]
    unseen = union(compress(regions, ~are_seen(regions, visible)))
    return as_region(shapely.difference(unseen, panel.frame))


def _split_by_frame(wood: Region, panel: Panel) -> tuple[Polygon, list[Polygon]]:
    """The piece that holds the frame, and the others; what hangs together by a thread only is apart."""
    return _frame_and_others(polygons_of(part_threads(wood)), panel)


def _frame_and_others(pieces: list[Polygon], panel: Panel) -> tuple[Polygon, list[Polygon]]:
    """The piece that holds the frame, and the others."""
    anchor = shapely.point_on_surface(panel.frame)
    framed = int(np.argmax(shapely.contains(pieces, anchor)))
    return pieces[framed], pieces[:framed] + pieces[framed + 1 :]


def _hanging(narrows: Narrows, framed: Polygon, panel: Panel) -> list[Part]:
    """The bodies that only necks join to the frame: every body but the frame's own."""
    if len(narrows.bodies) < 2:
        return []
    anchor = shapely.point_on_surface(panel.frame)
    root = int(np.argmax(shapely.contains(narrows.bodies, anchor)))
    widths = _widest_ways(narrows, root)
    necks_of: dict[int, list[Neck]] = {}
    for neck in narrows.necks:
        for body in neck.bodies:
            necks_of.setdefault(body, []).append(neck)
    others = [index for index in range(len(narrows.bodies)) if index != root]
    regions = Patchwork(framed).shared_with_each([narrows.bodies[index] for index in others])
    return [
        Part(as_region(region), widths[index], tuple(neck.across for neck in necks_of[index]))
        for index, region in zip(others, regions, strict=True)
    ]


THIN_SHARE = 1 / 3
"""Wood narrower than the limit all over is held against this share of it: what it hangs by must not be far thinner
than it is itself."""


def _thin_places(narrows: Narrows, framed: Polygon, panel: Panel, limits: LimitsJob) -> Narrows:
    """Where wood is narrower than the share of the limit; prongs that reach further than either limit are told.

    That lies in what is narrower than the limit itself, so it's looked for there only: in necks, in what has room for
    the smaller disc, and in what is long.
    """
    limit, reach = limits.neck * THIN_SHARE, min(limits.neck, limits.narrow_reach)
    places = [*narrows.rooms(limit, reach), *(neck.region for neck in narrows.necks if not neck.region.is_empty)]
    if not places:
        return Narrows((framed,), (), ())
    _, solid = _look_near(places, limits.neck, framed, panel)
    return find_narrows(solid, limit, reach)


def _thin_hanging(thin: Narrows, framed: Polygon, known: Sequence[Part], panel: Panel) -> list[Part]:
    """Wood too thin for a disc as wide as the limit, which hangs by necks much thinner still."""
    found = _hanging(thin, framed, panel)
    if not found:
        return []
    bodies = union(part.region for part in known)
    return [part for part in found if not shapely.intersects(part.region, bodies)]


def _hidden_slivers(thin: Narrows, visible: Patchwork, panel: Panel, limits: LimitsJob) -> Region:
    """Long thin strips of wood that nobody sees: they carry nothing, and would break off in the hand."""
    strips = [neck.region for neck in thin.necks if not neck.region.is_empty]
    strips += [prong.region for prong in thin.prongs if prong.reach_mm > limits.neck]
    unseen = union(compress(strips, ~are_seen(strips, visible)))
    return as_region(shapely.difference(unseen, panel.frame))


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


def _plain_necks(necks: Sequence[Neck], islands: Sequence[Island], visible: Patchwork) -> tuple[Neck, ...]:
    """The visible necks that no island hangs by: worth a word, but nothing falls."""
    own = [neck for neck in necks if not neck.region.is_empty]
    plain = are_seen([neck.region for neck in own], visible)
    hung = [island.region for island in islands if island.neck_mm is not None]
    if hung and own:
        held, _ = STRtree(hung).query([neck.region for neck in own], predicate="dwithin", distance=2 * NECK_SLACK_MM)
        plain[held] = False
    return tuple(compress(own, plain))


def _name_islands(layer: Layer, parts: Sequence[Part]) -> tuple[Island, ...]:
    """The parts that aren't held as islands with their names, by their shapes, then from the top left."""
    named = list(zip(name_pieces(layer, [part.region for part in parts]), parts, strict=True))
    named.sort(key=lambda one: (one[0].place, point_on(one[1].region)[::-1], one[0].id))
    return tuple(
        Island(
            id=name.id,
            region=part.region,
            at_mm=point_on(part.region),
            area_mm2=float(part.region.area),
            element=name.element,
            neck_mm=part.neck_mm,
            across=part.across,
            aliases=name.aliases,
            old_id=name.old_id,
        )
        for name, part in named
    )
