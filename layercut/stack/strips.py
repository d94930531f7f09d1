"""Strips: the straight ways along which a tie could join two bodies of wood.

Enters: a sheet's wood, the cores of its bodies, what of the sheet must be open, the tie's width. Leaves: candidates
with what they cost. The edges of a triangulation of the waste (with feet, so that the shortest way from a corner to a
side is one) join each body to those that it faces; a sight map of the opening adds level and upright lines to the
frame's body, which may be longer but lie behind something for most of their way.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import LineString, Point, Polygon, STRtree
from shapely.geometry.base import BaseGeometry

from layercut.geometry.patchwork import Patchwork
from layercut.geometry.precision import GRID_MM
from layercut.geometry.regions import Region, as_region, edges_of, polygons_of, union
from layercut.geometry.widths.feet import with_feet
from layercut.geometry.widths.mesh import Flags, Floats, Ints, Shapes, numbered, triangulate

LENGTH_COST_MM2_PER_MM = 0.01
"""What a tie's length counts beside its visible area: of two hidden ties the shorter."""

FACING_MM = 40.0
"""How far a corner may be from a side for its foot to be looked for, mm; corners face each other at any distance."""

APART_WIDTHS = 4.0
"""A second strip between two bodies lies so many widths beside the first."""

OTHER_STRIPS = 12
"""So many of the shortest strips between two bodies are held against the shortest, to find the one beside it."""

SIGHT_STEP_MM = 1.0
"""Step of the sight map, mm: it only tells which lines are worth a price."""

SAMPLES = 72
"""Points of a body's core from which a level or an upright line is tried."""


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


def find_candidates(
    wood: Region, nodes: Sequence[BaseGeometry], root: int, opening: Region, width_mm: float
) -> list[Candidate]:
    """For each pair of bodies that face each other or hang together the shortest strip between their cores, and one
    well apart from it; and for each body the line to the root's that least is seen of."""
    cores = np.array(nodes, dtype=object)
    shapely.prepare(cores)
    pairs, lines = _facing(wood, cores, width_mm)
    near_pairs, near_lines = _hanging(wood, cores)
    found = list(_priced([*pairs, *near_pairs], [*lines, *near_lines], opening, width_mm))
    hidden = {node for candidate in found if candidate.strip.visible_mm2 <= GRID_MM for node in candidate.nodes}
    wanted = [index for index in range(len(nodes)) if index != root and index not in hidden]
    square = list(_square_lines(cores, root, wanted, opening))
    return found + list(_priced([pair for pair, _ in square], [line for _, line in square], opening, width_mm))


def _facing(wood: Region, cores: Shapes, width_mm: float) -> tuple[list[tuple[int, int]], list[LineString]]:
    """The strips along edges of the waste's triangulation."""
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
    kept = _shortest_few(a * len(cores) + b, mesh.lengths[half])
    a, b, start, end = a[kept], b[kept], mesh.xy[start[kept]], mesh.xy[end[kept]]
    lines = shapely.linestrings(np.stack([_nearest(cores[a], start), _nearest(cores[b], end)], axis=1))
    chosen = _apart(a * len(cores) + b, lines, APART_WIDTHS * width_mm)
    return list(zip(a[chosen].tolist(), b[chosen].tolist(), strict=True)), list(lines[chosen])


def _filled(wood: Region) -> Region:
    """The wood with all that lies within its outlines."""
    return union(Polygon(piece.exterior) for piece in polygons_of(wood))


def _nearest(cores: Shapes, points: Floats) -> Floats:
    """For each core its point nearest to a point, (n, 2)."""
    lines = shapely.shortest_line(cores, shapely.points(points))
    return np.asarray(shapely.get_coordinates(lines).reshape(-1, 2, 2)[:, 0])


def _owners(wood: Region, cores: Shapes, xy: Floats, sides: Ints) -> Ints:
    """For each vertex of the waste the core that is meant by it: of those in the wood's piece that it lies on the
    nearest; -1 where the piece has none. A foot belongs where its side's ends do."""
    pieces = np.array(polygons_of(wood), dtype=object)
    points, piece = shapely.get_coordinates(pieces, return_index=True)
    _, number = numbered(np.concatenate([points, xy]))
    piece_of = np.full(int(number.max()) + 1, -1)
    piece_of[number[: len(points)]] = piece
    mine = piece_of[number[len(points) :]]
    while True:
        a, b = mine[sides[0]], mine[sides[1]]
        into, out = (a < 0) & (b >= 0), (b < 0) & (a >= 0)
        if not (into | out).any():
            break
        mine[sides[0][into]], mine[sides[1][out]] = b[into], a[out]
    owner = np.full(len(xy), -1)
    core, home = STRtree(pieces).query(shapely.point_on_surface(cores), predicate="intersects")
    for place in np.unique(home):
        here, at = core[home == place], np.flatnonzero(mine == place)
        if len(here) == 1 or not len(at):
            owner[at] = here[0]
            continue
        edges = [edges_of(cores[one]) if isinstance(cores[one], Polygon) else [cores[one]] for one in here]
        whose = np.repeat(here, [len(part) for part in edges])
        nearest = STRtree(np.concatenate(edges)).query_nearest(shapely.points(xy[at]), all_matches=False)
        owner[at[nearest[0]]] = whose[nearest[1]]
    return owner


def _shortest_few(key: Ints, length: Floats) -> Ints:
    """For each key the places of its shortest few, in order."""
    order = np.lexsort((length, key))
    first = np.flatnonzero(np.diff(key[order], prepend=-1))
    rank = np.arange(len(order)) - np.repeat(first, np.diff(np.append(first, len(order))))
    return order[rank < OTHER_STRIPS]


def _apart(key: Ints, lines: Shapes, apart_mm: float) -> Ints:
    """For each key the place of its shortest line, and of the shortest that lies further from it than a distance."""
    length = shapely.length(lines)
    order = np.lexsort((length, key))
    first = np.flatnonzero(np.diff(key[order], prepend=-1))
    best = np.repeat(order[first], np.diff(np.append(first, len(order))))
    far = order[shapely.distance(lines[order], lines[best]) > apart_mm]
    second = far[np.flatnonzero(np.diff(key[far], prepend=-1))] if len(far) else far
    return np.concatenate([order[first], second])


def _hanging(wood: Region, cores: Shapes) -> tuple[list[tuple[int, int]], list[LineString]]:
    """The shortest strips between neighbouring cores of one piece of wood: along its necks."""
    pieces = polygons_of(wood)
    core, home = STRtree(pieces).query(shapely.point_on_surface(cores), predicate="intersects")
    pairs: set[tuple[int, int]] = set()
    for place in np.flatnonzero(np.bincount(home) > 1):
        here = core[home == place]
        largest = here[np.argmax(shapely.area(cores[here]))]
        tree = STRtree(cores[here])
        for index in here:
            if index == largest:
                continue
            pairs.add((min(index, largest), max(index, largest)))
            reach = float(shapely.distance(cores[index], cores[largest]))
            near = here[tree.query(cores[index], predicate="dwithin", distance=reach)]
            pairs.update((min(index, other), max(index, other)) for other in near if other != index)
    ordered = [(int(a), int(b)) for a, b in sorted(pairs)]
    if not ordered:
        return [], []
    a, b = np.array(ordered).T
    return ordered, list(shapely.shortest_line(cores[a], cores[b]))


def _priced(
    pairs: Sequence[tuple[int, int]], lines: Sequence[LineString], opening: Region, width_mm: float
) -> Iterator[Candidate]:
    """The strip along each line, with what of it is seen and what it costs."""
    if not pairs:
        return
    strips = shapely.buffer(np.array(lines, dtype=object), width_mm / 2, quad_segs=8)
    visible = shapely.area(Patchwork(opening).shared_with_each(strips))
    costs = visible + LENGTH_COST_MM2_PER_MM * shapely.length(lines)
    for pair, *strip, cost in zip(pairs, lines, strips, visible.tolist(), costs.tolist(), strict=True):
        yield Candidate(pair, Strip(*strip), cost)


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


def _sight(root: BaseGeometry, opening: Region) -> _Sight:
    x0, y0, x1, y1 = root.bounds
    xs, ys = np.arange(x0, x1 + SIGHT_STEP_MM, SIGHT_STEP_MM), np.arange(y0, y1 + SIGHT_STEP_MM, SIGHT_STEP_MM)
    x, y = np.meshgrid(xs, ys)
    shapely.prepare(opening)
    return _Sight(np.array([x0, y0]), shapely.contains_xy(root, x, y), shapely.contains_xy(opening, x, y))


def _square_lines(
    cores: Shapes, root: int, wanted: Sequence[int], opening: Region
) -> Iterator[tuple[tuple[int, int], LineString]]:
    """For each wanted core the level or upright line to the root's core of which the map sees least."""
    if not wanted:
        return
    sight = _sight(cores[root], opening)
    starts = [_samples(cores[index]) for index in wanted]
    owner = np.repeat(np.arange(len(wanted)), [len(points) for points in starts])
    points = np.concatenate(starts)
    size = np.array(sight.arrived.shape[::-1])
    places = np.clip(np.rint((points - sight.corner) / SIGHT_STEP_MM).astype(np.int64), 0, size - 1)
    found = [(axis, sign, *sight.ways(places, axis, sign > 0)) for axis in (0, 1) for sign in (1, -1)]
    steps = np.stack([way[2] for way in found])
    cost = np.where(steps < 0, np.inf, np.stack([way[3] for way in found]) + LENGTH_COST_MM2_PER_MM * steps)
    patches = Patchwork(as_region(cores[root]))
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


def _to_root(point: Floats, way: tuple[int, int], steps: int, root: Patchwork) -> LineString:
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
