"""No-fit regions: where a part can't be moved to, and where it can.

Enters: regions, and the corners of convex parts. Leaves: regions of shifts: how far, mm, a part may be moved from
where it is. Holds: a part and an obstacle share inner points exactly where the shift lies inside the no-fit region,
which is the Minkowski sum of the obstacle and the part turned about (Art 1966; Lozano-Pérez 1983; both from memory).
For a convex part the sum is the obstacle, moved, and what each of its edges sweeps. A part that isn't convex is a
union of convex ones, and so are its no-fit regions.
"""

import math
from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from layercut.geometry.regions import EMPTY, Region, as_region, edges_of, polygons_of
from layercut.geometry.thinning import thinned_apart

Corners = NDArray[np.float64]

MOST_CORNERS = 12
"""Corners of a hull that is followed to the last digit; of a rounder one those of a hull a little larger."""

SLACK_SHARE = 0.001
"""Of a large hull so much of its size may be lost, whatever slack is asked for: a large circle has many corners."""

SCRAP_MM2 = 1e-6
"""What overlays leave between edges that all but meet is smaller than this, mm2: no place, though it may look like
one."""


def no_fit_region(obstacle: Region, part: Corners) -> Region:
    """The shifts for which a convex part, (m, 2), would lie upon an obstacle. Empty for no obstacle."""
    if obstacle.is_empty:
        return EMPTY
    moved = shapely.transform(obstacle, lambda points: points - part[0])
    return as_region(shapely.union_all([moved, *_sweeps(obstacle, part)]))


def fit_region(room: Region, parts: Sequence[Corners]) -> Region:
    """The shifts for which the union of some convex parts, (m, 2) each, lies within a room. Empty where it can't.

    A convex part lies in a room when its corners do and no edge of the room crosses it. The corners come first:
    mostly some of them tell that there is no place.
    """
    found: Region = room
    for place, corner in enumerate(corner for part in parts for corner in _far_first(part)):
        moved = shapely.transform(room, lambda points, corner=corner: points - corner)
        found = moved if not place else as_region(shapely.intersection(found, moved))
        if found.is_empty:
            return EMPTY
    sweeps = np.concatenate([_sweeps(room, part) for part in parts])
    found = as_region(shapely.difference(found, shapely.union_all(sweeps[shapely.intersects(sweeps, found)])))
    return as_region(MultiPolygon([piece for piece in polygons_of(found) if piece.area > SCRAP_MM2]))


def _far_first(part: Corners) -> Corners:
    """The corners of a part so that each is as far as can be from all before it."""
    order, apart = [0], np.full(len(part), np.inf)
    while len(order) < len(part):
        apart = np.minimum(apart, np.hypot(*(part - part[order[-1]]).T))
        apart[order] = -1
        order.append(int(apart.argmax()))
    return part[order]


def _sweeps(region: Region, part: Corners) -> NDArray[np.object_]:
    """What each edge of a region sweeps, moved by all that the part reaches the other way: convex polygons, (n,)."""
    ends = shapely.get_coordinates(edges_of(region)).reshape(-1, 2, 1, 2)
    # As lines, for these are made all at once; their hulls are those of their points.
    return np.asarray(shapely.convex_hull(shapely.linestrings((ends - part).reshape(len(ends), -1, 2))))


def hull_corners(part: BaseGeometry, slack_mm: float) -> Corners:
    """The corners of a convex polygon around a region, (m, 2), little further from its hull than the slack."""
    hull = shapely.convex_hull(part)
    if shapely.get_num_coordinates(hull) > MOST_CORNERS + 1:
        slack_mm = max(slack_mm, SLACK_SHARE * math.sqrt(float(hull.area)))
        # The corners that are left out lie outside the rest by the slack at most; at a point so sharp that the mitred
        # offset is cut off there, the hull's own corner still counts.
        grown = shapely.buffer(thinned_apart(hull, slack_mm), slack_mm, join_style="mitre")
        hull = shapely.convex_hull(shapely.multilinestrings([hull.exterior, grown.exterior]))
    return np.asarray(shapely.get_coordinates(hull.exterior)[:-1])


def convex_parts(part: Polygon, slack_mm: float) -> list[Corners]:
    """Triangles, (3, 2) each, that together cover a polygon, holes filled, and reach little beyond the slack."""
    outline = Polygon(part.exterior)
    # As in `hull_corners`: at sharp points the mitred offset is cut off, and the part's own count.
    whole = shapely.union(shapely.buffer(thinned_apart(outline, slack_mm), slack_mm, join_style="mitre"), outline)
    filled = [Polygon(piece.exterior) for piece in polygons_of(whole)]
    triangles = shapely.get_parts(shapely.constrained_delaunay_triangles(np.array(filled, dtype=object)))
    return [np.asarray(shapely.get_coordinates(one)[:-1]) for one in triangles]
