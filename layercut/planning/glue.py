"""Glue zones: where a sheet stays bare, because the next one in front is glued on there.

Enters: the wood of two sheets that lie on each other, and the overlap, mm. Leaves: regions.
"""

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import GeometryCollection, STRtree

from layercut.geometry.precision import AREA_MM2
from layercut.geometry.regions import Region, as_region, polygons_of
from layercut.planning.paint_overlap import ARC_CHORDS, coarse

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
    touched = STRtree(held).query(zone, predicate="intersects")
    small = _contacts_of(np.delete(held, touched), contact)
    # Pieces lie apart, so their zones do too.
    return _together([zone, *(_middle(one, overlap_mm) for one in small)])


def _contacts_of(pieces: NDArray[np.object_], contact: Region) -> list[Region]:
    """The contact of each piece that has some: the parts of all contact that lie within it. Pieces must lie apart."""
    parts = np.array(polygons_of(contact), dtype=object)
    piece, part = STRtree(shapely.point_on_surface(parts)).query(pieces, predicate="contains")
    return [_together(parts[part[piece == k]]) for k in np.unique(piece)]


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
    return _together([part for part in polygons_of(inner) if part.area >= AREA_MM2])


def _together(regions: Sequence[Region] | NDArray[np.object_]) -> Region:
    """Regions that don't overlap, as one."""
    return as_region(GeometryCollection(list(regions)))
