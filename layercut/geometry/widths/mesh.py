"""Triangulated regions: a constrained Delaunay triangulation (GEOS) whose triangles know their neighbours.

Enters: polygons that don't overlap. Leaves: a `Mesh`. Holds: equal points are one vertex, equal edges are twins.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString, MultiPolygon, Polygon

from layercut.geometry.regions import EMPTY, Region, union

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]
Shapes = NDArray[np.object_]


@dataclass(frozen=True)
class Mesh:
    """Triangles, counter-clockwise: `xy` (n, 2) vertices, mm; `tri` (m, 3) their numbers; `piece` (m,) the polygon
    that each triangle is of.

    Half-edge 3t + k lies opposite to corner k of triangle t. `twin` (3m,) is the half-edge on its other side, -1
    where that is the outline.
    """

    xy: Floats
    tri: Ints
    piece: Ints
    twin: Ints

    @cached_property
    def start(self) -> Ints:
        """The vertex where each half-edge begins, (3m,)."""
        return self.tri[:, [1, 2, 0]].ravel()

    @cached_property
    def end(self) -> Ints:
        """The vertex where each half-edge ends, (3m,)."""
        return self.tri[:, [2, 0, 1]].ravel()

    @cached_property
    def lengths(self) -> Floats:
        """The length of each half-edge, (3m,), mm."""
        across = self.xy[self.end] - self.xy[self.start]
        return np.asarray(np.hypot(across[:, 0], across[:, 1]))

    @cached_property
    def areas(self) -> Floats:
        """The area of each triangle, (m,), mm2."""
        return twice_areas(self.xy[self.tri]) / 2

    def triangles(self, chosen: Ints | Flags) -> Shapes:
        """Some triangles, each as a polygon: made as asked for, since all of them take more room than the mesh."""
        return np.asarray(shapely.polygons(self.xy[self.tri[chosen][:, [0, 1, 2, 0]]]), dtype=object)

    def region(self, chosen: Ints | Flags) -> Region:
        """The union of some triangles; empty for none."""
        return _joined(self.triangles(chosen))

    def regions(self, groups: Sequence[Ints]) -> Shapes:
        """The union of each group of triangles, (len(groups),)."""
        found = np.zeros(len(groups), dtype=object)
        if len(groups):
            triangles = self.triangles(np.concatenate(groups))
            ends = np.cumsum([len(group) for group in groups])
            found[:] = [_joined(part) for part in np.split(triangles, ends[:-1])]
        return found

    def line(self, half: int) -> LineString:
        """A half-edge as a line."""
        return LineString(self.xy[[self.start[half], self.end[half]]])

    def at(self, x: float, y: float) -> int:
        """The triangle that holds a point, or the nearest one."""
        point = np.array([x, y])
        corners = self.xy[self.tri] - point
        following = corners[:, [1, 2, 0]]
        left = corners[..., 0] * following[..., 1] - corners[..., 1] * following[..., 0]
        inside = np.flatnonzero((left >= 0).all(axis=1))
        if len(inside):
            return int(inside[0])
        return int(np.argmin(shapely.distance(self.triangles(np.arange(len(self.tri))), shapely.Point(x, y))))

    def beside(self, triangles: Ints) -> Ints:
        """Some triangles and their neighbours."""
        twins = self.twin[(3 * triangles[:, None] + np.arange(3)).ravel()]
        return np.union1d(triangles, twins[twins >= 0] // 3)


def _joined(triangles: Shapes) -> Region:
    """The union of triangles of one mesh; empty for none."""
    try:
        joined = shapely.coverage_union_all(triangles)
        return joined if isinstance(joined, Polygon | MultiPolygon) else EMPTY
    except shapely.GEOSException:  # a triangle without any height
        return union(shapely.make_valid(triangles))


def twice_areas(corners: Floats) -> Floats:
    """Twice the area of each triangle, (m,), from its corners, (m, 3, 2); negative where they run clockwise."""
    u, v = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    return np.asarray(u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0])


def triangulate(pieces: Sequence[Polygon] | Shapes) -> Mesh:
    """The constrained Delaunay triangulation of polygons."""
    return linked(*corners_of(np.array(pieces, dtype=object)))


def corners_of(pieces: Shapes) -> tuple[Floats, Ints]:
    """The corners, (m, 3, 2), of the triangles of some polygons, and the polygon that each is of, (m,)."""
    found = shapely.constrained_delaunay_triangles(pieces)
    count = shapely.get_num_geometries(found)
    corners = shapely.get_coordinates(found).reshape(-1, 4, 2)[:, :3]
    return corners, np.repeat(np.arange(len(pieces)), count)


def linked(corners: Floats, piece: Ints) -> Mesh:
    """The mesh of triangles given by their corners, (m, 3, 2)."""
    xy, number = numbered(corners.reshape(-1, 2))
    tri = number.reshape(-1, 3)
    clockwise = twice_areas(corners) < 0
    tri[clockwise] = tri[clockwise][:, [0, 2, 1]]
    twin = _twins(tri[:, [1, 2, 0]].ravel(), tri[:, [2, 0, 1]].ravel(), len(xy))
    return Mesh(xy, tri, piece, twin)


def numbered(points: Floats) -> tuple[Floats, Ints]:
    """Each different point once, (n, 2), and for each of the given points its number."""
    order = np.lexsort((points[:, 1], points[:, 0]))
    ranked = points[order]
    new = np.ones(len(points), dtype=bool)
    new[1:] = (ranked[1:] != ranked[:-1]).any(axis=1)
    number = np.empty(len(points), dtype=np.int64)
    number[order] = np.cumsum(new) - 1
    return ranked[new], number


def edge_keys(start: Ints, end: Ints, count: int) -> Ints:
    """One number for each edge between two of `count` vertices, whichever way it runs."""
    return np.minimum(start, end) * count + np.maximum(start, end)


def _twins(start: Ints, end: Ints, count: int) -> Ints:
    """For each half-edge the one between the same vertices, -1 for none."""
    key = edge_keys(start, end, count)
    order = np.argsort(key, kind="stable")
    same = np.flatnonzero(key[order][1:] == key[order][:-1])
    twin = np.full(len(key), -1, dtype=np.int64)
    twin[order[same]], twin[order[same + 1]] = order[same + 1], order[same]
    return twin


def grouped(label: Ints, wanted: Sequence[int] | Ints) -> list[Ints]:
    """For each wanted label where it stands, in order."""
    order = np.argsort(label, kind="stable")
    ranked = label[order]
    first, last = np.searchsorted(ranked, wanted, "left"), np.searchsorted(ranked, wanted, "right")
    return [order[a:b] for a, b in zip(first, last, strict=True)]
