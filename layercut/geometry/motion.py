"""Motion: how long a point takes along lines, when it can't change its speed at once.

Enters: lines and rings, a speed, an acceleration and how far a corner may be cut. Leaves: seconds. Holds: every line
begins and ends at rest; the speed never changes faster than the acceleration allows, and no corner is rounded off by
more than the rounding allowed. Everything is done for all lines at once, since a sheet may have tens of thousands.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString, Polygon

Values = NDArray[np.float64]

STILL_MM = 1e-9
"""A leg shorter than this is none, mm."""


@dataclass(frozen=True, slots=True)
class Drive:
    """How something moves: its speed in mm/s, its acceleration in mm/s2, how far it may round a corner off, mm."""

    speed: float
    acceleration: float
    rounding_mm: float = 0.0


def line_seconds(lines: Sequence[LineString] | Sequence[Polygon], drive: Drive) -> float:
    """Time along lines, or along the outer rings of polygons, each from rest to rest, s; 0 for none.

    Corners are passed at the speed of an arc that touches both legs (`corner_speeds`). Between them the speed rises
    and falls with the acceleration: one pass forward and one back find the fastest way that does (a lookahead over
    each whole line; Biagiotti and Melchiorri, Trajectory Planning for Automatic Machines and Robots, 2008).
    """
    shapes = np.array(list(lines), dtype=object)
    if not len(shapes):
        return 0.0
    rings = shapely.get_type_id(shapes) == shapely.GeometryType.POLYGON
    shapes[rings] = shapely.get_exterior_ring(shapes[rings])
    points, owner = shapely.get_coordinates(shapes, return_index=True)
    moves = np.diff(points, axis=0)
    lengths = np.hypot(*moves.T)
    same = owner[1:] == owner[:-1]
    real = same & (lengths > STILL_MM)
    moves, lengths, owner = moves[real], lengths[real], owner[1:][real]
    if not len(lengths):
        return 0.0
    # Squared speeds: v^2 grows by at most 2 a d over a leg, so both passes are running minima.
    allowed = np.zeros(len(lengths) + 1)
    inner = owner[1:] == owner[:-1]
    allowed[1:-1][inner] = corner_speeds(moves, lengths, drive)[inner] ** 2
    reach = np.concatenate([[0.0], np.cumsum(2 * drive.acceleration * lengths)])
    forward = np.minimum.accumulate(allowed - reach) + reach
    speeds = np.minimum.accumulate((forward + reach)[::-1])[::-1] - reach
    speeds = np.sqrt(np.maximum(speeds, 0.0))
    return float(leg_seconds(lengths, speeds[:-1], speeds[1:], drive).sum())


def leg_seconds(lengths: Values, entry: Values, leave: Values, drive: Drive) -> Values:
    """Time over straight legs, (n,), s, that are entered and left at given speeds, mm/s.

    The peak is p = min(v, sqrt(a d + (u^2 + w^2) / 2)); t = (p - u) / a + (p - w) / a + (d - (2 p^2 - u^2 - w^2) /
    2a) / p (trapezoid of speeds; Lynch and Park, Modern Robotics, chapter 9).
    """
    a = drive.acceleration
    squares = entry**2 + leave**2
    peak = np.minimum(drive.speed, np.sqrt(a * lengths + squares / 2))
    peak = np.maximum(peak, np.maximum(entry, leave))  # rounding only: the passes keep to what a leg can do
    ramps = (2 * peak**2 - squares) / (2 * a)
    cruise = np.maximum(lengths - ramps, 0.0) / np.maximum(peak, 1e-300)
    result: Values = (peak - entry) / a + (peak - leave) / a + cruise
    return result


def jump_seconds(distances: Values | Sequence[float], drive: Drive) -> float:
    """Time for straight ways of these lengths, mm, each from rest to rest, s; 0 for none."""
    lengths = np.asarray(distances, dtype=np.float64)
    still = np.zeros_like(lengths)
    return float(leg_seconds(lengths, still, still, drive).sum())


def corner_speeds(moves: Values, lengths: Values, drive: Drive) -> Values:
    """The speed at which each vertex between two legs may be passed, mm/s; moves (n, 2) give n - 1 speeds.

    Derived here: the middle of an arc that touches both legs, t the angle between them, lies R / sin(t/2) from the
    corner, so the arc passes it by e = R / sin(t/2) - R, and R = e sin(t/2) / (1 - sin(t/2)). It may take half of
    either leg, R <= d tan(t/2) / 2, so that short chords of a curve are passed at the curve's own speed. The speed
    is sqrt(a R), the centripetal acceleration being the machine's.
    """
    units = moves / lengths[:, None]
    cosine = np.clip((units[1:] * units[:-1]).sum(axis=1), -1.0, 1.0)  # of the change of direction, 180 degrees - t
    sine_half = np.sqrt((1 + cosine) / 2)
    cosine_half = np.sqrt((1 - cosine) / 2)
    with np.errstate(divide="ignore", invalid="ignore"):
        by_rounding = drive.rounding_mm * sine_half / (1 - sine_half)
        by_legs = np.minimum(lengths[1:], lengths[:-1]) / 2 * sine_half / cosine_half
    radius = np.where(cosine_half < 1e-9, np.inf, np.minimum(by_rounding, by_legs))
    speeds: Values = np.minimum(drive.speed, np.sqrt(drive.acceleration * radius))
    return speeds


def row_seconds(areas: Sequence[Polygon], pitch_mm: float, drive: Drive) -> float:
    """Time to fill areas in level rows at a pitch, s; each area by itself, from its first edge to its last in each
    row.

    Gaps within a row are passed at speed. Before and after a row the point runs up to its speed and down again, which
    takes 2 v / a. Areas lower than the pitch get one row. 0 for none.
    """
    widths = row_widths(areas, pitch_mm)
    if not len(widths):
        return 0.0
    return float(widths.sum() / drive.speed + len(widths) * 2 * drive.speed / drive.acceleration)


def row_widths(areas: Sequence[Polygon], pitch_mm: float) -> Values:
    """The width of every level row of every area, mm, (m,): from the first edge that the row meets to the last."""
    if not len(areas):
        return np.zeros(0)
    shapes = shapely.get_exterior_ring(np.array(list(areas), dtype=object))  # holes are gaps within a row
    points, owner = shapely.get_coordinates(shapes, return_index=True)
    x0, y0, x1, y1 = shapely.bounds(shapes).T
    counts = np.maximum(np.round((y1 - y0) / pitch_mm), 1).astype(np.int64)
    step = (y1 - y0) / counts
    first = np.cumsum(counts) - counts
    low = np.full(int(counts.sum()), np.inf)
    high = np.full(len(low), -np.inf)
    edge = owner[1:] == owner[:-1]
    a, b, mine = points[:-1][edge], points[1:][edge], owner[1:][edge]
    upper = np.where((a[:, 1] <= b[:, 1])[:, None], a, b)
    lower = np.where((a[:, 1] <= b[:, 1])[:, None], b, a)
    pitch = np.maximum(step[mine], 1e-12)
    # Rows lie in the middle of their strips: row k at y0 + (k + 1/2) step.
    begin = np.clip(np.ceil((upper[:, 1] - y0[mine]) / pitch - 0.5), 0, counts[mine]).astype(np.int64)
    end = np.clip(np.ceil((lower[:, 1] - y0[mine]) / pitch - 0.5), 0, counts[mine]).astype(np.int64)
    many = end - begin
    which = np.repeat(np.arange(len(many)), many)
    row = np.arange(len(which)) - np.repeat(np.cumsum(many) - many, many) + begin[which]
    y = y0[mine[which]] + (row + 0.5) * pitch[which]
    fall = np.maximum(lower[which, 1] - upper[which, 1], 1e-12)
    x = upper[which, 0] + (lower[which, 0] - upper[which, 0]) * (y - upper[which, 1]) / fall
    place = first[mine[which]] + row
    np.minimum.at(low, place, x)
    np.maximum.at(high, place, x)
    flat = ~np.isfinite(low)  # an area thinner than a row
    owner_of_row = np.repeat(np.arange(len(shapes)), counts)
    widths: Values = np.where(flat, (x1 - x0)[owner_of_row], high - low)
    return widths
