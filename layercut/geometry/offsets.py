"""Growing, shrinking and rounding regions: the few offsets that the trade's rules need.

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
from layercut.geometry.regions import Region, as_region

COARSE_SEGMENTS = 8
"""Chords in a quarter circle where only the strength of hidden wood depends on it."""

MITRE_LIMIT = 2.0
"""How far a sharp corner may reach when it grows, in offsets; one under 60 degrees is cut off straight there. The
beam burns one offset wide, so any limit over 1 leaves the corner itself whole."""


def quarter_segments(radius_mm: float) -> int:
    """How many chords a quarter circle needs to stay within FLATTEN_MM: a chord of angle t leaves r (1 - cos t/2)."""
    if radius_mm <= FLATTEN_MM:
        return 1
    angle = 2 * math.acos(1 - FLATTEN_MM / radius_mm)
    return max(2, math.ceil(math.pi / 2 / angle))


def _mended(region: BaseGeometry) -> Region:
    """An offset's polygons; GEOS may, rarely, leave them crossing themselves."""
    return as_region(region if region.is_valid else shapely.make_valid(region))


def grow(region: Region, distance_mm: float) -> Region:
    """The region grown by a distance, corners kept sharp; empty stays empty."""
    return _mended(shapely.buffer(region, distance_mm, join_style="mitre", mitre_limit=MITRE_LIMIT))


COARSE_CHORD_DEG = 16.9
"""The widest angle that GEOS leaves to one chord of a coarse round corner (measured on wedges of all angles)."""


def grow_coarsely(region: Region, distance_mm: float) -> Region:
    """The region grown by at least a distance and at most 2 % more, with few chords in its round corners."""
    reach = distance_mm / math.cos(math.radians(COARSE_CHORD_DEG / 2))
    return _mended(shapely.buffer(region, reach, quad_segs=COARSE_SEGMENTS))


def shrink(region: Region, distance_mm: float) -> Region:
    """The points of a region that are further than a distance from its boundary; may be empty or fall apart."""
    return _mended(shapely.buffer(region, -distance_mm, quad_segs=8))


def can_be_seen(region: Region) -> bool:
    """Whether a region is large and wide enough to be seen, cut or painted."""
    return region.area >= AREA_MM2 and not shrink(region, SIGHT_MM / 2).is_empty


def are_seen(parts: Sequence[Region], visible: Region) -> NDArray[np.bool_]:
    """For each part, (n,), whether what is visible of it `can_be_seen`; simpler tests settle most."""
    regions = np.array(parts, dtype=object)
    if not len(regions):
        return np.zeros(0, dtype=bool)
    shapely.prepare(visible)
    # What is left of a part drawn in by half the width is all of it that could be wide enough.
    wide = shapely.buffer(regions, -SIGHT_MM / 2, quad_segs=1)
    seen = np.asarray(shapely.intersects(visible, wide) & (shapely.area(regions) >= AREA_MM2), dtype=bool)
    # What is visible as a whole can be seen, as it is wide enough.
    for index in np.flatnonzero(seen & ~shapely.covers(visible, regions)):
        seen[index] = can_be_seen(as_region(shapely.intersection(regions[index], visible)))
    return seen


def dilate(region: Region, distance_mm: float) -> Region:
    """The points within a distance of a region, round."""
    return _mended(shapely.buffer(region, distance_mm, quad_segs=8))


def rounded_box(x0: float, y0: float, x1: float, y1: float, radius_mm: float) -> Polygon:
    """A rectangle with round corners; a square whose radius is half its side is a disc.

    The radius must not be more than half the shorter side.
    """
    if radius_mm <= 0:
        return shapely.box(x0, y0, x1, y1)
    r = radius_mm
    centres = MultiPoint([(x0 + r, y0 + r), (x1 - r, y0 + r), (x1 - r, y1 - r), (x0 + r, y1 - r)])
    return shapely.buffer(centres.convex_hull, r, quad_segs=quarter_segments(r))
