"""Smoothing a sheet: its cut lines and marks as lines and cubics.

Enters: sheets as ordered, the job's curve tolerance. Leaves: `SmoothSheet`, the same contours in the same order, each
closed one begun where two of its curves meet, whichever makes the way between contours short. Holds: with flattening
and rounding, no curve is further than the tolerance from what was drawn. Where the tolerance leaves nothing for
smoothing, or the job says so, contours stay polylines.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import islice

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString, Polygon

from layercut.geometry.curves import Path, path_length
from layercut.geometry.precision import FLATTEN_MM, GRID_MM
from layercut.geometry.smooth import smooth_lines
from layercut.job import Job
from layercut.model import Sheet
from layercut.sheets.cut import end_of_areas, timed
from layercut.sheets.order import Stop, choose_starts

Line = NDArray[np.float64]

SHOWS_RAD = math.radians(20)
"""A node that turns more than this is a corner that shows, and the beam's beginning with it."""

CORNER_TOLL_MM = 2.0
"""A corner is begun at only if that saves more way than this, mm: some hundredths of a second."""


@dataclass(frozen=True, slots=True)
class SmoothSheet:
    """A sheet's contours as curves, in burning order: one `Path` of one subpath each, for an area all of its own."""

    mark_areas: tuple[tuple[Path, ...], ...]
    mark_lines: tuple[Path, ...]
    openings: tuple[Path, ...]
    outline: Path


def deviation_mm(tolerance_mm: float) -> float:
    """What the curve tolerance leaves for smoothing, mm: less the drawing's flattening, the grid, and vertices that
    were left out before (`kerf.py`, `cut.py`)."""
    return max(tolerance_mm - 2 * FLATTEN_MM - GRID_MM, 0.0)


def smooth_sheets(sheets: Sequence[Sheet], job: Job) -> tuple[SmoothSheet, ...]:
    """All sheets' contours as curves; all at once, which is quicker than one by one."""
    lines: list[Line] = []
    groups: list[int] = []
    for number, sheet in enumerate(sheets):
        mine = _lines(sheet)
        lines += mine
        groups += [number] * len(mine)
    allowed = deviation_mm(job.curves.tolerance) if job.curves.smooth else 0.0
    path = smooth_lines(lines, allowed, flat_mm=2 * FLATTEN_MM, groups=groups)
    parts = iter(_subpaths(path))
    return tuple(_well_begun(sheet, _sheet(sheet, parts)) for sheet in sheets)


def measured(sheet: Sheet, curves: SmoothSheet, job: Job) -> Sheet:
    """The sheet as written: its contours begun where their curves are, and what follows from that; and the lengths of
    its curves: around a dot they differ from its polylines' by some percent."""
    marks = tuple(map(_begun_at, sheet.mark_lines, curves.mark_lines))
    openings = tuple(map(Polygon, map(_begun_at, (ring.exterior for ring in sheet.openings), curves.openings)))
    outline = Polygon(_begun_at(sheet.outline.exterior, curves.outline))
    sheet = timed(replace(sheet, mark_lines=marks, openings=openings, outline=outline), job.machine)
    return replace(sheet, curve_mm=(_length([*curves.openings, curves.outline]), _length(curves.mark_lines)))


def _length(paths: Sequence[Path]) -> float:
    """The length of some curves, mm; 0 for none."""
    if not paths:
        return 0.0
    segments = np.concatenate([path.segments for path in paths])
    straight = np.concatenate([path.straight for path in paths])
    return path_length(Path(segments, straight, (0,), (False,)))


def _lines(sheet: Sheet) -> list[Line]:
    """All contours of a sheet: those of its areas, its lines, its openings and its rim."""
    rings = [ring for area in sheet.mark_areas for ring in (area.exterior, *area.interiors)]
    rings += [*sheet.mark_lines, *(opening.exterior for opening in sheet.openings), sheet.outline.exterior]
    return [shapely.get_coordinates(ring) for ring in rings]


def _sheet(sheet: Sheet, parts: Iterator[Path]) -> SmoothSheet:
    """The sheet's contours from all, in the order of `_lines`."""
    return SmoothSheet(
        mark_areas=tuple(tuple(islice(parts, 1 + len(area.interiors))) for area in sheet.mark_areas),
        mark_lines=tuple(islice(parts, len(sheet.mark_lines))),
        openings=tuple(islice(parts, len(sheet.openings))),
        outline=next(parts),
    )


def _well_begun(sheet: Sheet, curves: SmoothSheet) -> SmoothSheet:
    """Contours that were to begin amid a curve turned to begin at the node that makes the way short instead, at a
    corner only where that saves much: a beginning amid a curve would cost a node."""
    paths = (*curves.mark_lines, *curves.openings, curves.outline)
    planned = [*sheet.mark_lines, *(ring.exterior for ring in (*sheet.openings, sheet.outline))]
    stops = [_stop_of(path, line.coords[0]) for path, line in zip(paths, planned, strict=True)]
    begin = choose_starts(stops, end_of_areas(sheet.mark_areas))
    turned = [
        replace(path, segments=np.roll(path.segments, -k, axis=0), straight=np.roll(path.straight, -k)) if k else path
        for path, k in zip(paths, begin, strict=True)
    ]
    count = len(curves.mark_lines)
    return replace(curves, mark_lines=tuple(turned[:count]), openings=tuple(turned[count:-1]), outline=turned[-1])


def _stop_of(path: Path, planned: tuple[float, ...]) -> Stop:
    """Where a contour may be begun: where it was planned if a curve begins there, else at any of its nodes."""
    corners = path.segments @ np.array([1, 1j])
    if not path.closed[0] or abs(corners[0, 0] - complex(*planned)) < 2 * GRID_MM:
        return Stop(corners[:1, 0], corners[-1:, 3], path.closed[0])
    leave, arrive = _leads(corners), -np.roll(_leads(corners[:, ::-1]), 1)
    sharp = np.abs(np.angle(leave * np.conj(arrive))) > SHOWS_RAD
    return Stop(corners[:, 0], corners[:, 0], closed=True, toll=np.where(sharp, CORNER_TOLL_MM, 0.0))


def _leads(segments: NDArray[np.complex128]) -> NDArray[np.complex128]:
    """Which way each segment, (n, 4), leaves its first end, at any length."""
    legs = segments[:, 1:] - segments[:, :1]
    return np.asarray(legs[np.arange(len(legs)), (legs != 0).argmax(axis=1)])


def _begun_at(line: LineString, path: Path) -> LineString:
    """A closed polyline turned to begin at its vertex nearest to where its curves do; an open one as it is."""
    if not path.closed[0]:
        return line
    loop = shapely.get_coordinates(line)[:-1]
    loop = np.roll(loop, -int(np.hypot(*(loop - path.segments[0, 0]).T).argmin()), axis=0)
    return LineString(np.vstack([loop, loop[:1]]))


def _subpaths(path: Path) -> Iterator[Path]:
    """Each subpath as a path of its own."""
    ends = (*path.starts[1:], len(path.segments))
    for begin, end, closed in zip(path.starts, ends, path.closed, strict=True):
        yield Path(path.segments[begin:end], path.straight[begin:end], (0,), (closed,))
