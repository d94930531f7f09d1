"""Offsets, mitred and round, outwards and inwards: the few that the trade's rules need.

Enters and leaves: regions, mm. Every arc keeps within the flattening tolerance unless a caller asks for a
coarse one, which is for wood that nobody sees.
"""

import math
from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPoint, Polygon
from shapely.geometry.base import BaseGeometry

from layercut.geometry.precision import AREA_MM2, FLATTEN_MM, SIGHT_MM
from layercut.geometry.quadtree import QuadtreeRegion
from layercut.geometry.regions import Region, as_region, polygons_of, union

COARSE_SEGMENTS = 8
"""Chords in a quarter circle where only the strength of hidden wood depends on it."""

MITRE_LIMIT = 2.0
"""How far a sharp corner may reach when it grows, in offsets; one under 60 degrees is cut off straight there. The
beam burns one offset wide, so any limit over 1 leaves the corner itself whole."""


def quarter_segments(radius_mm: float, within_mm: float = FLATTEN_MM) -> int:
    """How many chords a quarter circle needs to stay within a distance: a chord of angle t leaves r (1 - cos t/2)."""
    if radius_mm <= within_mm:
        return 1
    angle = 2 * math.acos(1 - within_mm / radius_mm)
    return max(2, math.ceil(math.pi / 2 / angle))


ROUND_SEGMENTS = 8
"""Chords in a quarter circle of a round offset: they lie within 0.5 % of the distance."""


def _round_segments(distance_mm: float, within_mm: float) -> int:
    """As many chords as keep within a distance of the circle, and no more than any round offset has."""
    return min(ROUND_SEGMENTS, quarter_segments(distance_mm, within_mm)) if within_mm else ROUND_SEGMENTS


def _made_valid(region: BaseGeometry) -> Region:
    """An offset's polygons; GEOS may, rarely, leave them crossing themselves."""
    return as_region(region if region.is_valid else shapely.make_valid(region))


def offset_mitre(region: Region, distance_mm: float) -> Region:
    """The region offset outwards, or inwards by a negative distance, corners kept sharp; empty stays empty."""
    return _made_valid(shapely.buffer(region, distance_mm, join_style="mitre", mitre_limit=MITRE_LIMIT))


COARSE_CHORD_DEG = 16.9
"""The widest angle that GEOS leaves to one chord of a coarse round corner (measured on wedges of all angles)."""


MANY_PARTS = 1000
"""GEOS offsets the rings of a region all at once; beside so many, one after another and joined is twice as quick."""


def offset_round_coarse(region: Region, distance_mm: float) -> Region:
    """The region offset outwards by at least a distance and at most 2 % more, with few chords in round corners."""
    reach = distance_mm / math.cos(math.radians(COARSE_CHORD_DEG / 2))
    parts = polygons_of(region)
    if len(parts) >= MANY_PARTS:
        return union(shapely.buffer(parts, reach, quad_segs=COARSE_SEGMENTS))
    return _made_valid(shapely.buffer(region, reach, quad_segs=COARSE_SEGMENTS))


def shrink(region: Region, distance_mm: float, within_mm: float = 0.0) -> Region:
    """The points of a region that are further than a distance from its boundary; may be empty or fall apart.

    Where it may be off by `within_mm`, a small distance takes fewer chords.
    """
    segments = _round_segments(distance_mm, within_mm)
    if isinstance(region, Polygon) and len(region.interiors) >= MANY_PARTS:
        holes = union(shapely.buffer([Polygon(ring) for ring in region.interiors], distance_mm, quad_segs=segments))
        outside = shapely.buffer(Polygon(region.exterior), -distance_mm, quad_segs=segments)
        return _made_valid(shapely.difference(outside, holes))
    return _made_valid(shapely.buffer(region, -distance_mm, quad_segs=segments))


def can_be_seen(region: Region) -> bool:
    """Whether a region is large and wide enough to be seen, cut or painted."""
    return region.area >= AREA_MM2 and not shrink(region, SIGHT_MM / 2).is_empty


def are_seen(parts: Sequence[Region], visible: QuadtreeRegion) -> NDArray[np.bool_]:
    """For each part, (n,), whether what is visible of it `can_be_seen`."""
    shown = visible.shared_with_each(parts)
    wide = shapely.buffer(shown, -SIGHT_MM / 2, quad_segs=ROUND_SEGMENTS)
    return np.asarray((shapely.area(shown) >= AREA_MM2) & ~shapely.is_empty(wide), dtype=bool)


def offset_round(region: Region, distance_mm: float, within_mm: float = 0.0) -> Region:
    """The points within a distance of a region, round; fewer chords as in `shrink`."""
    return _made_valid(shapely.buffer(region, distance_mm, quad_segs=_round_segments(distance_mm, within_mm)))


def rounded_box(x0: float, y0: float, x1: float, y1: float, radius_mm: float) -> Polygon:
    """A rectangle with round corners; a square whose radius is half its side is a disc.

    The radius must not be more than half the shorter side.
    """
    if radius_mm <= 0:
        return shapely.box(x0, y0, x1, y1)
    r = radius_mm
    centres = MultiPoint([(x0 + r, y0 + r), (x1 - r, y0 + r), (x1 - r, y1 - r), (x0 + r, y1 - r)])
    return shapely.buffer(centres.convex_hull, r, quad_segs=quarter_segments(r))
