"""Lines: joining pieces of line work into the fewest strokes.

Enters: noded lines. Leaves: strokes, line strings that go straight on where they cross.
"""

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString, MultiLineString
from shapely.geometry.base import BaseGeometry

STRAIGHT_COSINE = 0.9
"""Two ends go straight on into each other when they turn by less than about 25 degrees."""

End = tuple[int, int]
Points = NDArray[np.float64]


def lines_of(geometry: BaseGeometry) -> list[LineString]:
    """The line strings of any geometry, empty ones left out."""
    parts = shapely.get_parts(shapely.get_parts(np.array([geometry], dtype=object)))
    found = (shapely.get_type_id(parts) == shapely.GeometryType.LINESTRING) & ~shapely.is_empty(parts)
    return list(parts[found])


def together(lines: Sequence[LineString] | NDArray[np.object_]) -> MultiLineString:
    """Lines as one geometry; empty for none."""
    return shapely.multilinestrings(np.array(lines, dtype=object))


def join_lines(lines: BaseGeometry) -> list[LineString]:
    """The fewest strokes that draw some noded lines: pieces that meet end to end are one, also straight through a
    crossing. Empty for none."""
    pieces = lines_of(lines)
    if not pieces:
        return []
    merged = lines_of(shapely.line_merge(together(pieces)))
    points, owner = shapely.get_coordinates(merged, return_index=True)
    runs = np.split(points, np.flatnonzero(np.diff(owner)) + 1)
    partner = _straight_partners(points, owner)
    return _chains(merged, runs, partner) if partner else merged


def _straight_partners(points: Points, owner: NDArray[np.int64]) -> dict[End, End]:
    """Which end of which line goes straight on into which; an end is (line, 0 for its start or 1)."""
    first = np.searchsorted(owner, np.arange(owner[-1] + 1))
    last = np.append(first[1:], len(points)) - 1
    ends = np.stack([points[first], points[last]], axis=1)
    outward = np.stack([points[first + 1], points[last - 1]], axis=1) - ends
    outward /= np.hypot(*outward.transpose(2, 0, 1))[..., None]
    open_lines = np.flatnonzero((ends[:, 0] != ends[:, 1]).any(axis=1))
    meeting: dict[tuple[float, float], list[End]] = {}
    for line, pair in zip(open_lines.tolist(), ends[open_lines].tolist(), strict=True):
        for side, place in enumerate(pair):
            meeting.setdefault(tuple(place), []).append((line, side))
    partner: dict[End, End] = {}
    for some in meeting.values():
        if len(some) > 1:
            partner.update(_pair_straightest(some, outward[tuple(zip(*some, strict=True))]))
    return partner


def _pair_straightest(ends: list[End], directions: Points) -> dict[End, End]:
    """Which of the ends that meet at a place go on into each other, the straightest first; directions (n, 2)."""
    cosines = (directions @ directions.T).tolist()
    count = len(ends)
    pairs = sorted((cosines[i][j], i, j) for i in range(count) for j in range(i + 1, count))
    taken: dict[End, End] = {}
    for cosine, i, j in pairs:
        if cosine > -STRAIGHT_COSINE:
            break
        if ends[i] not in taken and ends[j] not in taken and ends[i][0] != ends[j][0]:
            taken[ends[i]], taken[ends[j]] = ends[j], ends[i]
    return taken


def _chains(lines: list[LineString], runs: list[Points], partner: dict[End, End]) -> list[LineString]:
    """Follow the partners from a free end, or round a closed chain, and put the lines' points, `runs`, together."""
    used: set[int] = set()
    strokes: list[LineString] = []
    free = [(index, side) for index in range(len(lines)) for side in (0, 1) if (index, side) not in partner]
    for start in (*free, *((index, 0) for index in range(len(lines)))):
        points: list[Points] = []
        end: End | None = start
        while end is not None and end[0] not in used:
            index, side = end
            used.add(index)
            run = runs[index] if side == 0 else runs[index][::-1]
            points.append(run[1:] if points else run)
            end = partner.get((index, 1 - side))
        if points:
            strokes.append(LineString(np.vstack(points)))
    return strokes
