"""The boards of a job: all sheets, spacers and spares, laid on as few boards as are found.

Enters: the sheets and the job. Leaves: a `BoardPlan`, None where the job knows no size of boards or bed, or the
panel's rim just doesn't fit the bed (which is told, `planning/material.py`).
"""

import math
from collections.abc import Sequence

import numpy as np
import shapely
from shapely import Polygon

from layercut.job import Job
from layercut.model import BoardLayout, BoardPart, BoardPlan, Panel, Sheet
from layercut.planning.boards.lay import Rules, count_boards, lay_large, lay_small, split_by_size
from layercut.planning.boards.parts import Part, find_parts
from layercut.planning.boards.rooms import Lie
from layercut.planning.boards.size import BoardSize, find_board_size, require_room

ALONG = ((0, 180), (90, 270))
"""Turns, degrees, for which the grain runs the same way through all parts: as drawn, or all by a quarter."""

ANY = ((0, 90, 180, 270),)
"""Turns, degrees, where grain counts for nothing."""


def require_boards(panel: Panel, job: Job) -> None:
    """Raise JobError where the job's boards have no room for a sheet."""
    size = find_board_size(job.material, job.machine)
    if size is not None:
        require_room(panel, job.material, size)


def plan_boards(sheets: Sequence[Sheet], job: Job) -> BoardPlan | None:
    """All parts laid on boards. None without a size, or where a part fits no board."""
    size = find_board_size(job.material, job.machine)
    if size is None or not sheets:
        return None
    parts, gap = find_parts(sheets, job.material), job.material.gap
    turns = ALONG if job.material.grain == "along" else ANY
    least = least_boards(parts, size, gap, {turn % 180 for some in turns for turn in some})
    nested: list[Lie] | None = None
    flat: list[Lie] | None = None
    for some in turns:
        rules = Rules(size, gap, some)
        large = lay_large(parts, rules)
        if large is None:
            continue
        nested = _fewer(nested, lay_small(parts, large, rules, nest=True))
        flat = _fewer(flat, lay_small(parts, large, rules, nest=False))
        if nested is not None and _count(nested) == least:
            break  # there can't be fewer
    best = _fewer(nested, flat)
    if best is None or flat is None:
        return None
    boards = tuple(_board(number, parts, best, size) for number in range(_count(best)))
    return BoardPlan(boards, size.limit, _count(flat), least)


def _fewer(one: list[Lie] | None, other: list[Lie] | None) -> list[Lie] | None:
    """Of two layouts that which takes fewer boards, the first of equals; None for none."""
    if one is None or other is None:
        return one or other
    return other if _count(other) < _count(one) else one


def _count(lies: Sequence[Lie]) -> int:
    return count_boards(dict(enumerate(lies)))


def least_boards(parts: Sequence[Part], size: BoardSize, gap_mm: float, turns: set[int]) -> int:
    """A number of boards that no layout can do without: the largest of three that are sure.

    All wood has to come from somewhere. Parts too wide for any opening lie beside each other, each with half a gap
    around it that is no other's. And of those that are longer and wider than half a board's room there is one a
    board, since each covers its middle.
    """
    wood = sum(float(part.cut.wood.area) for part in parts)
    by_wood = math.ceil(wood / (size.width_mm * size.height_mm) - 1e-9)
    large = [parts[k].rim for k in split_by_size(parts)[0]]
    wide, high = (side + gap_mm for side in size.room_mm)
    # Chords lie within their arcs, so that these areas are rather too small.
    grown = shapely.area(shapely.buffer(np.array(large, dtype=object), gap_mm / 2, quad_segs=8))
    by_room = math.ceil(float(grown.sum()) / (wide * high) - 1e-9)
    return max(by_wood, by_room, sum(_covers_middle(rim, size, turns) for rim in large), 1)


def _covers_middle(rim: Polygon, size: BoardSize, turns: set[int]) -> bool:
    """Whether a part is a rectangle that covers the middle of a board wherever it lies and however it is turned."""
    x0, y0, x1, y1 = rim.bounds
    wide, high = size.room_mm
    sides = [(x1 - x0, y1 - y0) if turn == 0 else (y1 - y0, x1 - x0) for turn in turns]
    return rim.area > 0.999 * (x1 - x0) * (y1 - y0) and all(w > wide / 2 and h > high / 2 for w, h in sides)


def _board(number: int, parts: Sequence[Part], lies: Sequence[Lie], size: BoardSize) -> BoardLayout:
    return BoardLayout(
        f"boards/{number + 1:02}.svg",
        size.width_mm,
        size.height_mm,
        tuple(
            BoardPart(part.name, part.cut, part.piece, lie.at_mm, lie.turned_deg, lie.inside)
            for part, lie in zip(parts, lies, strict=True)
            if lie.board == number
        ),
    )
