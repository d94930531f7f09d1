"""Necks: where wood is narrower than the job allows, with its measured width.

Enters: a region of wood and the limit, mm. Leaves: its `Narrows`. A disc as wide as the limit is rolled through the
wood (a morphological opening; Serra, Image Analysis and Mathematical Morphology, 1982): what it can't enter is
narrow, and the bodies it can't roll between are joined by necks only.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations, compress, pairwise

import networkx as nx
import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString, Point, Polygon, STRtree
from shapely.geometry.base import BaseGeometry

from layercut.geometry.offsets import dilate, shrink
from layercut.geometry.patchwork import Patchwork
from layercut.geometry.precision import NECK_SLACK_MM
from layercut.geometry.regions import Region, bar_width, polygons_of, union

ROUND_MM = 0.4 * NECK_SLACK_MM
"""How far the rolling disc may be off its round, mm: less than what an exact width is let off."""

SHORTEST_END_MM = NECK_SLACK_MM
"""Where a narrow part goes on into a body over less than this, mm, two bodies only touch on the wood's edge."""


@dataclass(frozen=True, slots=True)
class Neck:
    """A narrow place: its least width in mm, where that is, which bodies it joins, and its own wood, if any.

    `across` is the line of that width, from side to side.
    """

    width_mm: float
    at_mm: tuple[float, float]
    bodies: tuple[int, ...]
    region: Region
    across: LineString


@dataclass(frozen=True, slots=True)
class Prong:
    """Narrow wood that ends free and doesn't taper: its width and the diagonal of its box, mm."""

    width_mm: float
    reach_mm: float
    region: Region


@dataclass(frozen=True, slots=True)
class Narrows:
    """The bodies that a disc as wide as the limit can visit without lifting, the necks between, and the prongs.

    `rest` is all the wood that the disc can't enter, mere corners too.
    """

    bodies: tuple[Polygon, ...]
    necks: tuple[Neck, ...]
    prongs: tuple[Prong, ...]
    rest: tuple[Polygon, ...] = ()

    def rooms(self, width_mm: float, reach_mm: float) -> list[Polygon]:
        """Of the rest what a disc of a smaller width can enter, or what reaches further than a distance."""
        rest = np.array(self.rest, dtype=object)
        if not len(rest):
            return []
        wide = ~shapely.is_empty(shapely.buffer(rest, NECK_SLACK_MM - width_mm / 2))
        return list(rest[wide | (_diagonals(rest) > reach_mm)])


def find_narrows(wood: Polygon, limit_mm: float, reach_mm: float) -> Narrows:
    """Where one piece of wood is narrower than `limit_mm`.

    Corners, however sharp, are not reported; a prong that doesn't taper is when it reaches further than `reach_mm`.
    Without a limit the whole piece is one body.
    """
    if limit_mm <= 2 * NECK_SLACK_MM:
        return Narrows((wood,), (), ())
    radius = limit_mm / 2 - NECK_SLACK_MM
    cores = find_cores(wood, radius)
    bodies = [dilate(core, radius + NECK_SLACK_MM / 2, ROUND_MM) for core in cores]
    rest = np.array(polygons_of(without_each(wood, bodies)), dtype=object)
    necks, prongs = _judge_rest(rest, wood, bodies, reach_mm)
    necks += _short_necks(cores, wood, radius)
    necks += _remaining_necks(cores, necks, wood, radius)
    return Narrows(tuple(bodies), tuple(necks), tuple(prongs), tuple(rest))


def without_each(wood: Polygon, bodies: Sequence[Polygon]) -> BaseGeometry:
    """The wood without its bodies: the largest first, so that the small ones needn't be joined to it."""
    if not bodies:
        return wood
    *small, largest = sorted(bodies, key=lambda body: float(body.area))
    rest = shapely.difference(wood, largest)
    return shapely.difference(rest, union(small)) if small else rest


def find_cores(wood: Region, radius_mm: float) -> list[Polygon]:
    """Where the middle of a disc of this radius can be. May be empty.

    Beside slits a negative buffer can leave scraps that no such disc has room for (seen with GEOS 3.13): they are
    told by their distance from the wood's boundary.
    """
    cores = np.array(polygons_of(shrink(wood, radius_mm, ROUND_MM)), dtype=object)
    if not len(cores):
        return []
    boundary = shapely.boundary(wood)
    shapely.prepare(boundary)
    room = shapely.distance(boundary, shapely.point_on_surface(cores))
    return list(cores[room >= 0.9 * radius_mm])


def _judge_rest(
    rest: NDArray[np.object_], wood: Polygon, bodies: list[Polygon], reach_mm: float
) -> tuple[list[Neck], list[Prong]]:
    """What the disc can't enter: a neck where it goes on into wood at two places, else a prong or a mere corner."""
    necks: list[Neck] = []
    prongs: list[Prong] = []
    if not len(rest):
        return necks, prongs
    edges = _edges_on(rest, wood)
    # Most are corners. Closing gaps only makes ends fewer, so what has one as it is needs no closer look.
    long = _diagonals(rest) > reach_mm
    two_ended = edges.ends_of_parts(len(rest)) >= 2
    joined = _touching(rest, bodies, two_ended)
    for index in np.flatnonzero(long | two_ended):
        part, rings = rest[index], edges.of_part(int(index))
        ends = sum(_runs(~ring) for ring in rings)
        across = _least_width(part, rings) if ends >= 2 else None
        if across is not None:
            necks.append(_neck(across, joined[int(index)], part))
        elif long[index] and not _tapers(part, rings):
            prongs.append(Prong(bar_width(part), _diagonal(part), part))
    return necks, prongs


def _touching(
    rest: NDArray[np.object_], bodies: list[Polygon], chosen: NDArray[np.bool_]
) -> dict[int, tuple[int, ...]]:
    """For each chosen part the bodies that it touches, in order."""
    indices = np.flatnonzero(chosen)
    found: dict[int, list[int]] = {int(index): [] for index in indices}
    if not bodies:
        return dict.fromkeys(found, ())
    # The few large ones ask, as a tree prepares who asks.
    body, part = STRtree(rest[indices]).query(bodies, predicate="dwithin", distance=NECK_SLACK_MM)
    for which, place in zip(body, part, strict=True):
        found[int(indices[place])].append(int(which))
    return {index: tuple(sorted(touched)) for index, touched in found.items()}


def _short_necks(cores: list[Polygon], wood: Polygon, radius: float) -> list[Neck]:
    """Necks so short that the disc covers them from both sides, though it can't pass."""
    if len(cores) < 2:
        return []
    # The largest asks and isn't asked: a tree prepares who asks, and to ask it of itself is dear.
    largest = int(np.argmax(shapely.area(cores)))
    others = [index for index in range(len(cores)) if index != largest]
    first, second = STRtree([cores[index] for index in others]).query(
        cores, predicate="dwithin", distance=2 * radius + NECK_SLACK_MM
    )
    near = {(min(a, others[b]), max(a, others[b])) for a, b in zip(first.tolist(), second.tolist(), strict=True)}
    pairs = sorted(pair for pair in near if pair[0] != pair[1])
    bridges = np.array([shapely.shortest_line(cores[a], cores[b]) for a, b in pairs], dtype=object)
    shapely.prepare(wood)
    inside = np.asarray(shapely.contains(wood, bridges), dtype=bool)
    patches = Patchwork(wood)
    necks = [
        _neck(_line_across(bridge, patches, radius), pair, Polygon())
        for bridge, pair in zip(bridges[inside], compress(pairs, inside), strict=True)
    ]
    return sorted(necks, key=lambda neck: neck.at_mm)


def _neck(across: LineString, bodies: tuple[int, ...], region: Region) -> Neck:
    """A neck from the line across its narrowest place."""
    middle = across.interpolate(0.5, normalized=True)
    return Neck(float(across.length), (round(middle.x, 2), round(middle.y, 2)), bodies, region, across)


def _remaining_necks(cores: list[Polygon], necks: list[Neck], wood: Polygon, radius: float) -> list[Neck]:
    """Necks that are as wide as the limit but for rounding, so that neither search sees them: all bodies of one piece
    of wood hang together, so the nearest ones that aren't joined yet must be."""
    graph = nx.Graph()
    graph.add_nodes_from(range(len(cores)))
    graph.add_edges_from((a, b) for neck in necks for a, b in combinations(neck.bodies, 2))
    found: list[Neck] = []
    while len(groups := sorted(nx.connected_components(graph), key=lambda group: (len(group), min(group)))) > 1:
        mine = sorted(groups[0])
        others = [index for index in range(len(cores)) if index not in groups[0]]
        tree = STRtree([cores[index] for index in others])
        here, there = tree.query_nearest([cores[index] for index in mine], all_matches=False)
        pairs = [(mine[i], others[j]) for i, j in zip(here, there, strict=True)]
        a, b = min(pairs, key=lambda pair: (float(shapely.distance(cores[pair[0]], cores[pair[1]])), pair))
        bridge = shapely.shortest_line(cores[a], cores[b])
        found.append(_neck(_line_across(bridge, Patchwork(wood), radius), (a, b), Polygon()))
        graph.add_edge(a, b)
    return found


def _line_across(bridge: LineString, wood: Patchwork, radius: float) -> LineString:
    """The shortest line between the walls left and right of a line through a neck."""
    (x0, y0), (x1, y1) = bridge.coords[0], bridge.coords[-1]
    length = max(float(np.hypot(x1 - x0, y1 - y0)), 1e-9)
    ux, uy = (x1 - x0) / length, (y1 - y0) / length
    mx, my = (x0 + x1) / 2, (y0 + y1) / 2
    reach = length / 2 + radius / 5  # beyond the cores' ends the disc's own round keeps walls almost a diameter apart
    # The boundary of the wood nearby: what a patch adds of its own lies beyond the box that is asked for.
    room = length / 2 + 4 * radius
    boundary = shapely.boundary(wood.around((mx - room, my - room, mx + room, my + room)))
    sides = []
    for sign in (1, -1):
        side = sign * 2 * radius  # a wall that keeps the disc out is within a diameter of the wall opposite
        corners = [(-reach, 0), (reach, 0), (reach, side), (-reach, side)]
        half = Polygon([(mx + u * ux - v * uy, my + u * uy + v * ux) for u, v in corners])
        sides.append(shapely.intersection(boundary, half))
    if not any(side.is_empty for side in sides):
        across = shapely.shortest_line(*sides)
        if across.length > NECK_SLACK_MM:
            return across
    # The cores almost meet, so that the line between them has no direction to go by: twice the way to the wall.
    near = shapely.shortest_line(Point(mx, my), boundary).coords[-1]
    return LineString([near, (2 * mx - near[0], 2 * my - near[1])])


@dataclass(frozen=True, slots=True)
class _Edges:
    """The edges of parts: `on` says which lie on the wood's own boundary, `lengths` are mm, `ring` and `part` number
    the ring and the part that each is of, in order."""

    on: NDArray[np.bool_]
    lengths: NDArray[np.float64]
    ring: NDArray[np.int64]
    part: NDArray[np.int64]

    def ends_of_parts(self, count: int) -> NDArray[np.int64]:
        """For each part in how many places it goes on into other wood, gaps of no length counted too."""
        if not len(self.ring):
            return np.zeros(count, dtype=np.int64)
        first = np.flatnonzero(np.diff(self.ring, prepend=-1))
        last = np.append(first[1:], len(self.ring)) - 1
        before = np.roll(self.on, 1)
        before[first] = self.on[last]
        begins = ~self.on & before
        alone = np.logical_and.reduceat(~self.on, first)  # a ring that lies wholly inside the wood is one end
        begins[first[alone]] = True
        return np.bincount(self.part[begins], minlength=count)

    def of_part(self, part: int) -> list[NDArray[np.bool_]]:
        """For each ring of a part which edges are the wood's own, gaps of no length closed."""
        start, end = np.searchsorted(self.part, [part, part + 1])
        cuts = start + 1 + np.flatnonzero(np.diff(self.ring[start:end]))
        edges = [start, *cuts, end]
        return [_without_short_gaps(self.on[a:b], self.lengths[a:b]) for a, b in pairwise(edges)]


def _edges_on(parts: NDArray[np.object_], wood: Polygon) -> _Edges:
    """For each edge of each ring of each part, whether it lies on the wood's own boundary."""
    boundary = shapely.boundary(wood)
    shapely.prepare(boundary)
    rings, owner = shapely.get_rings(parts, return_index=True)
    coordinates, ring_of = shapely.get_coordinates(rings, return_index=True)
    same = ring_of[1:] == ring_of[:-1]
    middles = ((coordinates[1:] + coordinates[:-1]) / 2)[same]
    on = np.asarray(shapely.dwithin(boundary, shapely.points(middles), 1e-6), dtype=bool)
    ring = ring_of[1:][same]
    return _Edges(on, np.hypot(*(coordinates[1:] - coordinates[:-1])[same].T), ring, owner[ring])


def _without_short_gaps(on: NDArray[np.bool_], lengths: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Close gaps of almost no length: where bodies touch on the wood's edge, the edge only seems interrupted."""
    if on.all() or not on.any():
        return on
    start = int(np.flatnonzero(on)[0])
    turned, steps = np.roll(on, -start), np.roll(lengths, -start)
    run = np.cumsum(np.diff(turned, prepend=True))  # the same number along each run, odd ones off the wood
    long_enough = np.bincount(run, weights=steps) > SHORTEST_END_MM
    return np.roll(turned | ~long_enough[run], start)


def _runs(flags: NDArray[np.bool_]) -> int:
    """How many runs of True a cyclic sequence has."""
    if flags.all():
        return 1
    return int(np.count_nonzero(flags & ~np.roll(flags, 1)))


def _least_width(part: Polygon, rings: list[NDArray[np.bool_]]) -> LineString | None:
    """The shortest line between two sides of a neck; None where bodies touch, so that it has one side only."""
    sides = _sides(part, rings)
    if len(sides) < 2:
        return None
    pairs = [(a, b) for i, a in enumerate(sides) for b in sides[i + 1 :]]
    distances = [float(shapely.distance(a, b)) for a, b in pairs]
    return shapely.shortest_line(*pairs[int(np.argmin(distances))])


def _sides(part: Polygon, rings: list[NDArray[np.bool_]]) -> list[LineString]:
    """The stretches of a part's boundary that are the wood's own; `rings` says so of each edge of each ring."""
    sides: list[LineString] = []
    for ring, on in zip(shapely.get_rings(part), rings, strict=True):
        if on.all():
            sides.append(ring)
        elif on.any():
            start = int(np.flatnonzero(~on)[0])
            points = np.roll(shapely.get_coordinates(ring)[:-1], -start, axis=0)
            points = np.vstack([points, points[:1]])
            steps = np.diff(np.concatenate([[0], np.roll(on, -start).astype(np.int8), [0]]))
            edges = np.flatnonzero(steps)
            sides.extend(LineString(points[a : b + 1]) for a, b in zip(edges[::2], edges[1::2], strict=True))
    return sides


def _tapers(part: Polygon, rings: list[NDArray[np.bool_]]) -> bool:
    """Whether a part is a corner, however sharp: a wedge has half the area of a bar on the same base."""
    points, own = shapely.get_coordinates(part.exterior), rings[0]
    base = float(np.hypot(*np.diff(points, axis=0)[~own].T).sum())
    return bool(part.area < 0.65 * base * _diagonal(part))


def _diagonal(part: Polygon) -> float:
    return float(_diagonals(np.array([part], dtype=object))[0])


def _diagonals(parts: NDArray[np.object_]) -> NDArray[np.float64]:
    """Of the boxes around parts, (n,), mm."""
    boxes = shapely.bounds(parts)
    return np.asarray(np.hypot(boxes[:, 2] - boxes[:, 0], boxes[:, 3] - boxes[:, 1]))
