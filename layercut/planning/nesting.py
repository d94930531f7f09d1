"""Nesting: how many panels a board takes, and which small parts fit into the waste of openings.

Enters: sizes of rectangles, or parts and openings. Leaves: `Layout` and `Nested`. Nothing here is the best there is:
panels lie in rows or blocks, and a part is tried at a fixed number of places; what is told does fit.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon
from shapely.affinity import rotate, translate

from layercut.geometry.regions import Region, as_region, polygons_of
from layercut.geometry.thinning import thinned_apart
from layercut.workplan import Layout, Nested

Spot = tuple[float, float, bool]

MOST_BLOCKS = 20_000
"""Sizes of blocks that are tried on one board, at most: some hundredths of a second."""

TURNS_DEG = (0, 90, 45, 135)
"""How a part is turned to fit; its hull is tried, so half a turn would seldom help."""

TRIALS = 400
"""Places of one opening that are tried with one part and one turn, at most."""

MOST_PARTS = 60
"""Parts for which a place is looked for, the largest first."""

MOST_OPENINGS = 24
"""Openings that are looked at, the largest first."""

CORNERS = 6
"""Corners of a part, about, that are looked at before the whole of it."""

HULL_MM = 0.1
"""How exactly a part's hull is followed, mm, outwards; beside the gap between parts."""


@dataclass(frozen=True, slots=True)
class Spare:
    """A small part to lay out: its name and outline."""

    name: str
    outline: Region


@dataclass(frozen=True, slots=True)
class Opening:
    """Waste that falls out of a sheet's opening, whole."""

    sheet: str
    waste: Polygon


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


def nest_parts(
    parts: Sequence[Spare], openings: Sequence[Opening], gap_mm: float
) -> tuple[tuple[Nested, ...], tuple[str, ...]]:
    """Lay parts into the waste of openings, the largest first, each where it first fits; and the names of the rest.

    A part is taken for its hull, turned by 0, 90, 45 or 135 degrees and tried at up to 400 places of each of the 24
    largest openings, for the 60 largest parts. Parts keep the gap to the opening's edge and to each other.
    """
    free = [(opening.sheet, _room(opening.waste, gap_mm)) for opening in openings]
    free = sorted((one for one in free if not one[1].is_empty), key=lambda one: -one[1].area)[:MOST_OPENINGS]
    rooms = [room for _, room in free]
    placed: list[Nested] = []
    left: list[str] = []
    order = sorted(range(len(parts)), key=lambda k: (-float(parts[k].outline.area), k))
    for rank, k in enumerate(order):
        found = _place(parts[k], rooms, gap_mm) if rank < MOST_PARTS else None
        if found is None:
            left.append(parts[k].name)
            continue
        place, turn, outline, hull = found
        # What is laid takes its room and a gap around it from whoever comes after.
        rooms[place] = as_region(shapely.difference(rooms[place], shapely.buffer(hull, gap_mm, quad_segs=2)))
        middle = shapely.centroid(outline)
        at = (round(middle.x, 1), round(middle.y, 1))
        placed.append(Nested(parts[k].name, free[place][0], at, turn, outline))
    return tuple(placed), tuple(left)


def _room(waste: Polygon, gap_mm: float) -> Region:
    """Where parts may lie within the waste of an opening."""
    return as_region(shapely.buffer(thinned_apart(waste, HULL_MM), -(gap_mm + HULL_MM), quad_segs=2))


def _place(part: Spare, rooms: Sequence[Region], gap_mm: float) -> tuple[int, int, Polygon, Polygon] | None:
    """The first place where a part fits: which room, how far turned, and the part and its hull there."""
    whole = shapely.convex_hull(shapely.buffer(shapely.convex_hull(part.outline), HULL_MM, quad_segs=2))
    shape = max(polygons_of(part.outline), key=lambda one: one.area)
    centre = shapely.centroid(whole)
    for turn in TURNS_DEG:
        hull = rotate(whole, turn, origin=centre)
        for place, room in enumerate(rooms):
            for piece in polygons_of(room):
                shift = _first_fit(hull, piece, gap_mm)
                if shift is not None:
                    moved = translate(rotate(shape, turn, origin=centre), *shift)
                    return place, turn, moved, translate(hull, *shift)
    return None


def _first_fit(hull: Polygon, room: Polygon, gap_mm: float) -> tuple[float, float] | None:
    """How far to move a hull so that it lies in a room, by reading order; None where none of the places does."""
    x0, y0, x1, y1 = room.bounds
    left, top, right, bottom = hull.bounds
    width, height = (x1 - x0) - (right - left), (y1 - y0) - (bottom - top)
    if width < 0 or height < 0 or hull.area > room.area:
        return None
    shifts = _grid(width, height, gap_mm) + np.array([x0 - left, y0 - top])
    points = shapely.get_coordinates(hull)
    shapely.prepare(room)
    # Few places take even a handful of the hull's corners; only those are worth a polygon.
    few = points[:: max(1, len(points) // CORNERS)]
    open_ = shapely.intersects_xy(room, *(few[:, None] + shifts).reshape(-1, 2).T).reshape(len(few), -1).all(axis=0)
    for shift in shifts[open_]:
        if shapely.contains(room, shapely.polygons(points + shift)):
            return float(shift[0]), float(shift[1])
    return None


def _grid(width: float, height: float, gap_mm: float) -> NDArray[np.float64]:
    """Shifts over a rectangle, (n, 2), by rows from the top left, as close as a gap but no more than the trials
    allow."""
    step = max(gap_mm, 0.5, math.sqrt(width * height / TRIALS), (width + height) / TRIALS)
    x, y = (np.linspace(0, side, max(1, math.floor(side / step) + 1)) for side in (width, height))
    return np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
