"""Regions: what is common to all polygon work.

Enters: shapely geometry. Leaves: regions, which are valid polygons or multipolygons, possibly empty.
"""

import math
from collections.abc import Iterable
from typing import TypeAlias, TypeVar, cast

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

Region: TypeAlias = Polygon | MultiPolygon

EMPTY: Region = Polygon()

G = TypeVar("G", bound=BaseGeometry | NDArray[np.object_])


def as_region(geometry: BaseGeometry) -> Region:
    """The polygons of any geometry as one region; points and lines fall away. Empty in, empty out."""
    parts = polygons_of(geometry)
    if len(parts) == 1:
        return parts[0]
    return shapely.multipolygons(parts) if parts else EMPTY


def polygons_of(geometry: BaseGeometry) -> list[Polygon]:
    """The polygons of a polygon, multipolygon or collection, in their order, empty ones left out."""
    parts = shapely.get_parts(geometry)
    if not isinstance(geometry, Polygon | MultiPolygon):
        parts = shapely.get_parts(parts)
    kept = (shapely.get_type_id(parts) == shapely.GeometryType.POLYGON) & ~shapely.is_empty(parts)
    return list(parts[kept])


def prepared(geometry: G) -> G:
    """A copy of a geometry, or of an array of them, with an index for asking it often.

    The index hangs on the geometry itself, and threads that make or use it at once crash (docs/design.md, 8): so
    nothing is prepared that another may hold. `contains_xy` and `intersects_xy` prepare what they are given: they are
    asked of such a copy too.
    """
    own = shapely.set_srid(geometry, 0)
    shapely.prepare(own)
    return cast(G, own)


def edges_of(region: BaseGeometry) -> NDArray[np.object_]:
    """The edges of a region's outlines, each a line of two points: (n,)."""
    points, ring = shapely.get_coordinates(shapely.get_rings(polygons_of(region)), return_index=True)
    first = np.flatnonzero(ring[1:] == ring[:-1])
    return np.asarray(shapely.linestrings(np.stack((points[first], points[first + 1]), axis=1)))


def union(regions: Iterable[BaseGeometry]) -> Region:
    """The union of any number of regions; they must be valid. Empty for none."""
    return as_region(shapely.union_all(np.array(list(regions), dtype=object)))


def joined(one: Region, other: Region) -> Region:
    """The union of two valid regions, by one overlay: `union` goes by pairs of polygons and takes three times as
    long where there are many. Empty only if both are."""
    if one.is_empty or other.is_empty:
        return as_region(other if one.is_empty else one)
    return as_region(shapely.union(one, other))


def spread_union(regions: Iterable[BaseGeometry]) -> Region:
    """The union of any number of valid regions of which few meet: only those that do are overlaid. Empty for none."""
    parts = np.array([part for region in regions for part in polygons_of(region)], dtype=object)
    one, other = shapely.STRtree(parts).query(parts, predicate="intersects")
    meeting = np.zeros(len(parts), dtype=np.bool_)
    meeting[one[one != other]] = True
    return as_region(MultiPolygon([*parts[~meeting], *polygons_of(shapely.union_all(parts[meeting]))]))


def less(one: Region, other: Region) -> Region:
    """The difference of two valid regions; polygons that both have, to the vertex, need no overlay. May be empty."""
    mine, theirs, _ = _set_aside(one, other)
    return as_region(shapely.difference(mine, theirs))


def shared(one: Region, other: Region) -> Region:
    """The intersection of two valid regions. Polygons that both have need no overlay; may be empty."""
    mine, theirs, both = _set_aside(one, other)
    return as_region(MultiPolygon([*both, *polygons_of(shapely.intersection(mine, theirs))]))


def _set_aside(one: Region, other: Region) -> tuple[MultiPolygon, MultiPolygon, list[Polygon]]:
    """Two regions without the polygons that both have, and these."""
    mine, theirs = (np.array(polygons_of(region), dtype=object) for region in (one, other))
    keys, others = (shapely.to_wkb(shapely.normalize(parts)).tolist() for parts in (mine, theirs))
    known = set(keys).intersection(others)
    same, also = (np.array([key in known for key in all_of], dtype=np.bool_) for all_of in (keys, others))
    return MultiPolygon(list(mine[~same])), MultiPolygon(list(theirs[~also])), list(mine[same])


def without(region: Region, others: Iterable[BaseGeometry]) -> Region:
    """The region less each of the others in turn, which is quicker than less their union; may be empty."""
    for other in others:
        region = as_region(shapely.difference(region, other))
    return region


def point_on(region: BaseGeometry) -> tuple[float, float]:
    """A point inside the region, mm, rounded to hundredths for messages."""
    point = shapely.point_on_surface(region)
    return (round(point.x, 2), round(point.y, 2))


def box_size(region: BaseGeometry) -> tuple[float, float]:
    """Width and height of the box around the region, mm, rounded to hundredths for messages."""
    x0, y0, x1, y1 = region.bounds
    return (round(x1 - x0, 2), round(y1 - y0, 2))


def widest_mm(region: BaseGeometry) -> float:
    """The width of a region's greatest disc, mm; 0 for an empty one."""
    parts = polygons_of(region)
    return max((2 * float(shapely.maximum_inscribed_circle(part).length) for part in parts), default=0.0)


def bar_width(region: Polygon) -> float:
    """The width of the bar that has a region's area A and perimeter P: P/4 - sqrt(P^2/16 - A), in mm."""
    quarter = float(region.length) / 4
    return quarter - math.sqrt(max(quarter**2 - float(region.area), 0.0))


def bar_length(region: Polygon) -> float:
    """The length of the bar that has a region's area A and perimeter P: P/4 + sqrt(P^2/16 - A), in mm."""
    quarter = float(region.length) / 4
    return quarter + math.sqrt(max(quarter**2 - float(region.area), 0.0))
