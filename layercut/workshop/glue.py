"""Glue zones: where a sheet stays bare, because the next one in front is glued on there.

Enters: the wood of two sheets that lie on each other, and the overlap, mm. Leaves: regions.
"""

from collections.abc import Sequence

import numpy as np
import shapely
from shapely import STRtree

from layercut.geometry.precision import AREA_MM2
from layercut.geometry.regions import Region, as_region, polygons_of, union
from layercut.workshop.reach import ARC_CHORDS, coarse

SMALLER_SHARES = (0.5, 0.25)
"""Shares of the overlap at which the zone of a small piece is tried, when it would vanish with all of it."""


def contact_of(wood: Region, front: Region) -> Region:
    """Where two sheets touch: the wood of one on the wood of the other. Empty where they don't."""
    return as_region(shapely.intersection(wood, front))


def glue_zone(contact: Region, pieces: Sequence[Region], overlap_mm: float) -> Region:
    """The contact, drawn in by the overlap, so that paint may reach under and no glue comes out.

    `pieces` are the loose pieces in front: one too small for that keeps a smaller zone. Empty where nothing is wide
    enough.
    """
    zone = _drawn_in(contact, overlap_mm)
    if not overlap_mm or not pieces:
        return zone
    held = np.array(pieces, dtype=object)
    touched = set(STRtree(held).query(zone, predicate="intersects").tolist())
    small = [held[k] for k in range(len(held)) if k not in touched]
    more = [_middle(as_region(shapely.intersection(piece, contact)), overlap_mm) for piece in small]
    return union([zone, *more])


def _middle(contact: Region, overlap_mm: float) -> Region:
    for share in SMALLER_SHARES:
        zone = _drawn_in(contact, share * overlap_mm)
        if not zone.is_empty:
            return zone
    return contact  # a thread of wood: better glue at its edge than none


def _drawn_in(region: Region, distance_mm: float) -> Region:
    if not distance_mm:
        return region
    inner = shapely.buffer(coarse(region), -distance_mm, quad_segs=ARC_CHORDS)
    parts = [part for part in polygons_of(inner) if part.area >= AREA_MM2]
    return union(parts)
