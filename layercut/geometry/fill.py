"""Rings and a fill rule to regions.

Enters: rings (n, 2), in mm, closed or not, that may cross themselves and each other. Leaves: valid regions.
The winding rules are those of SVG 2, "Winding rule".
"""

from collections.abc import Sequence
from typing import Literal, TypeAlias

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from layercut.geometry.curves import BoolArray, FloatArray
from layercut.geometry.regions import EMPTY, Region, as_region

Rule: TypeAlias = Literal["nonzero", "evenodd"]
Rings: TypeAlias = Sequence[FloatArray]

MAX_CROSSINGS = 40_000
"""Outlines that cross more often aren't filled: each crossing makes a cell, and cells cost memory and time. A rosette
of a hundred turns has a tenth of it."""

MAX_EDGES = 500_000
"""Edges of outlines that cross at all: more can't even be looked at without a gigabyte."""

_PAIRS = 4_000_000
"""Pairs of edges, or of an edge and a point, that are looked at together; what bounds the memory."""


class TangledError(ValueError):
    """Outlines that cross each other too often to be filled; `index` says which of the shapes."""

    def __init__(self, index: int = 0) -> None:
        super().__init__("the outlines cross too often")
        self.index = index


def fill_regions(shapes: Sequence[tuple[Rings, Rule]]) -> list[Region]:
    """The filled region of each shape, in order; empty where its rings enclose nothing.

    Shapes of one simple ring, nearly all of a usual drawing, are made in one go. Raises TangledError.
    """
    results: list[Region] = [EMPTY] * len(shapes)
    prepared = [_usable(rings) for rings, _ in shapes]
    single = [index for index, rings in enumerate(prepared) if len(rings) == 1]
    polygons = _polygons([prepared[index][0] for index in single])
    simple = set()
    for index, polygon, good in zip(single, polygons, shapely.is_valid(polygons), strict=True):
        if good:
            results[index] = polygon
            simple.add(index)
    for index, rings in enumerate(prepared):
        if rings and index not in simple:
            try:
                results[index] = _fill_many(rings, shapes[index][1])
            except TangledError:
                raise TangledError(index) from None
    return results


def fill_region(rings: Rings, rule: Rule) -> Region:
    """The filled region of one shape; empty where its rings enclose nothing. Raises TangledError."""
    return fill_regions([(rings, rule)])[0]


def is_tangled(rings: Rings) -> bool:
    """True when the rings cross more than MAX_CROSSINGS times in all, judged by a sample of their edges."""
    count = sum(max(len(ring) - 1, 0) for ring in rings)
    if count * (count - 1) // 2 <= MAX_CROSSINGS:
        return False
    if count > MAX_EDGES:
        return True
    starts, ends = (np.concatenate([ring[part] for ring in rings]) for part in (slice(None, -1), slice(1, None)))
    edges = shapely.linestrings(np.stack((starts, ends), axis=1))
    # A fixed choice of edges, but no regular one: a drawing's own rhythm must not fall in with it.
    sample = np.random.default_rng(0).permutation(count)[: max(16, _PAIRS // count)]
    met = shapely.STRtree(edges).query(edges[sample], predicate="intersects").shape[1]
    crossings = (met / len(sample) - 3) * count / 2  # less the edge itself and its neighbours
    return bool(crossings > MAX_CROSSINGS)


def _usable(rings: Rings) -> list[FloatArray]:
    """The rings that can enclose something: closed, without repeated points, of at least three points."""
    usable = []
    for ring in rings:
        keep = np.ones(len(ring), dtype=np.bool_)
        keep[1:] = (ring[1:] != ring[:-1]).any(axis=1)
        points = ring if keep.all() else ring[keep]
        if len(points) and (points[0] != points[-1]).any():
            points = np.concatenate((points, points[:1]))
        if len(points) >= 4:
            usable.append(points)
    return usable


def _polygons(rings: Sequence[FloatArray]) -> NDArray[np.object_]:
    if not rings:
        return np.empty(0, dtype=object)
    owners = np.repeat(np.arange(len(rings)), [len(ring) for ring in rings])
    polygons: NDArray[np.object_] = shapely.polygons(shapely.linearrings(np.concatenate(rings), indices=owners))
    return polygons


def _fill_many(rings: list[FloatArray], rule: Rule) -> Region:
    polygons = _polygons(rings)
    if len(polygons) > 1 and shapely.is_valid(polygons).all() and not _any_touch(polygons):
        return _nest(polygons, rule)
    return _fill_noded(rings, rule)


def _any_touch(polygons: NDArray[np.object_]) -> bool:
    """True when any two of the outlines meet."""
    lines = shapely.boundary(polygons)
    first, second = shapely.STRtree(lines).query(lines, predicate="intersects")
    return bool((first != second).any())


def _nest(polygons: NDArray[np.object_], rule: Rule) -> Region:
    """Rings that are apart or one within another: shells and holes follow from the windings around each."""
    areas = shapely.area(polygons)
    turns = np.where(shapely.is_ccw(shapely.get_exterior_ring(polygons)), 1, -1)
    points = shapely.points(shapely.get_coordinates(shapely.get_point(shapely.get_exterior_ring(polygons), 0)))
    # Asked from the polygons' side, because only the asking geometry is prepared.
    outer, inner = shapely.STRtree(points).query(polygons, predicate="contains")
    apart = inner != outer
    inner, outer = inner[apart], outer[apart]
    outside = np.zeros(len(polygons), dtype=np.int64)
    np.add.at(outside, inner, turns[outer])
    filled_outside, filled_inside = _filled(outside, rule), _filled(outside + turns, rule)
    shells = filled_inside & ~filled_outside
    holes: dict[int, list[shapely.LinearRing]] = {}
    owners: dict[int, int] = {}
    for ring, around in zip(inner.tolist(), outer.tolist(), strict=True):
        is_hole = filled_outside[ring] and not filled_inside[ring]
        if is_hole and shells[around] and (ring not in owners or areas[around] < areas[owners[ring]]):
            owners[ring] = around
    for ring, around in owners.items():
        holes.setdefault(around, []).append(polygons[ring].exterior)
    parts = [Polygon(polygons[shell].exterior, holes.get(shell, [])) for shell in np.flatnonzero(shells).tolist()]
    return as_region(shapely.MultiPolygon(parts))


def _filled(windings: NDArray[np.int64], rule: Rule) -> BoolArray:
    filled: BoolArray = windings % 2 == 1 if rule == "evenodd" else windings != 0
    return filled


def _fill_noded(rings: list[FloatArray], rule: Rule) -> Region:
    """The general way: node the outlines, and keep each cell by the winding number of a point in it."""
    if is_tangled(rings):
        raise TangledError
    owners = np.repeat(np.arange(len(rings)), [len(ring) for ring in rings])
    lines = shapely.linestrings(np.concatenate(rings), indices=owners)
    cells = shapely.get_parts(shapely.polygonize([shapely.union_all(lines)]))
    if not len(cells):
        return EMPTY
    kept = cells[_filled(_windings(shapely.get_coordinates(shapely.point_on_surface(cells)), rings), rule)]
    if not len(kept):
        return EMPTY
    # Cells of one noding share their edges to the last digit, so the cheap union of a coverage is exact.
    try:
        region = as_region(shapely.coverage_union_all(kept))
    except shapely.errors.GEOSException:  # found by fuzzing: where floats are too coarse for the cells not to overlap
        region = EMPTY
    return region if region.is_valid and not region.is_empty else as_region(shapely.union_all(kept))


def _windings(points: FloatArray, rings: list[FloatArray]) -> NDArray[np.int64]:
    """How often the rings run around each point (n, 2), anticlockwise in x right, y up: (n,).

    Sunday's crossing count: edges that cross the ray from the point towards +x, upwards less downwards.
    """
    starts = np.concatenate([ring[:-1] for ring in rings])
    ends = np.concatenate([ring[1:] for ring in rings])
    tree = shapely.STRtree(shapely.linestrings(np.stack((starts, ends), axis=1)))
    size = max(1, _PAIRS // len(starts))
    parts = [points[at : at + size] for at in range(0, len(points), size)]
    return np.concatenate([_windings_at(part, tree, starts, ends) for part in parts])


def _windings_at(
    points: FloatArray, tree: shapely.STRtree, starts: FloatArray, ends: FloatArray
) -> NDArray[np.int64]:
    reach = np.stack((points[:, 0], np.full(len(points), max(starts[:, 0].max(), points[:, 0].max()) + 1)), axis=1)
    rays = shapely.linestrings(reach, np.stack((points[:, 1], points[:, 1]), axis=1))
    ray, edge = tree.query(rays)
    p, a, b = points[ray], starts[edge], ends[edge]
    side = (b[:, 0] - a[:, 0]) * (p[:, 1] - a[:, 1]) - (p[:, 0] - a[:, 0]) * (b[:, 1] - a[:, 1])
    up = (a[:, 1] <= p[:, 1]) & (b[:, 1] > p[:, 1]) & (side > 0)
    down = (a[:, 1] > p[:, 1]) & (b[:, 1] <= p[:, 1]) & (side < 0)
    windings = np.zeros(len(points), dtype=np.int64)
    np.add.at(windings, ray, up.astype(np.int64) - down.astype(np.int64))
    return windings
