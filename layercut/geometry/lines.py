"""Lines: joining pieces of line work into the fewest strokes.

Enters: noded lines. Leaves: strokes, line strings that go straight on where they cross.
"""

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString, MultiLineString
from shapely.geometry.base import BaseGeometry

STRAIGHT_COSINE = 0.9
"""Two ends go straight on into each other when they turn by less than about 25 degrees."""

End = tuple[int, int]


def lines_of(geometry: BaseGeometry) -> list[LineString]:
    """The line strings of any geometry, empty ones left out."""
    parts = shapely.get_parts(shapely.get_parts(np.array([geometry], dtype=object)))
    return [part for part in parts if isinstance(part, LineString) and not part.is_empty]


def join_lines(lines: BaseGeometry) -> list[LineString]:
    """The fewest strokes that draw some noded lines: pieces that meet end to end are one, also straight through a
    crossing. Empty for none."""
    pieces = lines_of(lines)
    if not pieces:
        return []
    merged = lines_of(shapely.line_merge(MultiLineString(pieces)))
    partner = _straight_partners(merged)
    return lines_of(shapely.line_merge(MultiLineString(merged))) if not partner else _chains(merged, partner)


def _straight_partners(lines: list[LineString]) -> dict[End, End]:
    """Which end of which line goes straight on into which; an end is (line, 0 for its start or 1)."""
    meeting: dict[tuple[float, float], list[End]] = {}
    for index, line in enumerate(lines):
        points = shapely.get_coordinates(line)
        if (points[0] == points[-1]).all():
            continue
        meeting.setdefault(tuple(points[0]), []).append((index, 0))
        meeting.setdefault(tuple(points[-1]), []).append((index, 1))
    partner: dict[End, End] = {}
    for ends in meeting.values():
        if len(ends) > 1:
            partner.update(_pair_straightest(ends, [_outward(lines[index], side) for index, side in ends]))
    return partner


def _outward(line: LineString, side: int) -> NDArray[np.float64]:
    """The direction in which a line leaves its end."""
    points = shapely.get_coordinates(line)
    step = points[1] - points[0] if side == 0 else points[-2] - points[-1]
    return np.asarray(step / np.hypot(*step))


def _pair_straightest(ends: list[End], directions: list[NDArray[np.float64]]) -> dict[End, End]:
    pairs = sorted(
        (float(directions[i] @ directions[j]), i, j) for i in range(len(ends)) for j in range(i + 1, len(ends))
    )
    taken: dict[End, End] = {}
    for cosine, i, j in pairs:
        if cosine > -STRAIGHT_COSINE:
            break
        if ends[i] not in taken and ends[j] not in taken and ends[i][0] != ends[j][0]:
            taken[ends[i]], taken[ends[j]] = ends[j], ends[i]
    return taken


def _chains(lines: list[LineString], partner: dict[End, End]) -> list[LineString]:
    """Follow the partners from a free end, or round a closed chain, and put the points together."""
    used: set[int] = set()
    strokes: list[LineString] = []
    free = [(index, side) for index in range(len(lines)) for side in (0, 1) if (index, side) not in partner]
    for start in (*free, *((index, 0) for index in range(len(lines)))):
        points: list[NDArray[np.float64]] = []
        end: End | None = start
        while end is not None and end[0] not in used:
            index, side = end
            used.add(index)
            run = shapely.get_coordinates(lines[index])
            run = run if side == 0 else run[::-1]
            points.append(run[1:] if points else run)
            end = partner.get((index, 1 - side))
        if points:
            strokes.append(LineString(np.vstack(points)))
    return strokes
