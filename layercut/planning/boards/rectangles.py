"""Rectangles on boards: as few boards as a good rule makes of them.

Enters: sizes, mm, and the room that a board has. Leaves: for each rectangle its board and place. Holds: none overlap,
each keeps the gap. Nothing here is the best there is, but published sets are within one board of it
(`tests/outside/test_packing.py`).
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from layercut.geometry.precision import GRID_MM
from layercut.planning.nesting import lay_out

Size = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Spot:
    """Where a rectangle lies: its board, counted from 0, its top left corner in the board's room, mm, and whether it
    is turned by a quarter."""

    board: int
    x_mm: float
    y_mm: float
    turned: bool


def pack_rectangles(sizes: Sequence[Size], room: Size, gap_mm: float, *, turn: bool) -> list[Spot] | None:
    """A place for each rectangle, the largest first, each where a free rectangle leaves least beside it (maximal
    rectangles by best short side: Jylänki 2010, from memory; `rectpack` has it). None where one fits no board.

    Rectangles of one size lie in blocks instead where that takes fewer boards.
    """
    if not sizes:
        return []
    found = _by_maximal_rectangles(sizes, room, gap_mm, turn=turn)
    if turn and found is not None and len(set(sizes)) == 1:
        blocks = lay_out(sizes[0], room, gap_mm, 0.0, len(sizes))
        if blocks.each and blocks.boards < 1 + max(spot.board for spot in found):
            return [Spot(k // blocks.each, *blocks.spots[k % blocks.each]) for k in range(len(sizes))]
    return found


def _by_maximal_rectangles(sizes: Sequence[Size], room: Size, gap_mm: float, *, turn: bool) -> list[Spot] | None:
    # Imported here, since most runs lay no boards.
    from rectpack import SORT_AREA, MaxRectsBssf, PackingBin, PackingMode, newPacker  # noqa: PLC0415

    # In whole steps of the grid, whose sums are exact; and with one gap more on board and rectangle alike, since n
    # rectangles have n - 1 gaps between them.
    wide, high = (math.floor((side + gap_mm) / GRID_MM + 1e-3) for side in room)
    packer = newPacker(
        mode=PackingMode.Offline,
        bin_algo=PackingBin.BFF,
        pack_algo=MaxRectsBssf,
        sort_algo=SORT_AREA,
        rotation=turn,
    )
    steps = [tuple(math.ceil((side + gap_mm) / GRID_MM - 1e-3) for side in size) for size in sizes]
    for k, (w, h) in enumerate(steps):
        packer.add_rect(w, h, k)
    packer.add_bin(wide, high, count=len(sizes))
    packer.pack()
    spots: dict[int, Spot] = {}
    for board, x, y, w, h, k in packer.rect_list():
        spots[k] = Spot(board, x * GRID_MM, y * GRID_MM, (w, h) != steps[k])
    return [spots[k] for k in range(len(sizes))] if len(spots) == len(sizes) else None
