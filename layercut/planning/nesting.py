"""How many panels of one size a board takes.

Enters: sizes of rectangles. Leaves: a `Layout`. Nothing here is the best there is: panels lie in rows or blocks; what
is told does fit.
"""

import math
from itertools import product

from layercut.workplan import Layout

Spot = tuple[float, float, bool]

MOST_BLOCKS = 20_000
"""Sizes of blocks that are tried on one board, at most: some hundredths of a second."""


def lay_out(
    size: tuple[float, float], board: tuple[float, float], gap_mm: float, edge_mm: float, count: int
) -> Layout:
    """As many panels of one size as fit a board, upright or turned, in rows or in four blocks; and the boards for
    `count`.

    The best of all numbers of upright and turned rows along either side of the board, and of all blocks around its
    four corners, upright and turned in turn. `gap_mm` stays between panels, `edge_mm` at the board's edge.
    """
    # One gap more on board and panel alike: n panels have n - 1 gaps between them.
    w, h = size[0] + gap_mm, size[1] + gap_mm
    room, depth = (side - 2 * edge_mm + gap_mm for side in board)
    along = _rows(w, h, room, depth)
    across = [(y, x, not turned) for x, y, turned in _rows(w, h, depth, room)]
    best = max((along, across, _blocks(w, h, room, depth)), key=len)
    spots = tuple((round(x + edge_mm, 3), round(y + edge_mm, 3), turned) for x, y, turned in best)
    boards = math.ceil(count / len(spots)) if spots else 0
    return Layout(*board, len(spots), boards, spots)


def _rows(w: float, h: float, room: float, depth: float) -> list[Spot]:
    """Panels of w by h in rows of `room`: first upright rows, h high, then turned ones, w high."""
    if room <= 0 or depth <= 0:
        return []
    slack = 1e-6  # of additions
    upright, turned = int((room + slack) // w), int((room + slack) // h)
    best: tuple[int, int, int] = (0, 0, 0)
    for rows in range(int((depth + slack) // h) + 1):
        more = int((depth - rows * h + slack) // w)
        best = max(best, (rows * upright + more * turned, rows, more), key=lambda one: one[0])
    _, rows, more = best
    spots: list[Spot] = [(column * w, row * h, False) for row in range(rows) for column in range(upright)]
    spots += [(column * h, rows * h + row * w, True) for row in range(more) for column in range(turned)]
    return spots


def _blocks(w: float, h: float, room: float, depth: float) -> list[Spot]:
    """Panels of w by h in four blocks, one a corner: upright, turned, upright, turned, around a gap in the middle.

    All sizes of the blocks are tried; none for boards that take so many panels that rows lose next to nothing.
    """
    slack = 1e-6
    uprights, levels = int((room + slack) // w), int((depth + slack) // h)
    turned, steps = int((room + slack) // h), int((depth + slack) // w)
    if (uprights + 1) * (levels + 1) * (turned + 1) * (steps + 1) > MOST_BLOCKS:
        return []
    best, found = 0, (0, 0, 0, 0, 0, 0, 0, 0)
    for p, q in product(range(uprights + 1), range(levels + 1)):
        for s, t in product(range(steps + 1), range(turned + 1)):
            # p by q upright at the top left; b by s turned at the top right; c by r upright below it; t by d turned.
            b, r = int((room - p * w + slack) // h), int((depth - s * w + slack) // h)
            c, d = int((room - t * h + slack) // w), int((depth - q * h + slack) // w)
            apart = (p + c) * w <= room + slack or (q + r) * h <= depth + slack
            apart = apart and ((b + t) * h <= room + slack or (s + d) * w <= depth + slack)
            if apart and p * q + b * s + c * r + t * d > best:
                best, found = p * q + b * s + c * r + t * d, (p, q, b, s, c, r, t, d)
    p, q, b, s, c, r, t, d = found
    spots: list[Spot] = [(i * w, j * h, False) for j in range(q) for i in range(p)]
    spots += [(room - (b - i) * h, j * w, True) for j in range(s) for i in range(b)]
    spots += [(i * h, depth - (d - j) * w, True) for j in range(d) for i in range(t)]
    spots += [(room - (c - i) * w, depth - (r - j) * h, False) for j in range(r) for i in range(c)]
    return spots
