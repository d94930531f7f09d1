"""Hatching: parallel lines across a region, cut off at its edges.

Enters: a region, mm. Leaves: lines of two points. Holds: a line is in the region or out of it by turns, changing at
each edge that it crosses (the even-odd rule); rows lie at the same places whatever the region, so that hatched
regions that meet are hatched as one.
"""

import math

import numpy as np
import shapely
from numpy.typing import NDArray

from layercut.geometry.curves import FloatArray
from layercut.geometry.regions import Region, edges_of

LEAST_PITCHES = 0.2
"""A line shorter than this, in distances of the rows, is a dot in a corner and left out."""


def hatch_lines(region: Region, pitch_mm: float, angle_deg: float = 45.0) -> NDArray[np.object_]:
    """Lines `pitch_mm` apart over a region, at an angle from level, clockwise: (n,). Empty for an empty region."""
    if region.is_empty:
        return np.empty(0, dtype=object)
    turn = math.radians(angle_deg)
    along = np.array([math.cos(turn), math.sin(turn)])
    across = np.array([-along[1], along[0]])
    corners = shapely.get_coordinates(edges_of(region)).reshape(-1, 2, 2)
    row, share = _crossings(corners @ across / pitch_mm - 0.5)
    starts, ends = corners[row[:, 0], 0] @ along, corners[row[:, 0], 1] @ along
    places = starts + share * (ends - starts)
    order = np.lexsort((places, row[:, 1]))
    # Each row crosses closed outlines, so its crossings come in pairs: in, out.
    pairs = places[order].reshape(-1, 2)
    level = (row[order, 1].reshape(-1, 2)[:, 0] + 0.5) * pitch_mm
    kept = pairs[:, 1] - pairs[:, 0] >= LEAST_PITCHES * pitch_mm
    ends_mm = pairs[kept, :, None] * along + level[kept, None, None] * across
    return np.asarray(shapely.linestrings(ends_mm), dtype=object).reshape(-1)


def _crossings(levels: FloatArray) -> tuple[NDArray[np.int64], FloatArray]:
    """Where edges, by the levels of their two ends in rows, (n, 2), cross whole rows: edge and row, (m, 2), and at
    what share of the edge. A corner on a row counts as lying below it, whichever edge asks."""
    below = np.floor(levels).astype(np.int64)
    first, count = below.min(axis=1) + 1, np.abs(below[:, 1] - below[:, 0])
    edge = np.repeat(np.arange(len(levels)), count)
    step = np.arange(len(edge)) - np.repeat(np.cumsum(count) - count, count)
    row = first[edge] + step
    start, end = levels[edge, 0], levels[edge, 1]
    return np.stack((edge, row), axis=1), (row - start) / (end - start)
