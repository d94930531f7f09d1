"""Transects: how much of straight lines lies in a region, many lines at once.

Enters: lines of two points, and a region, mm. Leaves: lengths. Holds: a line is in the region or out of it by turns,
changing at each edge that it crosses; one that runs along an edge or ends on one is overlaid as a whole. (To overlay
each line with what lies near it takes some thirty times as long.)
"""

import numpy as np
import shapely
from shapely import STRtree

from layercut.geometry.quadtree import QuadtreeRegion
from layercut.geometry.regions import Region, edges_of
from layercut.geometry.widths.mesh import Floats, Ints, Shapes

ON_LINE_MM = 1e-9
"""A corner this near to a line may lie on it, mm."""

PARALLELS = 6
"""A strip is measured along so many lines side by side."""


def lengths_within(lines: Shapes, region: Region) -> Floats:
    """How much of each line, (n,) of two points each, lies in a valid region, (n,), mm."""
    ends = shapely.get_coordinates(lines).reshape(-1, 2, 2)
    if not len(ends) or region.is_empty:
        return np.zeros(len(ends))
    shapely.prepare(region)
    inside = shapely.contains_xy(region, ends.reshape(-1, 2)).reshape(-1, 2)
    touching = shapely.intersects_xy(region, ends.reshape(-1, 2)).reshape(-1, 2)
    line, share, along_edges = _crossings(lines, ends, region)
    first = np.searchsorted(line, np.arange(len(ends) + 1))
    turn = np.arange(len(line)) - first[line]
    leaves = inside[line, 0] ^ (turn % 2 == 1)
    shares = np.bincount(line, np.where(leaves, share, -share), len(ends)) + inside[:, 1]
    lengths = np.clip(shares, 0.0, 1.0) * np.hypot(*(ends[:, 1] - ends[:, 0]).T)
    unclear = (inside != touching).any(axis=1) | ((inside[:, 0] ^ inside[:, 1]) != (np.diff(first) % 2 == 1))
    unclear[along_edges] = True
    lengths[unclear] = shapely.length(QuadtreeRegion(region).shared_with_each(list(lines[unclear])))
    return np.asarray(lengths)


def _crossings(lines: Shapes, ends: Floats, region: Region) -> tuple[Ints, Floats, Ints]:
    """Where lines cross the region's edges: which line, and at what share of it, in order along each line; and the
    lines that run along an edge. A corner on a line counts as lying on one side of it, whichever edge asks."""
    edges = edges_of(region)
    line, edge = STRtree(edges).query(lines, predicate="intersects")
    start, along = ends[line, 0], ends[line, 1] - ends[line, 0]
    corners = shapely.get_coordinates(edges).reshape(-1, 2, 2)[edge]
    to = corners - start[:, None]
    beside = along[:, None, 0] * to[..., 1] - along[:, None, 1] * to[..., 0]
    along_edges = line[(np.abs(beside) <= ON_LINE_MM * np.hypot(*along.T)[:, None]).all(axis=1)]
    crossing = (beside[:, 0] >= 0) != (beside[:, 1] >= 0)
    line, along, to, beside = line[crossing], along[crossing], to[crossing], beside[crossing]
    place = (beside[:, 0] / (beside[:, 0] - beside[:, 1]))[:, None]
    at = to[:, 0] + place * (to[:, 1] - to[:, 0])
    share = np.clip((at * along).sum(axis=1) / np.maximum((along * along).sum(axis=1), 1e-300), 0.0, 1.0)
    order = np.lexsort((share, line))
    return line[order], share[order], along_edges


def areas_within(lines: Shapes, width_mm: float, region: Region) -> Floats:
    """About how much of the strip along each line, of some width, lies in a region, (n,), mm2: by the mean of a few
    lines side by side."""
    ends = shapely.get_coordinates(lines).reshape(-1, 2, 2)
    along = ends[:, 1] - ends[:, 0]
    across = np.stack([-along[:, 1], along[:, 0]], axis=1) / np.maximum(np.hypot(*along.T), 1e-300)[:, None]
    shifts = width_mm * ((np.arange(PARALLELS) + 0.5) / PARALLELS - 0.5)
    beside = ends + (shifts[:, None, None] * across)[:, :, None, :]
    lengths = lengths_within(np.asarray(shapely.linestrings(beside.reshape(-1, 2, 2))), region)
    return np.asarray(width_mm * lengths.reshape(PARALLELS, -1).mean(axis=0))
