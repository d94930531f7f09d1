"""Ties: the least visible strips that join what would fall out.

Enters: a sheet's wood, what of the sheet must be open, the tie's width. Leaves: `Strip`s, straight and as wide as
asked along their whole length. A tie runs from the core of one body to the core of another (the places that a disc of
its width can visit), so it is as wide where it meets them as between. Of all that could serve, the spanning tree of
least visible area is taken (Kruskal 1956, by networkx), and bodies that would swing on one tie get a second (weighted
2-edge augmentation, by networkx).
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product

import networkx as nx
import numpy as np
import shapely
from shapely import LineString, MultiLineString, Point, Polygon, STRtree
from shapely.geometry.base import BaseGeometry

from layercut.geometry.offsets import dilate, shrink
from layercut.geometry.patchwork import Patchwork
from layercut.geometry.precision import AREA_MM2, NECK_SLACK_MM
from layercut.geometry.regions import Region, as_region, polygons_of, union

LENGTH_COST_MM2_PER_MM = 0.01
"""What a tie's length counts beside its visible area: of two hidden ties the shorter."""

SAMPLES = 24
"""Points of a body's core from which a tie is tried, at most."""

NEIGHBOURS = 6
"""Bodies nearest to a body that a tie to is tried, besides the frame's."""

SIGHT_STEP_MM = 1.0
"""Step, mm, at which the ground along a level or upright line is looked at, before the promising ones are priced."""

MOUTHS = 15
"""Points along each mouth of a hidden way, its middle among them, between which a straight line is tried."""

SWING_WIDTHS = 8.0
"""A body that reaches further from its only tie than this many widths would swing (common practice: none found)."""


@dataclass(frozen=True, slots=True)
class Strip:
    """A tie's centre line, its region, and the area of it that is seen, mm2."""

    line: LineString
    region: Polygon
    visible_mm2: float


@dataclass(frozen=True, slots=True)
class Widths:
    """How wide wood must be that carries something, and how wide ties are, mm."""

    neck_mm: float
    tie_mm: float


@dataclass(frozen=True, slots=True)
class _Candidate:
    """A strip that could join two nodes, and its cost."""

    nodes: tuple[int, int]
    strip: Strip
    cost: float


def find_ties(
    wood: Region, opening: Region, anchor: Point, widths: Widths, islands: Sequence[Region] = ()
) -> tuple[Strip, ...]:
    """The strips that join every body of the wood to the body that holds `anchor`, a point of the frame.

    `islands` are parts of the wood that must be joined although they may be too thin to be bodies. Empty when nothing
    needs joining.
    """
    neck_mm, width_mm = widths.neck_mm, widths.tie_mm
    nodes = _nodes(wood, neck_mm)
    nodes += [_middle(island) for island in islands if not shapely.intersects(island, nodes).any()]
    if len(nodes) < 2:
        return ()
    root = int(np.argmin(shapely.distance(np.array(nodes, dtype=object), anchor)))
    shown = Patchwork(opening)
    candidates = list(_candidates(nodes, root, shown, width_mm))
    hidden = {candidate.nodes[0] for candidate in candidates if candidate.strip.visible_mm2 <= AREA_MM2}
    seen = [index for index in range(len(nodes)) if index != root and index not in hidden]
    if seen:
        candidates += _hidden_candidates(nodes, root, seen, _ground(wood, opening), shown, width_mm=width_mm)
        candidates += _square_candidates(nodes, root, seen, opening, shown, width_mm=width_mm)
    chosen = _spanning_tree(candidates, len(nodes))
    chosen += _second_ties(chosen, candidates, nodes, root, width_mm)
    return tuple(candidate.strip for candidate in sorted(chosen, key=lambda c: c.strip.line.coords[0]))


def _nodes(wood: Region, neck_mm: float) -> list[BaseGeometry]:
    """The core of every body; a piece too thin to have one is the middle of its widest place."""
    radius = max(neck_mm / 2 - NECK_SLACK_MM, 0.0)
    cores: list[BaseGeometry] = [*find_cores(wood, radius)] if radius else [*polygons_of(wood)]
    pieces = polygons_of(wood)
    held = set(STRtree(pieces).query(cores, predicate="intersects")[1].tolist()) if cores else set()
    for index, piece in enumerate(pieces):
        if index not in held:
            cores.append(_middle(piece))
    return cores


def find_cores(wood: Region, radius_mm: float) -> list[Polygon]:
    """Where the middle of a disc of this radius can be. May be empty."""
    cores = np.array(polygons_of(shrink(wood, radius_mm)), dtype=object)
    if not len(cores):
        return []
    boundary = shapely.boundary(wood)
    shapely.prepare(boundary)
    room = shapely.distance(boundary, shapely.point_on_surface(cores))
    return list(cores[room >= 0.9 * radius_mm])


def _middle(region: Region) -> Point:
    """The middle of a region's widest place."""
    widest = max(polygons_of(region), key=lambda part: float(part.area))
    return Point(shapely.maximum_inscribed_circle(widest).coords[0])


def _candidates(nodes: Sequence[BaseGeometry], root: int, shown: Patchwork, width_mm: float) -> Iterator[_Candidate]:
    """For each body, the cheapest strip to each of its neighbours, and the cheapest that lies well apart from it."""
    tree = STRtree(list(nodes))
    for node in nodes:
        shapely.prepare(node)
    for index, node in enumerate(nodes):
        if index == root:
            continue
        starts = _samples(node)
        for other in _neighbours(tree, nodes, index, root):
            lines = shapely.shortest_line(starts, nodes[other])
            strips, costs = _price(lines, shown, width_mm)
            for best in _cheapest_apart(lines, costs, 4 * width_mm):
                yield _Candidate((index, other), strips[best], float(costs[best]))


def _hidden_candidates(
    nodes: Sequence[BaseGeometry],
    root: int,
    wanted: Sequence[int],
    ground: Region,
    shown: Patchwork,
    *,
    width_mm: float,
) -> Iterator[_Candidate]:
    """Strips that nobody sees though they are not the shortest: along the ground that is not opened."""
    ways = shapely.difference(shrink(ground, width_mm / 2 - NECK_SLACK_MM / 2), union(nodes))
    tree = STRtree(list(nodes))
    near = {index: _neighbours(tree, nodes, index, root) for index in wanted}
    for way in polygons_of(ways):
        room = dilate(way, NECK_SLACK_MM)
        shapely.prepare(room)
        met = set(tree.query(room, predicate="intersects").tolist())
        mouths = {index: _mouth(room, nodes[index]) for index in sorted(met)}
        for index in sorted(met.intersection(wanted)):
            for other in sorted(met.intersection(near[index])):
                ends = shapely.get_coordinates(list(product(mouths[index], mouths[other])))
                lines = shapely.linestrings(ends.reshape(-1, 2, 2))
                lines = lines[shapely.covers(room, lines)]
                if len(lines):
                    shortest = lines[[int(np.argmin(shapely.length(lines)))]]
                    strips, costs = _price(shortest, shown, width_mm)
                    yield _Candidate((index, other), strips[0], float(costs[0]))


def _ground(wood: Region, opening: Region) -> Region:
    """What is not opened, wood or not."""
    filled = union(Polygon(piece.exterior) for piece in polygons_of(wood))
    return as_region(shapely.difference(filled, opening))


def _square_candidates(
    nodes: Sequence[BaseGeometry],
    root: int,
    wanted: Sequence[int],
    opening: Region,
    shown: Patchwork,
    *,
    width_mm: float,
) -> Iterator[_Candidate]:
    """Level and upright strips to the frame's body: longer ones may lie behind something for most of their way."""
    x0, y0, x1, y1 = nodes[root].bounds
    steps = np.arange(0, max(x1 - x0, y1 - y0), SIGHT_STEP_MM)
    rays = np.array([(1, 0), (0, 1), (-1, 0), (0, -1)])[:, None] * steps[:, None]  # (4, n, 2)
    shapely.prepare(opening)
    for index in wanted:
        points = [point for point in _samples(nodes[index]) if isinstance(point, Point)]
        starts = shapely.get_coordinates(points)
        along = starts[:, None, None] + rays  # (starts, 4, n, 2)
        arrived = shapely.contains_xy(nodes[root], along[..., 0], along[..., 1])
        seen = np.cumsum(shapely.contains_xy(opening, along[..., 0], along[..., 1]), axis=-1)
        stops = np.argmax(arrived, axis=-1)
        cost = np.take_along_axis(seen, stops[..., None], axis=-1)[..., 0] * width_mm + LENGTH_COST_MM2_PER_MM * stops
        cost[~arrived.any(axis=-1)] = np.inf
        start, way = np.unravel_index(int(np.argmin(cost)), cost.shape)
        if np.isfinite(cost[start, way]):
            ray = LineString([starts[start], along[start, way, stops[start, way]]])
            line = shapely.shortest_line(points[start], shapely.intersection(ray, nodes[root]))
            strips, costs = _price(np.array([line], dtype=object), shown, width_mm)
            yield _Candidate((index, root), strips[0], float(costs[0]))


def _mouth(way: Region, node: BaseGeometry) -> list[Point]:
    """Points of a body's core where a way meets it."""
    if isinstance(node, Point):
        return [node]
    places = (np.arange(MOUTHS) + 0.5) / MOUTHS
    edges = shapely.get_parts(shapely.intersection(shapely.boundary(node), way))
    merged = shapely.line_merge(MultiLineString([edge for edge in edges if isinstance(edge, LineString)]))
    parts = [part for part in shapely.get_parts(merged) if not part.is_empty]
    return [point for part in parts for point in shapely.line_interpolate_point(part, places, normalized=True)]


def _samples(node: BaseGeometry) -> np.ndarray[tuple[int], np.dtype[np.object_]]:
    """Points on a body's core, evenly along its outline, and the outline itself for the very shortest line."""
    if isinstance(node, Point):
        return np.array([node], dtype=object)
    ring = node.exterior
    places = np.linspace(0, 1, SAMPLES, endpoint=False)
    return np.append(shapely.line_interpolate_point(ring, places, normalized=True), ring)


def _neighbours(tree: STRtree, nodes: Sequence[BaseGeometry], index: int, root: int) -> list[int]:
    reach = float(shapely.distance(nodes[index], nodes[root]))
    near = tree.query(nodes[index], predicate="dwithin", distance=reach + 1e-6)
    others = [int(other) for other in near if other not in (index, root)]
    others.sort(key=lambda other: (float(shapely.distance(nodes[index], nodes[other])), other))
    return [root, *others[:NEIGHBOURS]]


def _price(
    lines: np.ndarray[tuple[int], np.dtype[np.object_]], shown: Patchwork, width_mm: float
) -> tuple[list[Strip], np.ndarray[tuple[int], np.dtype[np.float64]]]:
    """The strip along each line, and what it costs."""
    strips = shapely.buffer(lines, width_mm / 2, quad_segs=8)
    visible = shapely.area(shown.shared_with_each(strips))
    costs = visible + LENGTH_COST_MM2_PER_MM * shapely.length(lines)
    found = [Strip(*parts) for parts in zip(lines, strips, visible.tolist(), strict=True)]
    return found, costs


def _cheapest_apart(
    lines: np.ndarray[tuple[int], np.dtype[np.object_]],
    costs: np.ndarray[tuple[int], np.dtype[np.float64]],
    apart_mm: float,
) -> list[int]:
    """The cheapest line, and the cheapest of those that lie further from it than a distance."""
    best = int(np.argmin(costs))
    far = np.flatnonzero(shapely.distance(lines, lines[best]) > apart_mm)
    return [best, int(far[np.argmin(costs[far])])] if len(far) else [best]


def _spanning_tree(candidates: Sequence[_Candidate], count: int) -> list[_Candidate]:
    """The cheapest set of strips that joins all bodies."""
    graph = nx.Graph()
    graph.add_nodes_from(range(count))
    for candidate in candidates:
        a, b = candidate.nodes
        known = graph.get_edge_data(a, b)
        if known is None or candidate.cost < known["weight"]:
            graph.add_edge(a, b, weight=candidate.cost, candidate=candidate)
    tree = nx.minimum_spanning_tree(graph)
    return [data["candidate"] for _, _, data in sorted(tree.edges(data=True), key=lambda edge: edge[:2])]


def _second_ties(
    chosen: Sequence[_Candidate],
    candidates: Sequence[_Candidate],
    nodes: Sequence[BaseGeometry],
    root: int,
    width_mm: float,
) -> list[_Candidate]:
    """What must be added so that no body of any size hangs on a single tie."""
    graph = nx.Graph()
    graph.add_node(root)
    for number, candidate in enumerate(chosen):
        a, b = candidate.nodes
        # Halving each tie by a node of its own lets the augmentation put a second one beside it.
        graph.add_edges_from([(a, ("tie", number)), (("tie", number), b)])
    _drop_light_ends(graph, chosen, nodes, root, width_mm)
    spare: dict[tuple[int, int], _Candidate] = {}
    for candidate in candidates:
        a, b = sorted(candidate.nodes)
        if candidate in chosen or a not in graph or b not in graph:
            continue
        apart = all(
            shapely.distance(candidate.strip.line, c.strip.line) > 2 * width_mm
            for c in chosen
            if {a, b} == {*c.nodes}
        )
        if apart and ((a, b) not in spare or candidate.cost < spare[a, b].cost):
            spare[a, b] = candidate
    offered = [(a, b, candidate.cost) for (a, b), candidate in sorted(spare.items(), key=lambda item: item[0])]
    return [spare[min(a, b), max(a, b)] for a, b in _augment(graph, offered)]


def _augment(graph: nx.Graph, offered: Sequence[tuple[int, int, float]]) -> Iterator[tuple[int, int]]:
    """The edges to add so that no edge is a bridge, as far as the offered ones allow."""
    with_all = graph.copy()
    with_all.add_weighted_edges_from(offered)
    graph.remove_edges_from(list(nx.bridges(with_all)))
    for part in sorted(nx.connected_components(graph), key=len, reverse=True):
        inside = [edge for edge in offered if edge[0] in part and edge[1] in part]
        if len(part) > 1 and inside:
            yield from sorted(nx.k_edge_augmentation(graph.subgraph(part), 2, avail=inside))


def _drop_light_ends(
    graph: nx.Graph, chosen: Sequence[_Candidate], nodes: Sequence[BaseGeometry], root: int, width_mm: float
) -> None:
    """Take away the ends of the tree that are too small to swing, until none is left."""
    while True:
        light = []
        for node in graph.nodes:
            if isinstance(node, tuple) or node == root or graph.degree(node) != 1:
                continue
            ((_, number),) = graph.neighbors(node)
            if _reach(nodes[node], chosen[number].strip, width_mm) <= SWING_WIDTHS * width_mm:
                light += [node, ("tie", number)]
        if not light:
            return
        graph.remove_nodes_from(light)


def _reach(node: BaseGeometry, strip: Strip, width_mm: float) -> float:
    """How far a body reaches from its tie, or the tie itself through the open, mm: hidden, it is glued all along."""
    points = shapely.points(shapely.get_coordinates(node))
    return max(float(shapely.distance(points, strip.line).max()), strip.visible_mm2 / width_mm)
