"""Strips: the straight ways along which a tie could join two bodies of wood.

Enters: a sheet's wood, the cores of its bodies, what of the sheet must be open, the tie's width. Leaves: candidates
with what they cost. The edges of a triangulation of the waste (with feet, so that the shortest way from a corner to a
side is one) join each body to those that it faces; a sight map of the opening adds level and upright lines to the
frame's body, which may be longer but lie behind something for most of their way.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import inf

import numpy as np
import shapely
from shapely import LineString, Point, Polygon, STRtree
from shapely.geometry.base import BaseGeometry

from layercut.geometry.precision import GRID_MM
from layercut.geometry.quadtree import QuadtreeRegion
from layercut.geometry.regions import Region, as_region, edges_of, polygons_of, prepared, union
from layercut.geometry.transects import Transected
from layercut.geometry.widths.feet import with_feet
from layercut.geometry.widths.mesh import Flags, Floats, Ints, Shapes, grouped, numbered, triangulate

LENGTH_COST_MM2_PER_MM = 0.01
"""What a tie's length counts beside its visible area: of two hidden ties the shorter."""

FACING_MM = 20.0
"""How far a corner may be from a side for its foot to be looked for, mm; corners face each other at any distance."""

APART_WIDTHS = 4.0
"""A second strip between two bodies lies so many widths beside the first."""

NEARLY = 1.25
"""A strip may cost so many times what the cheapest does, if it lies farther from the first of its pair."""

OTHER_STRIPS = 12
"""So many of the shortest strips between two bodies are held against each other."""

SIGHT_STEP_MM = 1.0
"""Step of the sight map, mm: it only tells which lines are worth a price."""

SAMPLES = 72
"""Points of a body's core from which a level or an upright line is tried."""


EVERY = 3
"""Of the samples of a core that hangs by necks every third is tried."""

SIGHT_SAMPLES = 24
"""Places along a line at which the sight map is asked."""

MANY_VERTICES = 200
"""A core of more vertices is asked by its edges where what is nearest to it is looked for."""

EQUALS = 5
"""So many of the lines that the sight map can't tell apart are priced."""


@dataclass(frozen=True, slots=True)
class Strip:
    """A tie's centre line, its region, the area of it that is seen, mm2, and its length from wood to wood, mm."""

    line: LineString
    region: Polygon
    visible_mm2: float
    length_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class Candidate:
    """A strip that could join two nodes, and its cost."""

    nodes: tuple[int, int]
    strip: Strip
    cost: float


def find_candidates(  # noqa: PLR0917 - all that a strip is looked for by
    wood: Region, nodes: Sequence[BaseGeometry], root: int, opening: Region, width_mm: float, longest_mm: float = inf
) -> list[Candidate]:
    """For each pair of bodies that face each other or hang together the shortest strip between their cores, and one
    well apart from it; and for each body the line to the root's that least is seen of. None is longer from wood to
    wood than allowed."""
    price = _Pricing(Transected(wood), Transected(opening), width_mm, longest_mm)
    cores = prepared(np.array(nodes, dtype=object))
    sight = _sight(cores[root], opening)
    outlines = _Outlines(cores)
    pairs, lines = _facing(wood, outlines, sight, width_mm)
    near_pairs, near_lines = _hanging(wood, outlines, root, sight, width_mm)
    found = list(price([*pairs, *near_pairs], [*lines, *near_lines]))
    hidden = {node for candidate in found if candidate.strip.visible_mm2 <= GRID_MM for node in candidate.nodes}
    wanted = [index for index in range(len(nodes)) if index != root and index not in hidden]
    square = list(_square_lines(cores, root, wanted, sight))
    return found + list(price([pair for pair, _ in square], [line for _, line in square]))


class _Outlines:
    """The cores of all bodies, and the edges of each, looked up once: what is nearest is found many times quicker
    among the edges of a large core than by asking the core."""

    def __init__(self, cores: Shapes) -> None:
        """Hold the cores; no edges are looked up before they are asked for."""
        self.cores = cores
        self._vertices = shapely.get_num_coordinates(cores)
        self._trees: dict[int, STRtree] = {}

    def tree(self, index: int) -> STRtree:
        """The edges of a core."""
        if index not in self._trees:
            self._trees[index] = STRtree(_edges(self.cores[index]))
        return self._trees[index]

    def distances(self, index: int, others: Shapes) -> Floats:
        """How far each of some shapes, none of them within a core, is from it, (n,), mm."""
        (asked, _), found = self.tree(index).query_nearest(others, all_matches=False, return_distance=True)
        distances = np.zeros(len(others))
        distances[asked] = found
        return distances

    def nearest(self, which: Ints, points: Floats) -> Floats:
        """For each of some points, (n, 2), its nearest point of the outline of a core, (n, 2)."""
        found = np.empty_like(points)
        large = self._vertices[which] > MANY_VERTICES
        places = shapely.points(points)
        lines = shapely.shortest_line(self.cores[which[~large]], places[~large])
        found[~large] = shapely.get_coordinates(lines).reshape(-1, 2, 2)[:, 0]
        for index in np.unique(which[large]).tolist():
            mine = np.flatnonzero(which == index)
            at, edge = self.tree(index).query_nearest(places[mine], all_matches=False)
            lines = shapely.shortest_line(self.tree(index).geometries[edge], places[mine[at]])
            found[mine[at]] = shapely.get_coordinates(lines).reshape(-1, 2, 2)[:, 0]
        return found


def _facing(
    wood: Region, outlines: _Outlines, sight: "_Sight", width_mm: float
) -> tuple[list[tuple[int, int]], list[LineString]]:
    """The strips along edges of the waste's triangulation."""
    cores = outlines.cores
    waste = [part for part in polygons_of(shapely.difference(_filled(wood), wood)) if part.area > GRID_MM**2]
    if not waste:
        return [], []
    mesh = with_feet(triangulate(waste), FACING_MM)
    half = np.flatnonzero(mesh.twin > np.arange(len(mesh.twin)))
    owner = _owners(wood, cores, mesh.xy, np.stack([mesh.start[mesh.twin < 0], mesh.end[mesh.twin < 0]]))
    a, b = owner[mesh.start[half]], owner[mesh.end[half]]
    ok = (a != b) & (a >= 0) & (b >= 0)
    half, a, b = half[ok], a[ok], b[ok]
    turned = a > b
    start = np.where(turned, mesh.end[half], mesh.start[half])
    end = np.where(turned, mesh.start[half], mesh.end[half])
    a, b = np.minimum(a, b), np.maximum(a, b)
    middles = (mesh.xy[start] + mesh.xy[end]) / 2
    kept = _shortest_few(a * len(cores) + b, mesh.lengths[half], middles, APART_WIDTHS * width_mm)
    a, b, start, end = a[kept], b[kept], mesh.xy[start[kept]], mesh.xy[end[kept]]
    lines = shapely.linestrings(np.stack([outlines.nearest(a, start), outlines.nearest(b, end)], axis=1))
    # The shortest way between two cores may lead beside the edge where their outlines are nearest.
    pairs = np.unique(np.stack([a, b], axis=1), axis=0)
    a, b = np.concatenate([np.stack([a, b], axis=1), pairs]).T
    lines = np.concatenate([lines, shapely.shortest_line(cores[pairs[:, 0]], cores[pairs[:, 1]])])
    cost = sight.estimate(lines) + LENGTH_COST_MM2_PER_MM * shapely.length(lines)
    chosen = _apart(a * len(cores) + b, lines, cost, APART_WIDTHS * width_mm)
    return list(zip(a[chosen].tolist(), b[chosen].tolist(), strict=True)), list(lines[chosen])


def _filled(wood: Region) -> Region:
    """The wood with all that lies within its outlines."""
    filled = np.array([Polygon(piece.exterior) for piece in polygons_of(wood)], dtype=object)
    largest = filled[np.argmax(shapely.area(filled))]
    shapely.prepare(largest)
    # Nearly all lies within the panel's rim, so that there is next to nothing to unite.
    return union([largest, *filled[~shapely.covers(largest, filled)]])


def _owners(wood: Region, cores: Shapes, xy: Floats, sides: Ints) -> Ints:
    """For each vertex of the waste the core that is meant by it: of those in the wood's piece that it lies on the
    nearest; -1 where the piece has none. A foot belongs where its side's ends do."""
    pieces = np.array(polygons_of(wood), dtype=object)
    points, piece = shapely.get_coordinates(pieces, return_index=True)
    _, number = numbered(np.concatenate([points, xy]))
    piece_of = np.full(int(number.max()) + 1, -1)
    piece_of[number[: len(points)]] = piece
    mine = piece_of[number[len(points) :]]
    # Feet are no corners of the wood: they take their piece from the other end of their part of a side, in rounds.
    while True:
        a, b = mine[sides[0]], mine[sides[1]]
        into, out = (a < 0) & (b >= 0), (b < 0) & (a >= 0)
        if not (into | out).any():
            break
        mine[sides[0][into]], mine[sides[1][out]] = b[into], a[out]
    owner = np.full(len(xy), -1)
    core, home = STRtree(pieces).query(shapely.point_on_surface(cores), predicate="intersects")
    places = np.unique(home)
    for inside, at in zip(grouped(home, places), grouped(mine, places), strict=True):
        here = core[inside]
        if len(here) == 1 or not len(at):
            owner[at] = here[0]
            continue
        edges = [_edges(core) for core in cores[here]]
        whose = np.repeat(here, [len(part) for part in edges])
        nearest = STRtree(np.concatenate(edges)).query_nearest(shapely.points(xy[at]), all_matches=False)
        owner[at[nearest[0]]] = whose[nearest[1]]
    return owner


def _shortest_few(key: Ints, length: Floats, middle: Floats, apart_mm: float) -> Ints:
    """For each key the places of its shortest few, and of as many that lie further from the shortest than a distance:
    round outlines face each other along many edges side by side."""
    order = np.lexsort((length, key))
    best = np.repeat(*_runs(key, order))
    beside = middle[order] - middle[best]
    far = order[np.hypot(beside[:, 0], beside[:, 1]) > apart_mm]
    return np.union1d(_first_few(key, order), _first_few(key, far))


def _runs(key: Ints, order: Ints) -> tuple[Ints, Ints]:
    """The first place of each key in an order, and how many it has."""
    first = np.flatnonzero(np.diff(key[order], prepend=-1))
    return order[first], np.diff(np.append(first, len(order)))


def _first_few(key: Ints, order: Ints) -> Ints:
    """The first few places of each key in an order."""
    counts = _runs(key, order)[1]
    rank = np.arange(len(order)) - np.repeat(np.cumsum(counts) - counts, counts)
    return order[rank < OTHER_STRIPS]


def _apart(key: Ints, lines: Shapes, cost: Floats, apart_mm: float) -> Ints:
    """For each key the place of its cheapest line, of the cheapest that lies further from it than a distance, and of
    the one that, costing little more than that, lies farthest from it."""
    order = np.lexsort((cost, key))
    first, counts = _runs(key, order)
    distance = shapely.distance(lines[order], lines[np.repeat(first, counts)])
    far = order[distance > apart_mm]
    second, counts = _runs(key, far)
    able = cost[far] <= NEARLY * cost[np.repeat(second, counts)]
    by_distance = np.argsort(-distance[distance > apart_mm][able], kind="stable")
    farthest = far[able][by_distance]
    return np.union1d(
        np.concatenate([first, second]), _runs(key, farthest[np.argsort(key[farthest], kind="stable")])[0]
    )


def _hanging(
    wood: Region, outlines: _Outlines, root: int, sight: "_Sight", width_mm: float
) -> tuple[list[tuple[int, int]], list[LineString]]:
    """The strips between cores that hang together in one piece of wood, beside their necks or along them, and to the
    frame's body."""
    cores = outlines.cores
    core, home = STRtree(polygons_of(wood)).query(shapely.point_on_surface(cores), predicate="intersects")
    # The frame's body may be worth a try from anywhere: a piece that swings needs a second tie.
    ends, found = ([part] for part in _to_largest(outlines, np.arange(len(cores)), root))
    for place in np.flatnonzero(np.bincount(home) > 1):
        here = core[home == place]
        largest = here[np.argmax(shapely.area(cores[here]))]
        for pairs, lines in (_to_largest(outlines, here, int(largest)), _to_neighbours(outlines, here, int(largest))):
            ends.append(pairs)
            found.append(lines)
    a, b = np.sort(np.concatenate(ends), axis=1).T
    lines = np.concatenate(found)
    cost = sight.estimate(lines) + LENGTH_COST_MM2_PER_MM * shapely.length(lines)
    chosen = _apart(a * len(cores) + b, lines, cost, APART_WIDTHS * width_mm)
    return list(zip(a[chosen].tolist(), b[chosen].tolist(), strict=True)), list(lines[chosen])


def _to_largest(outlines: _Outlines, here: Ints, largest: int) -> tuple[Ints, Shapes]:
    """From samples of each core the shortest line to the largest one: the pairs, (n, 2), and the lines, (n,)."""
    cores = outlines.cores
    others = here[here != largest]
    samples = [_samples(core)[::EVERY] for core in cores[others]]
    owner = np.repeat(others, [len(points) for points in samples])
    points = shapely.points(np.concatenate(samples))
    edges = outlines.tree(largest)
    at, edge = edges.query_nearest(points, all_matches=False)
    pairs = np.stack([owner[at], np.full(len(at), largest)], axis=1)
    return pairs, shapely.shortest_line(points[at], edges.geometries[edge])


def _to_neighbours(outlines: _Outlines, here: Ints, largest: int) -> tuple[Ints, Shapes]:
    """The shortest line between any two cores that lie nearer to each other than to the largest: as above."""
    cores = outlines.cores
    others = here[here != largest]
    reach = outlines.distances(largest, cores[others])
    one, other = STRtree(cores[others]).query(cores[others], predicate="dwithin", distance=reach)
    pairs = np.unique(np.sort(np.stack([others[one], others[other]], axis=1)[one != other], axis=1), axis=0)
    return pairs.reshape(-1, 2), shapely.shortest_line(cores[pairs[:, 0]], cores[pairs[:, 1]])


def _edges(core: BaseGeometry) -> Shapes:
    """The edges of a core's outlines; a core that is a point is that."""
    return np.array([core], dtype=object) if isinstance(core, Point) else edges_of(core)


@dataclass(frozen=True, slots=True)
class _Pricing:
    """What strips are priced by: the sheet's wood, what of it must be open, and how wide and how long they may be."""

    wood: Transected
    opening: Transected
    width_mm: float
    longest_mm: float

    def __call__(self, pairs: Sequence[tuple[int, int]], lines: Sequence[LineString]) -> Iterator[Candidate]:
        """The strip along each line that isn't too long, with what of it is seen and what it costs."""
        every = np.array(lines, dtype=object)
        between = np.maximum(shapely.length(every) - self.wood.lengths(every), 0.0)
        stout = np.flatnonzero(between <= self.longest_mm)
        chosen = every[stout]
        strips = shapely.buffer(chosen, self.width_mm / 2, quad_segs=8)
        visible = self.opening.areas(chosen, self.width_mm)
        costs = visible + LENGTH_COST_MM2_PER_MM * shapely.length(chosen)
        rows = zip(
            stout.tolist(), chosen, strips, visible.tolist(), between[stout].tolist(), costs.tolist(), strict=True
        )
        for place, line, strip, seen, length, cost in rows:
            yield Candidate(pairs[place], Strip(line, strip, seen, length), cost)


@dataclass(frozen=True, slots=True)
class _Sight:
    """A map in steps of `SIGHT_STEP_MM`, row by row from its corner: where the root's core is, and what is open."""

    corner: Floats
    arrived: Flags
    seen: Flags

    def ways(self, places: Ints, axis: int, forwards: bool) -> tuple[Ints, Ints]:
        """From each place, (n, 2) as column and row, along an axis: how many steps it is to the root's core, and how
        many of them are open; -1 steps where it isn't met."""
        turned = [self.arrived, self.seen] if axis else [self.arrived.T, self.seen.T]
        arrived, seen = (layer if forwards else layer[::-1] for layer in turned)
        count = len(arrived)
        step = np.where(arrived, np.arange(count)[:, None], count)
        met = np.minimum.accumulate(step[::-1], axis=0)[::-1]
        opened = np.concatenate([np.zeros((1, seen.shape[1]), dtype=np.int64), np.cumsum(seen, axis=0)])
        along, across = places[:, axis], places[:, 1 - axis]
        along = along if forwards else count - 1 - along
        stop = met[along, across]
        steps = np.where(stop < count, stop - along, -1)
        return steps, opened[np.minimum(stop, count), across] - opened[along, across]

    def estimate(self, lines: Shapes) -> Floats:
        """How long each line is seen, (n,), mm, as far as the map tells."""
        shares = (np.arange(SIGHT_SAMPLES) + 0.5) / SIGHT_SAMPLES
        ends = shapely.get_coordinates(lines).reshape(-1, 2, 2)
        points = ends[:, :1] + shares[:, None] * (ends[:, 1:] - ends[:, :1])
        size = np.array(self.seen.shape[::-1])
        places = np.clip(np.rint((points - self.corner) / SIGHT_STEP_MM).astype(np.int64), 0, size - 1)
        return np.asarray(self.seen[places[..., 1], places[..., 0]].mean(axis=1) * shapely.length(lines))


def _sight(root: BaseGeometry, opening: Region) -> _Sight:
    x0, y0, x1, y1 = root.bounds
    xs, ys = np.arange(x0, x1 + SIGHT_STEP_MM, SIGHT_STEP_MM), np.arange(y0, y1 + SIGHT_STEP_MM, SIGHT_STEP_MM)
    x, y = np.meshgrid(xs, ys)
    is_open = shapely.contains_xy(prepared(opening), x, y)
    return _Sight(np.array([x0, y0]), shapely.contains_xy(root, x, y), is_open)


def _square_lines(
    cores: Shapes, root: int, wanted: Sequence[int], sight: _Sight
) -> Iterator[tuple[tuple[int, int], LineString]]:
    """For each wanted core the level or upright line to the root's core of which the map sees least."""
    if not wanted:
        return
    starts = [_samples(cores[index]) for index in wanted]
    owner = np.repeat(np.arange(len(wanted)), [len(points) for points in starts])
    points = np.concatenate(starts)
    size = np.array(sight.arrived.shape[::-1])
    places = np.clip(np.rint((points - sight.corner) / SIGHT_STEP_MM).astype(np.int64), 0, size - 1)
    found = [(axis, sign, *sight.ways(places, axis, sign > 0)) for axis in (0, 1) for sign in (1, -1)]
    steps = np.stack([way[2] for way in found])
    cost = np.where(steps < 0, np.inf, np.stack([way[3] for way in found]) + LENGTH_COST_MM2_PER_MM * steps)
    patches = QuadtreeRegion(as_region(cores[root]))
    for mine, index in zip(np.split(np.arange(len(points)), np.flatnonzero(np.diff(owner)) + 1), wanted, strict=True):
        least = cost[:, mine].min()
        # The map can't tell lines apart that differ by less than a step: the price does.
        ways, chosen = np.nonzero(cost[:, mine] <= least + LENGTH_COST_MM2_PER_MM * SIGHT_STEP_MM)
        few = np.unique(np.linspace(0, len(ways) - 1, EQUALS).astype(np.int64))
        few = few if np.isfinite(least) else few[:0]
        for way, at in zip(ways[few], mine[chosen[few]], strict=True):
            line = _to_root(points[at], found[way][:2], int(steps[way, at]), patches)
            if not line.is_empty:
                yield (index, root), line


def _to_root(point: Floats, way: tuple[int, int], steps: int, root: QuadtreeRegion) -> LineString:
    """The line from a point on a core along a way of so many steps, as far as the root's core; empty if it misses
    it."""
    axis, sign = way
    ends = np.stack([point, point])
    ends[:, axis] += sign * np.array([max(steps - 2, 0), steps + 2]) * SIGHT_STEP_MM
    met = root.shared_with(LineString(ends))
    return shapely.shortest_line(Point(point), met) if not met.is_empty else LineString()


def _samples(core: BaseGeometry) -> Floats:
    """Points on a core, evenly along its outline, (n, 2)."""
    if isinstance(core, Point):
        return np.asarray(shapely.get_coordinates(core))
    places = np.linspace(0, 1, SAMPLES, endpoint=False)
    return np.asarray(shapely.get_coordinates(shapely.line_interpolate_point(core.exterior, places, normalized=True)))
