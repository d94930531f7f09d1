"""Lines with a width to regions, and dashes.

Enters: polylines and a `StrokeStyle`, in one coordinate system. Leaves: the stroked region, or the dashes as
polylines. Caps, joins, the miter limit and dashes mean what SVG 2, "Stroke properties", says; GEOS's own buffer
cuts long mitres another way and drops detail of a hundredth of the width, so outlines are made here.
"""

import itertools
import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Literal, TypeAlias

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from layercut.geometry.curves import BoolArray, FloatArray, Polyline
from layercut.geometry.fill import fill_region, is_tangled
from layercut.geometry.precision import FLATTEN_MM, STROKE_DEVIATION_MM
from layercut.geometry.regions import EMPTY, Region, union

Cap: TypeAlias = Literal["butt", "round", "square"]
Join: TypeAlias = Literal["miter", "round", "bevel"]

_DROPPED = 0.01
"""The share of its distance by which GEOS's buffer simplifies a line first, on the side where it bends inwards."""

NO_STEP = 0.5
"""The share of the tolerance below which a step of a line has no direction: with FLATTEN_MM, the grid's step."""

_FEW = 6
"""So many tight bends are cheaper to node than to buffer."""


@dataclass(frozen=True, slots=True)
class StrokeStyle:
    """How a line is drawn; `width`, `dashes` and `offset` in the units of the line."""

    width: float
    cap: Cap = "butt"
    join: Join = "miter"
    miter_limit: float = 4.0
    dashes: tuple[float, ...] = ()
    offset: float = 0.0


def stroke_region(lines: Iterable[Polyline], style: StrokeStyle, tolerance: float = FLATTEN_MM) -> Region:
    """The region that a stroke covers; round parts are within `tolerance` of true. Empty for a width of zero.

    A subpath without length gives a dot or a square where its caps are round or square, and nothing otherwise.
    Around bends tighter than the pen, the edge may be off by `_DROPPED` times half the width, where that is
    within `STROKE_DEVIATION_MM`.
    """
    if style.width <= 0:
        return EMPTY
    nib = _Nib(style.width / 2, style.cap, style.join, style.miter_limit, tolerance)
    rings: list[FloatArray] = []
    regions: list[BaseGeometry] = []
    lines = list(lines)
    for line in dashed(lines, style):
        points, corners = _distinct(line, tolerance)
        swept = _swept(points, corners, line.closed, nib)
        regions += swept
        if not swept:
            rings += _rings_of(points, corners, line.closed, nib)
    # A pen that crosses itself thousands of times would be noded for minutes as one outline: its pieces, each simple,
    # are united instead.
    if is_tangled(rings):
        parts = ((line, *_distinct(line, tolerance)) for line in dashed(lines, style))
        regions += [piece for line, points, corners in parts for piece in _pieces(points, corners, line.closed, nib)]
        return union(regions)
    region = fill_region(rings, "nonzero")
    return union([region, *regions]) if regions else region


def stroke_rings(lines: Iterable[Polyline], style: StrokeStyle, tolerance: float = FLATTEN_MM) -> list[FloatArray]:
    """Rings whose non-zero fill is the stroke's region, for a caller that maps them first."""
    if style.width <= 0:
        return []
    nib = _Nib(style.width / 2, style.cap, style.join, style.miter_limit, tolerance)
    parts = ((line, *_distinct(line, tolerance)) for line in dashed(lines, style))
    return [ring for line, points, corners in parts for ring in _rings_of(points, corners, line.closed, nib)]


def dashed(lines: Iterable[Polyline], style: StrokeStyle) -> list[Polyline]:
    """The lines cut into their dashes; the lines themselves where there is no usable pattern.

    A closed line whose pattern is on at its start and its end keeps the two as one dash.
    """
    pattern = style.dashes * 2 if len(style.dashes) % 2 else style.dashes
    if not pattern or min(pattern) < 0 or not 0 < sum(pattern) < math.inf:
        return list(lines)
    return [dash for line in lines for dash in _dashes_of(line, pattern, style.offset)]


def dash_count(lines: Iterable[Polyline], style: StrokeStyle) -> float:
    """About how many dashes there would be, to refuse patterns of millions."""
    total = sum(style.dashes)
    length = sum(float(np.hypot(*np.diff(line.points, axis=0).T).sum()) for line in lines)
    return length / total * len(style.dashes) / 2 if total > 0 else 0.0


def _dashes_of(line: Polyline, pattern: tuple[float, ...], offset: float) -> list[Polyline]:
    steps = np.hypot(*np.diff(line.points, axis=0).T)
    along = np.concatenate(([0.0], np.cumsum(steps)))
    length = float(along[-1])
    if length == 0:
        return [line]
    spans = list(_on_spans(pattern, offset, length))
    if len(spans) == 1 and spans[0] == (0.0, length):
        return [line]
    dashes = [_cut(line, along, begin, end) for begin, end in spans]
    if line.closed and len(spans) > 1 and spans[0][0] == 0 and spans[-1][1] == length:
        first, last = dashes[0], dashes.pop()
        dashes[0] = Polyline(
            np.concatenate((last.points, first.points[1:])),
            np.concatenate((last.nodes, first.nodes[1:])),
            False,
        )
    return dashes


def _on_spans(pattern: tuple[float, ...], offset: float, length: float) -> Iterator[tuple[float, float]]:
    """Where the pattern is on, from 0 to length; lengths are taken from the period's start, so none drifts."""
    edges = [0.0, *itertools.accumulate(pattern)]
    period = edges[-1]
    start = -(offset % period)
    for turn in itertools.count():
        base = start + turn * period
        if base >= length:
            return
        for index in range(0, len(pattern), 2):
            begin, end = base + edges[index], base + edges[index + 1]
            if end >= 0 and begin < length and (end > 0 or begin == end):
                yield max(begin, 0.0), min(end, length)


def _cut(line: Polyline, along: FloatArray, begin: float, end: float) -> Polyline:
    """The part of a line between two lengths along it."""
    first = int(np.searchsorted(along, begin, side="right"))
    last = int(np.searchsorted(along, end, side="left"))
    x = np.interp((begin, end), along, line.points[:, 0])
    y = np.interp((begin, end), along, line.points[:, 1])
    ends = np.stack((x, y), axis=1)
    if begin == end:  # a dash without length is drawn by its caps, which need the line's direction
        step = line.points[min(first, len(along) - 1)] - line.points[min(first, len(along) - 1) - 1]
        ends[1] += step / np.hypot(*step) * 1e-9
    points = np.concatenate((ends[:1], line.points[first:last], ends[1:]))
    nodes = np.concatenate(([True], line.nodes[first:last], [True]))
    return Polyline(points, nodes, False)


def _distinct(line: Polyline, tolerance: float) -> tuple[FloatArray, BoolArray]:
    """Points without repeats, and which are corners of the path; a closed line loses its last point.

    A step far shorter than the tolerance has no direction of its own: rounded digits leave one where a path comes
    back to its start, and the corner there would be a spike. A line that has no other step keeps it.
    """
    same = tolerance * NO_STEP
    steps = np.hypot(*np.diff(line.points, axis=0).T)
    if steps.sum() <= same:
        keep = np.concatenate(([True], steps > 0))
        return _opened(line.points[keep], line.nodes[keep], line.closed, 0.0)
    if (steps > same).all():
        return _opened(line.points, line.nodes, line.closed, same)
    kept, corners = [0], [bool(line.nodes[0])]
    for index in range(1, len(line.points)):
        if math.dist(line.points[index], line.points[kept[-1]]) > same:
            kept.append(index)
            corners.append(bool(line.nodes[index]))
        else:
            corners[-1] |= bool(line.nodes[index])
    return _opened(line.points[kept], np.array(corners), line.closed, same)


def _opened(points: FloatArray, corners: BoolArray, closed: bool, same: float) -> tuple[FloatArray, BoolArray]:
    """A closed line without its last point, where that is its first."""
    if closed and len(points) > 1 and math.dist(points[0], points[-1]) <= same:
        return points[:-1], corners[:-1]
    return points, corners


@dataclass(frozen=True, slots=True)
class _Nib:
    """The pen that goes along a line; `half` its half width."""

    half: float
    cap: Cap
    join: Join
    miter_limit: float
    tolerance: float

    @property
    def step(self) -> float:
        """The largest angle whose chord is within the tolerance of the nib's circle."""
        if self.half <= self.tolerance:
            return math.pi / 2
        return min(2 * math.acos(1 - self.tolerance / self.half), math.pi / 2)

    def fan(self, begin: float, span: float) -> FloatArray:
        """Points of an arc of the nib's circle around the origin, both ends included."""
        angles = np.linspace(begin, begin + span, max(1, math.ceil(span / self.step)) + 1)
        return self.half * np.stack((np.cos(angles), np.sin(angles)), axis=1)


def _dot(point: FloatArray, nib: _Nib) -> list[FloatArray]:
    if nib.cap == "butt":
        return []
    if nib.cap == "square":
        return [point + nib.half * np.array([(-1, -1), (1, -1), (1, 1), (-1, 1)], dtype=np.float64)]
    return [point + nib.fan(0.0, 2 * math.pi)]


def _rings_of(points: FloatArray, corners: BoolArray, closed: bool, nib: _Nib) -> list[FloatArray]:
    return _dot(points[0], nib) if len(points) < 2 else _outline(points, corners, closed, nib)


def _outline(points: FloatArray, corners: BoolArray, closed: bool, nib: _Nib) -> list[FloatArray]:
    """Rings whose non-zero fill is the stroke: both sides of the line, joined by caps or each closed.

    They are the sum of the outlines of every chord's rectangle and every join, all turning the same way, so that
    windings only ever add up and the fill is the union of those pieces.
    """
    ahead = _side(points, corners, closed, nib)
    back = _side(points[::-1], corners[::-1], closed, nib)
    if closed:
        return [ahead, back]
    end_cap = _cap(points[-1], points[-1] - points[-2], nib)
    start_cap = _cap(points[0], points[0] - points[1], nib)
    return [np.concatenate((ahead, end_cap, back, start_cap))]


def _pieces(points: FloatArray, corners: BoolArray, closed: bool, nib: _Nib) -> list[BaseGeometry]:
    """Convex regions whose union is the stroke: every chord, every join and the caps.

    For outlines that cross themselves so often that noding them whole takes too long.
    """
    if len(points) < 2:
        return [shapely.Polygon(ring) for ring in _dot(points[0], nib)]
    whole = np.concatenate((points, points[:1])) if closed else points
    edge = nib.half * _bends(points, closed).units @ np.array(((0.0, -1.0), (1.0, 0.0)))
    chords = np.stack((whole[:-1] + edge, whole[1:] + edge, whole[1:] - edge, whole[:-1] - edge), axis=1)
    pieces: list[BaseGeometry] = list(shapely.polygons(chords))
    vertices = np.arange(len(points)) if closed else np.arange(1, len(points) - 1)
    for index in vertices.tolist():
        around = np.stack((points[index - 1], points[index], points[(index + 1) % len(points)]))
        pieces += _join_piece(around, bool(corners[index]), nib)
    if not closed:
        pieces += _cap_pieces(points, nib)
    return pieces


def _join_piece(around: FloatArray, corner: bool, nib: _Nib) -> list[BaseGeometry]:
    """What the join at the middle of three points adds to the two chords."""
    bends = _bends(around, False)
    turn = float(bends.turns[0])
    if turn == 0:
        return []
    before, after = (math.copysign(nib.half, turn) * np.array((unit[1], -unit[0])) for unit in bends.units)
    first, second = (before, after) if turn > 0 else (after, before)
    tip = _join(first, second, abs(turn), nib.join if corner else "round", nib)
    return [shapely.Polygon(around[1] + np.concatenate((np.zeros((1, 2)), first[None], tip, second[None])))]


def _cap_pieces(points: FloatArray, nib: _Nib) -> list[shapely.Polygon]:
    """What the caps add to the chords at both ends."""
    if nib.cap == "butt":
        return []
    pieces = []
    for end, step in ((points[-1], points[-1] - points[-2]), (points[0], points[0] - points[1])):
        u = step / np.hypot(*step) * nib.half
        across = np.array(((u[1], -u[0]), (-u[1], u[0])))
        ring = np.concatenate((across[:1], _cap(np.zeros(2), step, nib), across[1:]))
        pieces.append(shapely.Polygon(end + ring))
    return pieces


@dataclass(frozen=True, slots=True)
class _Bends:
    """The chords' directions (n, 2); at each vertex between two, the turn, radians, and half the shorter chord."""

    units: FloatArray
    turns: FloatArray
    room: FloatArray

    def inner_fits(self, half: float) -> BoolArray:
        """Where the inner edges at `half` from the line cross before the middle of either chord."""
        turns = np.abs(self.turns)
        fits: BoolArray = (turns < 3) & (half * np.tan(np.minimum(turns, 3) / 2) <= self.room)
        return fits


def _bends(points: FloatArray, closed: bool) -> _Bends:
    steps = np.diff(points, axis=0, append=points[:1]) if closed else np.diff(points, axis=0)
    lengths = np.hypot(steps[:, 0], steps[:, 1])
    units = steps / lengths[:, None]
    if closed:
        last, following, shorter = np.roll(units, 1, axis=0), units, np.minimum(np.roll(lengths, 1), lengths)
    else:
        last, following, shorter = units[:-1], units[1:], np.minimum(lengths[:-1], lengths[1:])
    cross = last[:, 0] * following[:, 1] - last[:, 1] * following[:, 0]
    cos = (last * following).sum(axis=1)
    # A turn straight back is an outer one seen from either side, whatever the sign of zero.
    turns = np.where((cross == 0) & (cos < 0), np.pi, np.arctan2(cross, cos))
    return _Bends(units, turns, shorter / 2)


def _side(points: FloatArray, corners: BoolArray, closed: bool, nib: _Nib) -> FloatArray:
    """The line's edge at half the width to the side (dy, -dx), with its joins."""
    bends = _bends(points, closed)
    at, node = (points, corners) if closed else (points[1:-1], corners[1:-1])
    edge = nib.half * np.stack((bends.units[:, 1], -bends.units[:, 0]), axis=1)
    before, after = (np.roll(edge, 1, axis=0), edge) if closed else (edge[:-1], edge[1:])
    # Where both chords are long enough, the inner edges cross at one point; so do the outer ones of a turn
    # too small to tell a corner from an arc.
    plain = (bends.turns <= nib.step) & ((bends.turns >= 0) | bends.inner_fits(nib.half))
    crossings = at + (before + after) / np.where(plain, 1 + np.cos(bends.turns), 1.0)[:, None]
    pieces = [] if closed else [points[:1] + edge[:1]]
    done = 0
    for index in np.flatnonzero(~plain).tolist():
        pieces.append(crossings[done:index])
        join = nib.join if node[index] else "round"  # between the chords of one curve there is no corner
        pieces.append(at[index] + _join(before[index], after[index], float(bends.turns[index]), join, nib))
        done = index + 1
    pieces.append(crossings[done:])
    if not closed:
        pieces.append(points[-1:] + edge[-1:])
    return np.concatenate(pieces)


def _join(before: FloatArray, after: FloatArray, turn: float, join: Join, nib: _Nib) -> FloatArray:
    """The edge's points around a vertex at the origin: a join on the outer side, the vertex itself on the inner."""
    if turn < 0:
        return np.stack((before, np.zeros(2), after))
    opposite = 1 + math.cos(turn)
    if join == "miter" and opposite > 0 and nib.miter_limit * math.sin((math.pi - turn) / 2) >= 1:
        return ((before + after) / opposite)[None]
    if join == "round":
        arc = nib.fan(math.atan2(before[1], before[0]), turn)
        return np.concatenate((before[None], arc[1:-1], after[None]))
    return np.stack((before, after))


def _swept(points: FloatArray, corners: BoolArray, closed: bool, nib: _Nib) -> list[BaseGeometry]:
    """Regions whose union is the stroke, by GEOS's buffer with round joins and caps and what miters and squares add.

    For lines that bend more tightly than the pen: their outline crosses itself at every pair of vertices, which is
    slow to node. None of them, when there are few such bends, or when the stroke is less than the round one.
    """
    if len(points) < 3 or _DROPPED * nib.half > STROKE_DEVIATION_MM or not (closed or nib.cap != "butt"):
        return []
    bends = _bends(points, closed)
    at = np.arange(len(points)) if closed else np.arange(1, len(points) - 1)
    if (~corners[at] & ~bends.inner_fits(nib.half)).sum() < _FEW:
        return []
    parts = []
    if nib.join != "round":
        for index in np.flatnonzero(corners[at] & (np.abs(bends.turns) > nib.step)).tolist():
            turn = float(bends.turns[index])
            last, following = bends.units[index - 1 if closed else index], bends.units[index if closed else index + 1]
            edges = [math.copysign(nib.half, turn) * np.array((unit[1], -unit[0])) for unit in (last, following)]
            first, second = edges if turn > 0 else edges[::-1]
            tip = _join(first, second, abs(turn), nib.join, nib)
            if len(tip) > 1:
                return []  # a bevel
            ring = np.stack((np.zeros(2), edges[0], tip[0], edges[1]))
            parts.append(shapely.Polygon(points[at[index]] + ring))
    if nib.cap == "square" and not closed:
        parts += _cap_pieces(points, nib)
    whole = np.concatenate((points, points[:1])) if closed else points
    middle = len(whole) // 2
    # A line that ends where it begins goes in two parts, for GEOS takes it as a ring and drops its spikes.
    rejoined = bool((whole[0] == whole[-1]).all())
    lines = [shapely.LineString(part) for part in ((whole[: middle + 1], whole[middle:]) if rejoined else (whole,))]
    return [*shapely.buffer(lines, nib.half, quad_segs=math.ceil(math.pi / 2 / nib.step)), *parts]


def _cap(point: FloatArray, step: FloatArray, nib: _Nib) -> FloatArray:
    """The points between the two edges at an end; `step` points out of the line."""
    if nib.cap == "butt":
        return np.empty((0, 2))
    u = step / np.hypot(*step) * nib.half
    if nib.cap == "square":
        return np.stack((point + u + (u[1], -u[0]), point + u + (-u[1], u[0])))
    return point + nib.fan(math.atan2(-u[0], u[1]), math.pi)[1:-1]
