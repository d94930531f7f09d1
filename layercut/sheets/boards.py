"""A board: all that is burnt on it, in burning order, and its SVG.

Enters: a `BoardLayout` and the job. Leaves: `BoardCuts`, and the file's text, which is one like a sheet's. Holds:
each contour is its sheet's, to the last digit, turned by quarters and moved. Marks come before all cuts. A contour
never comes before one inside it over the whole board, so that nothing is cut out of what is already loose: the rim of
a part in an opening of another comes among the openings, before that opening.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from layercut.geometry.curves import Path
from layercut.geometry.motion import Drive, jump_seconds
from layercut.geometry.precision import OUTPUT_DECIMALS
from layercut.job import Job, MachineJob
from layercut.model import BoardCuts, BoardLayout, BoardPart
from layercut.sheets.order import BurnStop, order_stops, rings_around
from layercut.sheets.smoothing import places_to_begin
from layercut.sheets.svg_out import write_cuts
from layercut.sheets.timing import time_sheet
from layercut.sheets.toolpath import end_of_areas, reading_order
from layercut.workplan import BurnTimes

Place = tuple[float, float]
S = TypeVar("S", bound=BaseGeometry)


@dataclass(frozen=True, slots=True)
class _Placed:
    """Contours of one board, as curves and as polygons, both where they lie."""

    paths: list[Path]
    rings: list[Polygon]


def write_boards(boards: Sequence[BoardLayout], job: Job) -> tuple[dict[str, str], tuple[BurnTimes, ...]]:
    """The SVG text of each board by its file, and the time that each takes."""
    cuts = [order_board(board, job.machine) for board in boards]
    texts = {board.file: write_board(board, cut, job) for board, cut in zip(boards, cuts, strict=True)}
    return texts, tuple(cut.times for cut in cuts)


def write_board(board: BoardLayout, cuts: BoardCuts, job: Job) -> str:
    """The SVG text of one board."""
    name = "board " + board.file.rpartition("/")[2].removesuffix(".svg")
    size = (board.width_mm, board.height_mm)
    return write_cuts(name, size, cuts.mark_areas, cuts.mark_lines, cuts.openings, cuts.outlines, job.roles)


def order_board(board: BoardLayout, machine: MachineJob) -> BoardCuts:
    """What is burnt on a board, in order: all parts' areas, their lines, all that lies inside a rim, and the rims."""
    areas = [
        (tuple(moved_path(path, part) for path in paths), moved(area, part))
        for part in board.parts
        for paths, area in zip(part.cut.curves.mark_areas, part.cut.mark_areas, strict=True)
    ]
    areas = [areas[k] for k in reading_order([area for _, area in areas])]
    lines = [moved_path(path, part) for part in board.parts for path in part.cut.curves.mark_lines]
    start = end_of_areas(tuple(area for _, area in areas))
    ways = [float(np.hypot(*start))] if areas else []
    marking, here = _ordered(lines, (), start, ways)
    inner, outer = _placed_rings(board)
    opening, here = _ordered(inner.paths, rings_around(inner.rings), here, ways)
    rims, _ = _ordered(outer.paths, rings_around(outer.rings), here, ways)
    travel = jump_seconds(ways, Drive(machine.travel_speed, machine.acceleration, machine.corner_rounding))
    times = _times(board.parts, travel, machine)
    return BoardCuts(tuple(paths for paths, _ in areas), marking, opening, rims, sum(ways), times)


def _placed_rings(board: BoardLayout) -> tuple[_Placed, _Placed]:
    """What lies inside a rim, and the rims that lie inside nothing."""
    inner, outer = _Placed([], []), _Placed([], [])
    for part in board.parts:
        inner.paths.extend(moved_path(path, part) for path in part.cut.curves.openings)
        inner.rings.extend(moved(ring, part) for ring in part.cut.openings)
        rim = inner if part.inside else outer
        rim.paths.append(moved_path(part.cut.curves.outline, part))
        rim.rings.append(moved(part.cut.outline, part))
    return inner, outer


def _ordered(
    paths: Sequence[Path], around: Sequence[int], start: Place, ways: list[float]
) -> tuple[tuple[Path, ...], Place]:
    """Paths in a short order, each begun where that fits, and where the beam ends; `ways` gets the ways between."""
    ordered, here = [], start
    for k, option in order_stops([_stop_of(path) for path in paths], around, start):
        path = _begun(paths[k], option)
        begin, end = path.segments[0, 0], path.segments[-1, 3]
        ways.append(float(np.hypot(*(begin - here))))
        here = (float(end[0]), float(end[1]))
        ordered.append(path)
    return tuple(ordered), here


def _stop_of(path: Path) -> BurnStop:
    """Where a contour may be begun, or from which end a line."""
    if path.closed[0]:
        return places_to_begin(path)
    ends = path.segments[[0, -1], [0, 3]] @ np.array([1, 1j])
    return BurnStop(ends, ends[::-1], closed=False)


def _begun(path: Path, option: int) -> Path:
    if not option:
        return path
    if path.closed[0]:
        return replace(
            path, segments=np.roll(path.segments, -option, axis=0), straight=np.roll(path.straight, -option)
        )
    return replace(path, segments=path.segments[::-1, ::-1], straight=path.straight[::-1])


def moved_path(path: Path, part: BoardPart) -> Path:
    """A sheet's curve where its part lies. Rounded as it is written first: a quarter turn and whole steps of the last
    digit then move every number whole."""
    return replace(path, segments=_moved(path.segments.round(OUTPUT_DECIMALS), part))


def moved(shape: S, part: BoardPart) -> S:
    """A region of a sheet where its part lies."""
    found: S = shapely.transform(shape, lambda points: _moved(points, part))
    return found


def _moved(points: NDArray[np.float64], part: BoardPart) -> NDArray[np.float64]:
    cos, sin = {0: (1, 0), 90: (0, 1), 180: (-1, 0), 270: (0, -1)}[part.turned_deg]
    x, y = points[..., 0], points[..., 1]
    moved: NDArray[np.float64] = np.stack((cos * x - sin * y, sin * x + cos * y), axis=-1) + np.array(part.at_mm)
    return moved


def _times(parts: Iterable[BoardPart], travel_s: float, machine: MachineJob) -> BurnTimes:
    """The sum of what the parts take, with the ways of the board."""
    each = [time_sheet(part.cut, [], machine) for part in parts]
    return BurnTimes(
        areas_s=sum(times.areas_s for times in each),
        lines_s=sum(times.lines_s for times in each),
        openings_s=sum(times.openings_s for times in each),
        rim_s=sum(times.rim_s for times in each),
        travel_s=travel_s,
    )
