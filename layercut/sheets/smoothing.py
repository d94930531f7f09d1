"""Smoothing a sheet: its cut lines and marks as lines and cubics.

Enters: sheets as ordered, the job's curve tolerance. Leaves: `Sheet`s, the same contours in the same order, each
closed one begun where two of its curves meet, whichever makes the way between contours short. Holds: with flattening
and rounding, no curve is further than the tolerance from what was drawn. Where the tolerance leaves nothing for
smoothing, or the job says so, contours stay polylines.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import fields, replace
from itertools import islice

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString, Polygon

from layercut.geometry.curves import Path, path_length
from layercut.geometry.fitting.smooth import smooth_lines
from layercut.geometry.precision import FLATTEN_MM, GRID_MM
from layercut.job import Job
from layercut.job_tables import MachineJob
from layercut.model import OrderedSheet, Sheet, SheetCurves
from layercut.sheets.order import BurnStop, choose_starts
from layercut.sheets.timing import time_sheet, travel_ways
from layercut.sheets.toolpath import end_of_areas

Line = NDArray[np.float64]

SHOWS_RAD = math.radians(20)
"""A node that turns more than this is a corner that shows, and the beam's beginning with it."""

CORNER_PENALTY_MM = 2.0
"""A corner is begun at only if that saves more way than this, mm: some hundredths of a second."""


def deviation_mm(tolerance_mm: float) -> float:
    """What the curve tolerance leaves for smoothing, mm: less the drawing's flattening, the grid, and vertices that
    were left out before (`kerf.py`, `cut.py`)."""
    return max(tolerance_mm - 2 * FLATTEN_MM - GRID_MM, 0.0)


def smooth_sheets(sheets: Sequence[OrderedSheet], job: Job) -> tuple[Sheet, ...]:
    """All sheets with their contours as curves; all at once, which is quicker than one by one."""
    lines: list[Line] = []
    groups: list[int] = []
    for number, sheet in enumerate(sheets):
        mine = _lines(sheet)
        lines += mine
        groups += [number] * len(mine)
    allowed = deviation_mm(job.curves.tolerance) if job.curves.smooth else 0.0
    path = smooth_lines(lines, allowed, flat_mm=2 * FLATTEN_MM, groups=groups)
    parts = iter(_subpaths(path))
    return tuple(_with_curves(sheet, _well_begun(sheet, _curves(sheet, parts)), job.machine) for sheet in sheets)


def _with_curves(sheet: OrderedSheet, curves: SheetCurves, machine: MachineJob) -> Sheet:
    """The sheet as it is written: its contours begun where their curves are, and what follows from that.

    Lengths are those of the curves: around a dot they differ from its polylines' by some percent.
    """
    begun = replace(
        sheet,
        mark_lines=tuple(map(_begun_at, sheet.mark_lines, curves.mark_lines)),
        openings=tuple(map(Polygon, map(_begun_at, (ring.exterior for ring in sheet.openings), curves.openings))),
        outline=Polygon(_begun_at(sheet.outline.exterior, curves.outline)),
    )
    ways = travel_ways(begun)
    return Sheet(
        **{one.name: getattr(begun, one.name) for one in fields(OrderedSheet)},
        curves=curves,
        cut_mm=_length([*curves.openings, curves.outline]),
        mark_mm=_length(curves.mark_lines),
        travel_mm=sum(ways),
        times=time_sheet(begun, ways, machine),
    )


def _length(paths: Sequence[Path]) -> float:
    """The length of some curves, mm; 0 for none."""
    if not paths:
        return 0.0
    segments = np.concatenate([path.segments for path in paths])
    straight = np.concatenate([path.straight for path in paths])
    return path_length(Path(segments, straight, (0,), (False,)))


def _lines(sheet: OrderedSheet) -> list[Line]:
    """All contours of a sheet: those of its areas, its lines, its openings and its rim."""
    rings = [ring for area in sheet.mark_areas for ring in (area.exterior, *area.interiors)]
    rings += [*sheet.mark_lines, *(opening.exterior for opening in sheet.openings), sheet.outline.exterior]
    return [shapely.get_coordinates(ring) for ring in rings]


def _curves(sheet: OrderedSheet, parts: Iterator[Path]) -> SheetCurves:
    """The sheet's contours from all, in the order of `_lines`."""
    return SheetCurves(
        mark_areas=tuple(tuple(islice(parts, 1 + len(area.interiors))) for area in sheet.mark_areas),
        mark_lines=tuple(islice(parts, len(sheet.mark_lines))),
        openings=tuple(islice(parts, len(sheet.openings))),
        outline=next(parts),
    )


def _well_begun(sheet: OrderedSheet, curves: SheetCurves) -> SheetCurves:
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


def _stop_of(path: Path, planned: tuple[float, ...]) -> BurnStop:
    """Where a contour may be begun: where it was planned if a curve begins there, else at any of its nodes."""
    corners = path.segments @ np.array([1, 1j])
    if not path.closed[0] or abs(corners[0, 0] - complex(*planned)) < 2 * GRID_MM:
        return BurnStop(corners[:1, 0], corners[-1:, 3], path.closed[0])
    leave, arrive = _leads(corners), -np.roll(_leads(corners[:, ::-1]), 1)
    sharp = np.abs(np.angle(leave * np.conj(arrive))) > SHOWS_RAD
    return BurnStop(corners[:, 0], corners[:, 0], closed=True, penalty=np.where(sharp, CORNER_PENALTY_MM, 0.0))


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
