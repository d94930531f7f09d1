"""Hairlines: gaps and threads of wood that are too thin for the beam, so that the plan must do without them.

Enters: a sheet's regions. Leaves: the regions as the beam can make them: gaps narrower than the kerf between two
pieces are filled, since the pieces would stay joined there; threads that the beam would burn through are parted.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString, Polygon, STRtree

from layercut.geometry.offsets import MITRE_LIMIT, dilate, grow, shrink
from layercut.geometry.precision import GRID_MM
from layercut.geometry.regions import Region, as_region, polygons_of, union
from layercut.stack.necks import find_cores, without_each
from layercut.stack.wood import SheetWood

THREAD_MM = 0.08
"""Wood thinner than this joins nothing, mm: half a usual kerf."""


def part_threads(wood: Region) -> Region:
    """The wood without the threads by which alone some bodies hang together; the same wood where there are none."""
    threads = [thread for piece in polygons_of(wood) for thread in _threads(piece)]
    return as_region(shapely.difference(wood, union(threads))) if threads else wood


def _threads(piece: Polygon) -> list[Region]:
    """The wood between bodies that a disc as wide as a thread can't pass."""
    cores = find_cores(piece, THREAD_MM / 2)
    if len(cores) < 2:
        return []
    bodies = [dilate(core, THREAD_MM / 2 + GRID_MM) for core in cores]
    rest = np.array(shapely.get_parts(without_each(piece, bodies)), dtype=object)
    # The few large ones ask, as a tree prepares who asks.
    body, part = STRtree(rest).query(bodies, predicate="dwithin", distance=THREAD_MM / 4)
    # A thread of no width at all is left over as a line.
    between = rest[(np.bincount(part, minlength=len(rest)) > 1) | (shapely.get_dimensions(rest) < 2)]
    near_cores = _meeting(np.array(cores, dtype=object), np.arange(len(cores)), THREAD_MM)
    owner = np.full(len(rest), -1)
    owner[part] = body
    owned = owner >= 0
    near_corners = _meeting(rest[owned], owner[owned], GRID_MM)
    # Grown a little: what is taken away must reach right through.
    return [dilate(thread, THREAD_MM / 2) for thread in (*between, *near_cores, *near_corners)]


def _meeting(parts: NDArray[np.object_], owner: NDArray[np.int64], distance_mm: float) -> list[LineString]:
    """The shortest lines between parts of different owners that lie nearer to each other than a distance."""
    first, second = STRtree(parts).query(parts, predicate="dwithin", distance=distance_mm)
    return [
        shapely.shortest_line(parts[a], parts[b])
        for a, b in zip(first, second, strict=True)
        if a < b and owner[a] != owner[b]
    ]


def close_hairlines(sheet: SheetWood, kerf_mm: float) -> SheetWood:
    """The sheet without gaps that the beam can't cut; the same sheet where there is none."""
    if kerf_mm <= 0:
        return sheet
    pieces = polygons_of(sheet.wood)
    wood = as_region(shapely.intersection(sheet.wood, _near_others(pieces, 2 * kerf_mm)))
    if wood.is_empty:
        return sheet
    grown = grow(wood, kerf_mm / 2)
    left = shapely.buffer(grown, -kerf_mm / 2, join_style="mitre", mitre_limit=MITRE_LIMIT)
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
