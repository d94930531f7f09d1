"""A board: all that is burnt on it, in burning order, and its SVG.

Enters: a `BoardLayout` and the job. Leaves: `BoardCuts`, and the file's text, which is one like a sheet's. Holds:
each contour is its sheet's, to the last digit, turned by quarters and moved. Marks come before all cuts. A contour
never comes before one inside it over the whole board, so that nothing is cut out of what is already loose: the rim of
a part in an opening of another comes among the openings, before that opening.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from typing import TypeVar

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Point
from shapely.geometry.base import BaseGeometry

from layercut.geometry.curves import Path
from layercut.geometry.motion import Drive, jump_seconds
from layercut.geometry.precision import OUTPUT_DECIMALS
from layercut.job import Job
from layercut.job_tables import MachineJob
from layercut.model import BoardCuts, BoardLayout, BoardPart
from layercut.sheets.svg_out import write_cuts
from layercut.sheets.timing import time_sheet
from layercut.sheets.toolpath import HOME_MM, end_of_areas
from layercut.workplan import BurnTimes

Place = tuple[float, float]
S = TypeVar("S", bound=BaseGeometry)


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
    """What is burnt on a board, in order: all parts' areas, their lines, all that lies inside a rim, and the rims.

    A part's own contours stay in the order that its sheet has them, for that is short; parts follow each other by the
    nearest, and what lies in openings comes right before what is around it.
    """
    parts = _in_order(board.parts)
    areas = [
        tuple(moved_path(path, part) for path in paths) for part in parts for paths in part.cut.curves.mark_areas
    ]
    lines = [moved_path(path, part) for part in parts for path in part.cut.curves.mark_lines]
    openings = [
        moved_path(path, part)
        for part in parts
        for path in (*part.cut.curves.openings, *((part.cut.curves.outline,) if part.inside else ()))
    ]
    outlines = [moved_path(part.cut.curves.outline, part) for part in parts if not part.inside]
    marked = tuple(moved(area, part) for part in parts for area in part.cut.mark_areas)
    ways = _ways([*lines, *openings, *outlines], end_of_areas(marked), bool(marked))
    travel = jump_seconds(ways, Drive(machine.travel_speed, machine.acceleration, machine.corner_rounding))
    times = _times(parts, travel, machine)
    return BoardCuts(tuple(areas), tuple(lines), tuple(openings), tuple(outlines), sum(ways), times)


def _in_order(parts: Sequence[BoardPart]) -> list[BoardPart]:
    """The parts by the nearest, those inside another before it."""
    rims = [moved(part.cut.outline, part) for part in parts]
    inside: dict[int, list[int]] = {}
    for k, part in enumerate(parts):
        if part.inside:
            around = [j for j, rim in enumerate(rims) if j != k and rim.contains(rims[k])]
            inside.setdefault(min(around, key=lambda j: float(rims[j].area)), []).append(k)
    here, order = HOME_MM, []
    left = [k for k, part in enumerate(parts) if not part.inside]
    while left:
        nearest = min(left, key=lambda k: (round(rims[k].distance(Point(here)), 3), k))
        left.remove(nearest)
        order += _with_inner(nearest, inside)
        middle = shapely.centroid(rims[nearest])
        here = (float(middle.x), float(middle.y))
    return [parts[k] for k in order]


def _with_inner(part: int, inside: Mapping[int, Sequence[int]]) -> list[int]:
    """A part after all that lie inside it."""
    return [*(k for inner in inside.get(part, ()) for k in _with_inner(inner, inside)), part]


def _ways(paths: Sequence[Path], start: Place, after_areas: bool) -> list[float]:
    """The lengths of the ways between one stop and the next, from home, mm."""
    here, ways = np.array(start), [float(np.hypot(*start))] if after_areas else []
    for path in paths:
        ways.append(float(np.hypot(*(path.segments[0, 0] - here))))
        here = path.segments[-1, 3]
    return ways


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
