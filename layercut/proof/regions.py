"""Regions, as the proof needs them; its own, so that an error in the stages' can't hide.

Enters: rings and geometry, mm. Leaves: polygons or multipolygons, possibly empty.
"""

from collections.abc import Iterable, Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LinearRing, LineString, MultiPolygon, Polygon, STRtree
from shapely.geometry.base import BaseGeometry

EMPTY: BaseGeometry = Polygon()

QUARTER = 8
"""Chords in a quarter circle. A radius of a kerf then is right to 2 %, some microns."""

RUN = 16
"""Edges in a run: so many are quicker to look through one by one than to sort into a tree."""


def polygons(geometry: BaseGeometry) -> list[Polygon]:
    """The polygons of any geometry; overlays may leave points and lines beside them, which have no area."""
    parts = shapely.get_parts(shapely.get_parts(np.array([geometry], dtype=object)))
    return [part for part in parts if isinstance(part, Polygon) and not part.is_empty]


def region(geometry: BaseGeometry) -> BaseGeometry:
    """Only the polygons of any geometry, mended where an offset left them crossing themselves."""
    found = MultiPolygon(polygons(geometry))
    return found if found.is_valid else MultiPolygon(polygons(shapely.make_valid(found)))


def union(geometries: Iterable[BaseGeometry]) -> BaseGeometry:
    """The union; empty for none."""
    parts = np.array(list(geometries), dtype=object)
    return region(shapely.union_all(parts)) if len(parts) else EMPTY


def both(a: BaseGeometry, b: BaseGeometry) -> BaseGeometry:
    """What two regions share."""
    return region(shapely.intersection(a, b))


def without(a: BaseGeometry, b: BaseGeometry) -> BaseGeometry:
    """What of a region the other doesn't cover."""
    return region(shapely.difference(a, b)) if not b.is_empty else a


def grown(geometry: BaseGeometry, distance_mm: float) -> BaseGeometry:
    """All points within a distance of a region; with a negative one, those further than it from outside."""
    return region(shapely.buffer(geometry, distance_mm, quad_segs=QUARTER))


def even_odd(rings: Sequence[LinearRing]) -> BaseGeometry:
    """The region inside an odd number of rings, which may nest, touch and cross."""
    if not rings:
        return EMPTY
    cells = shapely.get_parts(shapely.polygonize([shapely.union_all(np.array(rings, dtype=object))]))
    if not len(cells):
        return EMPTY
    filled = shapely.polygons(list(rings))
    bad = ~shapely.is_valid(filled)
    filled[bad] = shapely.make_valid(filled[bad])
    points = shapely.point_on_surface(cells)
    cell, ring = STRtree(filled).query(points)
    shapely.prepare(filled)  # each ring is asked for all the cells in its box
    cell = cell[shapely.contains_properly(filled[ring], points[cell])]
    depth = np.bincount(cell, minlength=len(cells))
    odd = cells[depth % 2 == 1]
    # Beyond a ring the count is even, so odd cells share no edge, unless rings lie on each other.
    found = MultiPolygon(list(odd))
    return found if found.is_valid else union(odd)


def area_of(rings: Sequence[NDArray[np.float64]]) -> BaseGeometry:
    """The region of one path by the even-odd rule, its rings as points (n, 2). Most are a shell and its holes."""
    shell, *holes = rings
    found = Polygon(shell, holes)
    return found if found.is_valid else even_odd([LinearRing(ring) for ring in rings])


def lines_of(contours: Iterable[NDArray[np.float64]]) -> tuple[LineString, ...]:
    """Contours, each of points (n, 2), as lines; a single point is none."""
    lines = [points for points in contours if len(points) >= 2]
    if not lines:
        return ()
    which = np.repeat(np.arange(len(lines)), [len(points) for points in lines])
    return tuple(shapely.linestrings(np.concatenate(lines), indices=which))


def tiled(parts: Sequence[BaseGeometry]) -> BaseGeometry:
    """The union of parts that should share their edges to the last digit, but may not."""
    # Quick where they do. Where they don't, edges are left within the union or upon each other, which is not valid.
    try:
        joined = shapely.coverage_union_all(np.array(list(parts), dtype=object))
    except shapely.errors.GEOSException:
        return union(parts)
    return MultiPolygon(polygons(joined)) if joined.is_valid else union(parts)


def wider_than(geometry: BaseGeometry, width_mm: float) -> list[Polygon]:
    """The parts of a region that are somewhere wider than a width, without what is narrower; largest first."""
    return around(inner(geometry, width_mm), width_mm)


def inner(geometry: BaseGeometry, width_mm: float) -> BaseGeometry:
    """The middles of all discs of a width that lie within a region.

    Of what two regions share, these are what their `inner`s share; of a difference, the one's `inner` without the
    other's `outer` (Serra, "Image Analysis and Mathematical Morphology", on erosion and dilation).
    """
    return shapely.buffer(geometry, -width_mm / 2, quad_segs=2)


def outer(geometry: BaseGeometry, width_mm: float) -> BaseGeometry:
    """The middles of all discs of a width that meet a region."""
    return shapely.buffer(geometry, width_mm / 2, quad_segs=2)


def around(middles: BaseGeometry, width_mm: float) -> list[Polygon]:
    """The parts that discs of a width around some middles cover, the largest first."""
    parts = polygons(outer(MultiPolygon(polygons(middles)), width_mm))
    return sorted(parts, key=lambda part: (-part.area, part.bounds))


def runs(pieces: Sequence[Polygon]) -> tuple[NDArray[np.object_], NDArray[np.int64]]:
    """The edges of polygons as short lines, and whose each of them is: a tree of these finds at once what is near."""
    lines, owners = [], []
    rings, ring_owner = shapely.get_rings(np.array(pieces, dtype=object), return_index=True)
    for ring, owner in zip(rings, ring_owner.tolist(), strict=True):
        points = shapely.get_coordinates(ring)
        for first in range(0, len(points) - 1, RUN):
            lines.append(points[first : first + RUN + 1])
            owners.append(owner)
    which = np.repeat(np.arange(len(lines)), [len(line) for line in lines])
    return shapely.linestrings(np.concatenate(lines), indices=which), np.array(owners)


def spot(geometry: BaseGeometry) -> tuple[float, float]:
    """A point inside a region, mm, rounded for messages."""
    point = shapely.point_on_surface(geometry)
    return (round(point.x, 2), round(point.y, 2))
