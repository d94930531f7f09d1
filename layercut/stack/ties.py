"""Ties: the least visible strips that join what would fall out.

Enters: a sheet's wood, what of the sheet must be open, the tie's width. Leaves: `Strip`s, straight and as wide as
asked along their whole length. A tie runs from the core of one body to the core of another (the places that a disc of
its width can visit), so it is as wide where it meets them as between. Of all that could serve, the spanning tree of
least visible area is taken (Kruskal 1956, by networkx), and bodies that would swing on one tie get a second (weighted
2-edge augmentation, by networkx).
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import networkx as nx
import numpy as np
import shapely
from shapely import LineString, Point, Polygon, STRtree
from shapely.geometry.base import BaseGeometry

from layercut.geometry.offsets import shrink
from layercut.geometry.patchwork import Patchwork
from layercut.geometry.precision import NECK_SLACK_MM
from layercut.geometry.regions import Region, polygons_of
from layercut.stack.strips import Candidate, Strip, find_candidates

SWING_WIDTHS = 8.0
"""A body that reaches further from its only tie than this many widths would swing (common practice: none found)."""


@dataclass(frozen=True, slots=True)
class PlacedStrip:
    """A strip that is to be cut, and the piece that it holds."""

    strip: Strip
    holds: str


@dataclass(frozen=True, slots=True)
class Widths:
    """How wide wood must be that carries something, and how wide ties are, mm; and how many times its width a tie may
    be long."""

    neck_mm: float
    tie_mm: float
    slender: float = math.inf


@dataclass(frozen=True, slots=True)
class Search:
    """What could be tied to what: the cores of all bodies, which of them holds the frame, and the strips that could
    join two of them."""

    nodes: tuple[BaseGeometry, ...]
    root: int
    candidates: tuple[Candidate, ...]


def find_ties(
    wood: Region, opening: Region, anchor: Point, widths: Widths, islands: Sequence[Region] = ()
) -> tuple[Strip, ...]:
    """The strips that join every body of the wood to the body that holds `anchor`, a point of the frame.

    `islands` are parts of the wood that must be joined although they may be too thin to be bodies. Empty when nothing
    needs joining.
    """
    found = search_ties(wood, opening, anchor, widths, islands)
    if found is None:
        return ()
    chosen = spanning_tree(found.candidates, len(found.nodes))
    chosen += second_ties(chosen, found.candidates, found.nodes, found.root, widths.tie_mm)
    return tuple(candidate.strip for candidate in sorted(chosen, key=lambda c: c.strip.line.coords[0]))


def search_ties(
    wood: Region, opening: Region, anchor: Point, widths: Widths, islands: Sequence[Region] = ()
) -> Search | None:
    """Every strip worth a thought, none of them too slender; None when nothing needs joining."""
    neck_mm, width_mm = widths.neck_mm, widths.tie_mm
    nodes = _nodes(wood, neck_mm)
    cored = set(STRtree(nodes).query(np.array(islands, dtype=object), predicate="intersects")[0].tolist())
    nodes += [_middle(island) for index, island in enumerate(islands) if index not in cored]
    if len(nodes) < 2:
        return None
    root = int(np.argmin(shapely.distance(np.array(nodes, dtype=object), anchor)))
    candidates = find_candidates(wood, nodes, root, opening, width_mm)
    return Search(tuple(nodes), root, tuple(_stout(candidates, wood, widths)))


def _stout(candidates: Sequence[Candidate], wood: Region, widths: Widths) -> Iterator[Candidate]:
    """The candidates that are no more slender than allowed, each with its length from wood to wood."""
    lines = [candidate.strip.line for candidate in candidates]
    inside = shapely.length(Patchwork(wood).shared_with_each(lines)) if lines else []
    for candidate, within in zip(candidates, inside, strict=True):
        length = max(float(candidate.strip.line.length - within), 0.0)
        if length <= widths.slender * widths.tie_mm:
            yield replace(candidate, strip=replace(candidate.strip, length_mm=length))


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


def spanning_tree(candidates: Sequence[Candidate], count: int) -> list[Candidate]:
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
    _drop_light_ends(graph, chosen, nodes, root, width_mm)
    taken = {id(candidate) for candidate in chosen}
    joined: dict[tuple[int, ...], list[LineString]] = {}
    for candidate in chosen:
        joined.setdefault(tuple(sorted(candidate.nodes)), []).append(candidate.strip.line)
    spare: dict[tuple[int, int], Candidate] = {}
    for candidate in candidates:
        a, b = sorted(candidate.nodes)
        if id(candidate) in taken or a not in graph or b not in graph:
            continue
        beside = joined.get((a, b), [])
        apart = all(shapely.distance(candidate.strip.line, line) > 2 * width_mm for line in beside)
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
            yield from sorted(nx.k_edge_augmentation(graph.subgraph(part), 2, avail=inside, partial=True))


def _drop_light_ends(
    graph: nx.Graph, chosen: Sequence[Candidate], nodes: Sequence[BaseGeometry], root: int, width_mm: float
) -> None:
    """Take away the ends of the tree that are too small to swing, until none is left."""
    while True:
        light = []
        for node in graph.nodes:
            if isinstance(node, tuple) or node == root or graph.degree(node) != 1:
                continue
            ((_, number),) = graph.neighbors(node)
            if reach_mm(nodes[node], chosen[number].strip, width_mm) <= SWING_WIDTHS * width_mm:
                light += [node, ("tie", number)]
        if not light:
            return
        graph.remove_nodes_from(light)


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
