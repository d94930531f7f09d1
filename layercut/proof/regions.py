"""Regions, as the proof needs them; its own, so that an error in the stages' can't hide.

Enters: rings and geometry, mm. Leaves: polygons or multipolygons, possibly empty.
"""

from collections.abc import Sequence

import numpy as np
import shapely
from shapely import LinearRing, MultiPolygon, Polygon, STRtree
from shapely.geometry.base import BaseGeometry

EMPTY: BaseGeometry = Polygon()

QUARTER = 8
"""Chords in a quarter circle. A radius of a kerf then is right to 2 %, some microns."""


def polygons(geometry: BaseGeometry) -> list[Polygon]:
    """The polygons of any geometry; overlays may leave points and lines beside them, which have no area."""
    parts = shapely.get_parts(shapely.get_parts(np.array([geometry], dtype=object)))
    return [part for part in parts if isinstance(part, Polygon) and not part.is_empty]


def region(geometry: BaseGeometry) -> BaseGeometry:
    """Only the polygons of any geometry, mended where an offset left them crossing themselves."""
    found = MultiPolygon(polygons(geometry))
    return found if found.is_valid else MultiPolygon(polygons(shapely.make_valid(found)))


def union(geometries: Sequence[BaseGeometry]) -> BaseGeometry:
    """The union; empty for none."""
    return region(shapely.union_all(np.array(list(geometries), dtype=object))) if geometries else EMPTY


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
    filled = shapely.make_valid(shapely.polygons(list(rings)))
    cell, _ = STRtree(filled).query(shapely.point_on_surface(cells), predicate="within")
    depth = np.bincount(cell, minlength=len(cells))
    return region(shapely.union_all(cells[depth % 2 == 1]))


def wider_than(geometry: BaseGeometry, width_mm: float) -> list[Polygon]:
    """The parts of a region that are somewhere wider than a width, without what is narrower; largest first."""
    core = shapely.buffer(geometry, -width_mm / 2, quad_segs=2)
    parts = polygons(shapely.buffer(core, width_mm / 2, quad_segs=2))
    return sorted(parts, key=lambda part: (-part.area, part.bounds))


def spot(geometry: BaseGeometry) -> tuple[float, float]:
    """A point inside a region, mm, rounded for messages."""
    point = shapely.point_on_surface(geometry)
    return (round(point.x, 2), round(point.y, 2))
