"""Hairlines: gaps between two pieces of a sheet's wood that are narrower than the kerf.

Enters: a sheet's regions and the kerf, mm. Leaves: the regions with those gaps filled in the plan: the beam can't cut
them, so the pieces would stay joined there, and what is planned must be what is cut.
"""

from dataclasses import replace

import numpy as np
import shapely
from shapely import STRtree

from layercut.geometry.offsets import MITRE_LIMIT, grow
from layercut.geometry.precision import GRID_MM
from layercut.geometry.regions import as_region, polygons_of, union
from layercut.stack.wood import SheetWood


def close_hairlines(sheet: SheetWood, kerf_mm: float) -> SheetWood:
    """The sheet without gaps that the beam can't cut; the same sheet where there is none."""
    if kerf_mm <= 0:
        return sheet
    grown = grow(sheet.wood, kerf_mm / 2)
    pieces = polygons_of(sheet.wood)
    if len(polygons_of(grown)) == len(pieces):
        return sheet
    left = shapely.buffer(grown, -kerf_mm / 2, join_style="mitre", mitre_limit=MITRE_LIMIT)
    gaps = np.array(polygons_of(shapely.difference(left, sheet.wood)), dtype=object)
    gap, _ = STRtree(pieces).query(gaps, predicate="dwithin", distance=GRID_MM)
    bridging = gaps[np.bincount(gap, minlength=len(gaps)) > 1]
    # Grown by a grid step: a gap must overlap the pieces it joins, not only touch them.
    filled = union(shapely.buffer(bridging, GRID_MM, join_style="mitre"))
    opening = as_region(shapely.difference(sheet.opening, filled))
    return replace(sheet, wood=union((sheet.wood, filled)), opening=opening, hairlines=tuple(bridging))
