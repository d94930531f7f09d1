"""Ties: the least visible strips that join what would fall out.

Enters: a sheet's wood, what of the sheet must be open, the tie's width. Leaves: `Strip`s, straight and as wide as
asked along their whole length. A tie runs from the core of one body to the core of another (the places that a disc of
its width can visit), so it is as wide where it meets them as between. Of all that could serve, the spanning tree of
least visible area is taken (Kruskal 1956, by networkx), and bodies that would swing on one tie get a second (weighted
2-edge augmentation by a least branching, by networkx).
"""

import math
from collections.abc import Hashable, Iterator, Sequence
from dataclasses import dataclass
from typing import TypeAlias

import networkx as nx
import numpy as np
import shapely
from shapely import LineString, Point, Polygon, STRtree
from shapely.geometry.base import BaseGeometry

from layercut.geometry.offsets import shrink
from layercut.geometry.precision import NECK_SLACK_MM
from layercut.geometry.regions import Region, as_region, polygons_of
from layercut.geometry.widths.graph import find_widths
from layercut.stack.strips import NEARLY, Candidate, Strip, find_candidates

SWING_WIDTHS = 8.0
"""A body that reaches further from its only tie than this many widths would swing (common practice: none found)."""


TOO_THIN_MM2 = 1e9
"""What an end at a body thinner than a neck may be counts: more than any strips do, so nothing is hung on one."""

ROUNDING_MM = 1e-4
"""By so much a body may have less room than its core says, mm: arcs are chords."""

HAIR_MM = 0.003
"""Parts of a core that hang together by less than twice this are looked at apart, mm."""

_Node: TypeAlias = Hashable
"""A body by its number, or the middle of a tie."""


@dataclass(frozen=True, slots=True)
class PlacedStrip:
    """A strip that is to be cut, and the piece that it holds."""

    strip: Strip
    holds: str


@dataclass(frozen=True, slots=True)
class TieWidths:
    """How wide wood must be that carries something, and how wide ties are, mm; and how many times its width a tie may
    be long."""

    neck_mm: float
    tie_mm: float
    slender: float = math.inf


@dataclass(frozen=True, slots=True)
class TieSearch:
    """What could be tied to what: the cores of all bodies, which of them holds the frame, and the strips that could
    join two of them."""

    nodes: tuple[BaseGeometry, ...]
    root: int
    candidates: tuple[Candidate, ...]


def find_ties(
    wood: Region, opening: Region, anchor: Point, widths: TieWidths, islands: Sequence[Region] = ()
) -> tuple[Strip, ...]:
    """The strips that join every body of the wood to the body that holds `anchor`, a point of the frame.

    `islands` are parts of the wood that must be joined although they may be too thin to be bodies. Empty when nothing
    needs joining.
    """
    found = search_ties(wood, opening, anchor, widths, islands)
    if found is None:
        return ()
    chosen = spanning_tree(found.candidates, found.nodes)
    chosen += second_ties(chosen, found.candidates, found.nodes, found.root, widths.tie_mm)
    return tuple(candidate.strip for candidate in sorted(chosen, key=lambda c: c.strip.line.coords[0]))


def search_ties(
    wood: Region, opening: Region, anchor: Point, widths: TieWidths, islands: Sequence[Region] = ()
) -> TieSearch | None:
    """Every strip worth a thought, none of them too slender; None when nothing needs joining."""
    neck_mm, width_mm = widths.neck_mm, widths.tie_mm
    nodes = _nodes(wood, neck_mm, islands)
    if len(nodes) < 2:
        return None
    root = int(np.argmin(shapely.distance(np.array(nodes, dtype=object), anchor)))
    candidates = find_candidates(wood, nodes, root, opening, width_mm, widths.slender * width_mm)
    return TieSearch(tuple(nodes), root, tuple(candidates))


def _nodes(wood: Region, neck_mm: float, islands: Sequence[Region]) -> list[BaseGeometry]:
    """The core of every body; an island or a piece too thin to have one is the middle of its widest place."""
    radius = max(neck_mm / 2 - NECK_SLACK_MM, 0.0)
    nodes: list[BaseGeometry] = [*find_cores(wood, radius)] if radius else [*polygons_of(wood)]
    for parts in (islands, polygons_of(wood)):
        known = set(STRtree(parts).query(nodes, predicate="intersects")[1].tolist()) if nodes else set()
        nodes += [_middle(part) for index, part in enumerate(parts) if index not in known]
    return nodes


def find_cores(wood: Region, radius_mm: float) -> list[Polygon]:
    """Where the middle of a disc of this radius can be, each place that it can't leave by itself. May be empty."""
    cores = np.array(polygons_of(shrink(wood, radius_mm)), dtype=object)
    if not len(cores):
        return []
    # Arcs are chords, so a place may be found where there is just no room, or two that just don't hang together.
    inner = shapely.buffer(cores, -HAIR_MM, quad_segs=1)
    parts = shapely.get_num_geometries(inner) * ~shapely.is_empty(inner)
    boundary = shapely.boundary(wood)
    shapely.prepare(boundary)
    room = shapely.distance(boundary, shapely.point_on_surface(cores))
    whole = cores[(parts == 1) | ((parts == 0) & (room >= radius_mm - ROUNDING_MM))]
    return [
        *whole,
        *(part for place in np.flatnonzero(parts > 1) for part in _pinched(cores[place], wood, radius_mm)),
    ]


def _pinched(core: Polygon, wood: Region, radius_mm: float) -> Iterator[Polygon]:
    """The largest parts of a core that hairs join: those that a disc can really not roll between."""
    parts = sorted(polygons_of(shapely.buffer(core, -HAIR_MM, quad_segs=1)), key=lambda part: -part.area)
    (piece,) = (piece for piece in polygons_of(wood) if shapely.intersects(piece, shapely.point_on_surface(core)))
    graph = find_widths([piece], 2 * radius_mm)
    body = graph.components(graph.width >= 2 * radius_mm)
    seen = set()
    for part in parts:
        middle = shapely.point_on_surface(part)
        label = body[graph.mesh.at(middle.x, middle.y)]
        if label not in seen:
            seen.add(label)
            grown = as_region(shapely.intersection(shapely.buffer(part, HAIR_MM, quad_segs=1), core))
            yield max(polygons_of(grown), key=lambda polygon: float(polygon.area))


def _middle(region: Region) -> Point:
    """The middle of a region's widest place."""
    widest = max(polygons_of(region), key=lambda part: float(part.area))
    return Point(shapely.maximum_inscribed_circle(widest).coords[0])


def spanning_tree(candidates: Sequence[Candidate], nodes: Sequence[BaseGeometry]) -> list[Candidate]:
    """The cheapest set of strips that joins all bodies, over as few as possible that are too thin to carry others."""
    graph = nx.Graph()
    graph.add_nodes_from(range(len(nodes)))
    for candidate in candidates:
        a, b = candidate.nodes
        cost = candidate.cost + TOO_THIN_MM2 * sum(isinstance(nodes[node], Point) for node in (a, b))
        known = graph.get_edge_data(a, b)
        if known is None or cost < known["weight"]:
            graph.add_edge(a, b, weight=cost, candidate=candidate)
    tree = nx.minimum_spanning_tree(graph)
    return [data["candidate"] for _, _, data in sorted(tree.edges(data=True), key=lambda edge: edge[:2])]


def second_ties(
    chosen: Sequence[Candidate],
    candidates: Sequence[Candidate],
    nodes: Sequence[BaseGeometry],
    root: int,
    width_mm: float,
) -> list[Candidate]:
    """What must be added so that no body of any size hangs on a single tie."""
    graph = nx.Graph()
    graph.add_node(root)
    for number, candidate in enumerate(chosen):
        a, b = candidate.nodes
        # Halving each tie by a node of its own lets the augmentation put a second one beside it.
        graph.add_edges_from([(a, ("tie", number)), (("tie", number), b)])
    homes = _merge_light_ends(graph, chosen, nodes, root, width_mm)
    taken = {id(candidate) for candidate in chosen}
    joined: dict[tuple[int, ...], list[LineString]] = {}
    for candidate in chosen:
        joined.setdefault(tuple(sorted(candidate.nodes)), []).append(candidate.strip.line)
    spare: dict[tuple[int, int], list[tuple[float, Candidate]]] = {}
    for candidate in candidates:
        a, b = sorted(homes.get(node, node) for node in candidate.nodes)
        if id(candidate) in taken or a == b:
            continue
        beside = joined.get(tuple(sorted(candidate.nodes)), [])
        apart = min((shapely.distance(candidate.strip.line, line) for line in beside), default=math.inf)
        if apart > 2 * width_mm:
            spare.setdefault((a, b), []).append((apart, candidate))
    best = {pair: _steadiest(offers) for pair, offers in spare.items()}
    offered = [(a, b, candidate.cost) for (a, b), candidate in sorted(best.items(), key=lambda item: item[0])]
    return [best[min(a, b), max(a, b)] for a, b in _augment(graph, offered)]


def _steadiest(offers: Sequence[tuple[float, Candidate]]) -> Candidate:
    """Of all that cost little more than the cheapest the one that lies farthest from the ties that are there."""
    most = NEARLY * min(candidate.cost for _, candidate in offers)
    return max(
        (offer for offer in offers if offer[1].cost <= most),
        key=lambda offer: (offer[0], -offer[1].cost),
    )[1]


def _augment(graph: nx.Graph, offered: Sequence[tuple[int, int, float]]) -> Iterator[tuple[int, int]]:
    """The edges to add to a tree so that no edge of it is a bridge, as far as the offered ones allow."""
    with_all = graph.copy()
    with_all.add_weighted_edges_from(offered)
    graph.remove_edges_from(list(nx.bridges(with_all)))
    for part in sorted(nx.connected_components(graph), key=len, reverse=True):
        inside = [edge for edge in offered if edge[0] in part and edge[1] in part]
        if len(part) > 1 and inside:
            yield from _second_ways(graph.subgraph(part), inside)


def _second_ways(tree: nx.Graph, offered: Sequence[tuple[int, int, float]]) -> list[tuple[int, int]]:
    """Edges that leave a tree without a bridge, for at most twice the least cost (Frederickson and JaJa 1981).

    Each way down from an ancestor stands for the edge that closes it, and the tree's edges lead up for nothing: the
    cheapest branching from the root takes the edges. Those that turn out to be needless are dropped, dear ones first.
    (networkx's own augmentation keeps but the last of two edges that end in one node.)
    """
    root = next(node for node in tree if tree.degree(node) == 1)
    parent = {node: above for above, node in nx.bfs_edges(tree, root)}
    ways = nx.DiGraph()
    ways.add_weighted_edges_from((node, above, 0.0) for node, above in parent.items() if above != root)
    for a, b, cost in sorted(offered, key=lambda edge: edge[2]):
        top = _lowest_common(parent, a, b)
        for end in (a, b):
            if end != top and not ways.has_edge(top, end):
                ways.add_edge(top, end, weight=cost, closes=(a, b, cost))
    # The tree's own edges lead up only, so what lies below one is reached by an edge that closes a way around it.
    branching = nx.minimum_spanning_arborescence(ways, preserve_attrs=True)
    taken = {closes for *_, closes in branching.edges(data="closes") if closes is not None}
    whole = nx.Graph(tree)
    whole.add_edges_from((a, b) for a, b, _ in taken)
    needed = []
    for a, b, _ in sorted(taken, key=lambda edge: (-edge[2], edge)):
        whole.remove_edge(a, b)
        if nx.has_bridges(whole):
            whole.add_edge(a, b)
            needed.append((a, b))
    return sorted(needed)


def _lowest_common(parent: dict[_Node, _Node], a: _Node, b: _Node) -> _Node:
    """The lowest node of a tree above two, or one of them."""
    above = {a}
    while a in parent:
        a = parent[a]
        above.add(a)
    while b not in above:
        b = parent[b]
    return b


def _merge_light_ends(
    graph: nx.Graph, chosen: Sequence[Candidate], nodes: Sequence[BaseGeometry], root: int, width_mm: float
) -> dict[int, int]:
    """Take the ends of the tree that are too small to swing as one with what they hang on, until none is left; the
    node that each of them is one with then."""
    homes: dict[int, int] = {}
    while True:
        light: dict[int, int] = {}
        for node in graph.nodes:
            if isinstance(node, tuple) or node == root or graph.degree(node) != 1:
                continue
            ((_, number),) = graph.neighbors(node)
            if reach_mm(nodes[node], chosen[number].strip, width_mm) <= SWING_WIDTHS * width_mm:
                light[node] = number
        if not light:
            return homes
        for node, number in light.items():
            a, b = chosen[number].nodes
            home = b if node == a else a
            homes = {one: home if held == node else held for one, held in homes.items()} | {node: home}
            graph.remove_nodes_from([node, ("tie", number)])


def reach_mm(node: BaseGeometry, strip: Strip, width_mm: float) -> float:
    """How far a body reaches from its tie, or the tie itself through the open, mm: hidden, it is glued all along."""
    points = shapely.points(shapely.get_coordinates(node))
    return max(float(shapely.distance(points, strip.line).max()), strip.visible_mm2 / width_mm)


def would_swing(chosen: Sequence[Candidate], nodes: Sequence[BaseGeometry], root: int, width_mm: float) -> list[int]:
    """The bodies that a single strip holds although they reach too far from it."""
    graph = nx.MultiGraph()
    graph.add_node(root)
    for number, candidate in enumerate(chosen):
        graph.add_edge(*candidate.nodes, key=number)
    simple = nx.Graph(graph)
    depth = nx.single_source_shortest_path_length(simple, root)
    swinging = []
    for a, b in nx.bridges(simple):
        held = max(a, b, key=lambda node: depth.get(node, 0))
        (number, *more) = graph[a][b]
        if not more and reach_mm(nodes[held], chosen[number].strip, width_mm) > SWING_WIDTHS * width_mm:
            swinging.append(held)
    return sorted(swinging)
