"""Hairlines: gaps that are too thin for the beam, so that the plan must do without them.

Enters: a sheet's regions. Leaves: the regions as the beam can make them: gaps narrower than the kerf between two
pieces are filled, since the pieces would stay joined there.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely
from shapely import Polygon, STRtree

from layercut.geometry.offsets import offset_mitre, shrink
from layercut.geometry.precision import GRID_MM
from layercut.geometry.regions import Region, as_region, polygons_of, union
from layercut.stack.wood import SheetWood

THREAD_MM = 0.08
"""Wood thinner than this joins nothing, mm: half a usual kerf."""


def close_hairlines(sheet: SheetWood, kerf_mm: float) -> SheetWood:
    """The sheet without gaps that the beam can't cut; the same sheet where there is none."""
    if kerf_mm <= 0:
        return sheet
    pieces = polygons_of(sheet.wood)
    wood = as_region(shapely.intersection(sheet.wood, _near_others(pieces, 2 * kerf_mm)))
    if wood.is_empty:
        return sheet
    grown = offset_mitre(wood, kerf_mm / 2)
    left = offset_mitre(grown, -kerf_mm / 2)
    gaps = np.array(polygons_of(shapely.difference(left, wood)), dtype=object)
    _, gap = STRtree(gaps).query(pieces, predicate="dwithin", distance=GRID_MM)
    # Corners that only meet through the reach of a mitre are burnt apart; a joint must be thicker than a thread.
    between = gaps[np.bincount(gap, minlength=len(gaps)) > 1]
    if not len(between):
        return sheet
    joint = shrink(grown, kerf_mm / 2 + THREAD_MM / 2)
    shapely.prepare(joint)
    bridging = between[shapely.intersects(between, joint)]
    if not len(bridging):
        return sheet
    # Grown by a grid step: a gap must overlap the pieces it joins, not only touch them.
    filled = union(shapely.buffer(bridging, GRID_MM, join_style="mitre"))
    opening = as_region(shapely.difference(sheet.opening, filled))
    return replace(sheet, wood=union((sheet.wood, filled)), opening=opening, hairlines=tuple(bridging))


def _near_others(pieces: Sequence[Polygon], reach_mm: float) -> Region:
    """Boxes around the places where pieces come within a distance of each other, with as much room again and more."""
    near, far = STRtree(pieces).query(pieces, predicate="dwithin", distance=reach_mm)
    # Of two pieces the smaller one's box: the other may be as large as the panel.
    smaller = {a if pieces[a].area < pieces[b].area else b for a, b in zip(near, far, strict=True) if a < b}
    return union(shapely.box(*pieces[index].bounds).buffer(4 * reach_mm, join_style="mitre") for index in smaller)
