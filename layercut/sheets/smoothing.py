"""Smoothing a sheet: its cut lines and marks as lines and cubics.

Enters: sheets as ordered, the job's curve tolerance. Leaves: `SmoothSheet`, the same contours in the same order, each
begun where the order has the beam begin. Holds: with flattening and rounding, no curve is further than the tolerance
from what was drawn. Where the tolerance leaves nothing for smoothing, or the job says so, contours stay polylines.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import islice

import numpy as np
import shapely
from numpy.typing import NDArray

from layercut.geometry.curves import Path, path_length
from layercut.geometry.precision import FLATTEN_MM, GRID_MM
from layercut.geometry.smooth import smooth_lines
from layercut.job import Job
from layercut.model import Sheet

Line = NDArray[np.float64]


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
    return tuple(_sheet(sheet, parts) for sheet in sheets)


def measured(sheet: Sheet, curves: SmoothSheet) -> Sheet:
    """The sheet with the lengths of its curves: around a dot they differ from its polylines' by some percent."""
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


def _subpaths(path: Path) -> Iterator[Path]:
    """Each subpath as a path of its own."""
    ends = (*path.starts[1:], len(path.segments))
    for begin, end, closed in zip(path.starts, ends, path.closed, strict=True):
        yield Path(path.segments[begin:end], path.straight[begin:end], (0,), (closed,))
