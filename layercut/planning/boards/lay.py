"""Laying parts on boards: large ones first, small ones into the openings of large ones.

Enters: parts and rules. Leaves: where each part lies. Holds: no two overlap, each keeps the gap, and the same parts
lie in the same places whenever they are laid. What fits into no opening is laid first, as rectangles; then all
others, the largest first, each into the smallest opening that takes it, else into what is left of a board.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import shapely
from shapely import box

from layercut.planning.boards.parts import Part
from layercut.planning.boards.rectangles import pack_rectangles
from layercut.planning.boards.rooms import (
    WIDTH_MM,
    Lie,
    Room,
    find_lie,
    moved_rooms,
    placed,
    rooms_of,
    shape_of,
    turned,
    without_parts,
)
from layercut.planning.boards.size import BoardSize

RECTANGLE = 0.9
"""A part that fills so much of its box is laid as that box."""


@dataclass(frozen=True, slots=True)
class Rules:
    """How parts may lie: on what boards, how far apart, mm, and by what turns, degrees."""

    size: BoardSize
    gap_mm: float
    turns: tuple[int, ...]


def lay_large(parts: Sequence[Part], rules: Rules) -> dict[int, Lie] | None:
    """Where the parts lie that fit into no opening, by their places in the list; None where one fits no board.

    Rectangular parts go by `rectangles.py`; where some are round they are laid by their shape too, and the way that
    takes fewer boards counts.
    """
    large, _ = split_by_size(parts)
    ways = [_as_boxes(parts, large, rules)]
    if any(parts[k].rim.area < RECTANGLE * shapely.envelope(parts[k].rim).area for k in large):
        # Sheets are alike from all sides, so that turning them would only take longer.
        plain = replace(rules, turns=rules.turns[:1])
        ways.append(_by_shape({}, large, parts, plain, _whole_boards(0, rules.size), nest=False))
    return min((way for way in ways if way is not None), key=count_boards, default=None)


def lay_small(parts: Sequence[Part], large: dict[int, Lie], rules: Rules, *, nest: bool) -> list[Lie] | None:
    """A place for each part, in their order, once the large ones lie; with `nest` in their openings too. None where
    one fits no board."""
    _, small = split_by_size(parts)
    rooms = _rooms_left(parts, large, rules, nest=nest)
    full = _by_shape(large, small, parts, rules, rooms, nest=nest)
    return None if full is None else [full[k] for k in range(len(parts))]


def count_boards(lies: dict[int, Lie]) -> int:
    return 1 + max((lie.board for lie in lies.values()), default=-1)


def split_by_size(parts: Sequence[Part]) -> tuple[list[int], list[int]]:
    """The parts that fit into no opening of any, and the others, the largest first."""
    widest = max((room.width_mm for part in parts for room in part.rooms), default=0.0)
    order = sorted(range(len(parts)), key=lambda k: (-float(parts[k].rim.area), k))
    widths = {k: shape_of(parts[k].rim, (0,)).width_mm for k in order}
    large = [k for k in order if widths[k] > widest + WIDTH_MM]
    return large, [k for k in order if k not in set(large)]


def _as_boxes(parts: Sequence[Part], which: Sequence[int], rules: Rules) -> dict[int, Lie] | None:
    """Parts laid by their boxes."""
    first = rules.turns[0]
    rims = [turned(parts[k].rim, first) for k in which]
    boxes = [rim.bounds for rim in rims]
    sizes = [(x1 - x0, y1 - y0) for x0, y0, x1, y1 in boxes]
    spots = pack_rectangles(
        sizes, rules.size.room_mm, rules.gap_mm, turn=len({turn % 180 for turn in rules.turns}) > 1
    )
    if spots is None:
        return None
    left, top = rules.size.edges_mm
    lies = {}
    for k, spot in zip(which, spots, strict=True):
        turn = first + 90 if spot.turned else first
        rim = turned(parts[k].rim, turn)
        x0, y0, _, _ = rim.bounds
        x, y = (round(v, 3) + 0.0 for v in (spot.x_mm + left - x0, spot.y_mm + top - y0))
        lies[k] = Lie(spot.board, (x, y), turn, inside=False, rim=placed(rim, (x, y), 0))
    return lies


def _whole_boards(board: int, size: BoardSize) -> list[Room]:
    left, top = size.edges_mm
    wide, high = size.room_mm
    return rooms_of(board, box(left, top, left + wide, top + high), inside=False)


def _rooms_left(parts: Sequence[Part], lies: dict[int, Lie], rules: Rules, *, nest: bool) -> list[Room]:
    """What is left of the boards, and the openings of what lies on them."""
    rooms: list[Room] = []
    for board in range(count_boards(lies)):
        rims = [lie.rim for lie in lies.values() if lie.board == board]
        rooms += without_parts(_whole_boards(board, rules.size), board, rims, rules.gap_mm)
    if nest:
        for k, lie in lies.items():
            rooms += moved_rooms(parts[k].rooms, lie)
    return rooms


def _by_shape(
    lies: dict[int, Lie],
    which: Sequence[int],
    parts: Sequence[Part],
    rules: Rules,
    rooms: Sequence[Room],
    *,
    nest: bool,
) -> dict[int, Lie] | None:
    """Some parts laid by their shape after others, in their order, each into the smallest opening that takes it, else
    on the first board that does, else on another. None where one fits no board."""
    done, left = dict(lies), list(rooms)
    boards = max(count_boards(lies), 1 + max((room.board for room in rooms), default=-1))
    for k in which:
        shape = shape_of(parts[k].rim, rules.turns)
        left.sort(key=lambda room: (not room.inside, room.board if not room.inside else 0, room.region.area))
        lie = find_lie(shape, left)
        if lie is None:
            fresh = _whole_boards(boards, rules.size)
            lie = find_lie(shape, fresh)
            if lie is None:
                return None
            left += fresh
            boards += 1
        done[k] = lie
        left = without_parts(left, lie.board, [lie.rim], rules.gap_mm)
        if nest:
            left += moved_rooms(parts[k].rooms, lie)
    return done
