"""Rooms: where on the boards something may still lie.

Enters: a region for cut lines, and parts. Leaves: `Room`s, and the place of a part in one. Holds: whatever lies where
a room says keeps the gap from all that was laid before.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely import Polygon
from shapely.affinity import rotate

from layercut.geometry.nofit import Corners, convex_parts, fit_region, hull_corners
from layercut.geometry.offsets import offset_round_coarse
from layercut.geometry.precision import OUTPUT_DECIMALS
from layercut.geometry.regions import Region, polygons_of
from layercut.geometry.thinning import thinned_apart

SLACK_MM = 0.1
"""How exactly outlines are followed, mm, on the side that keeps the gap: with fewer corners all takes less time."""

WIDTH_MM = 0.2
"""How exactly the greatest disc of a room or a part is found, mm."""

FILLED = 0.85
"""Of a part that fills less than this of its hull the very shape is tried too, before another board is begun."""

OFF_MM = 0.001
"""A part may reach out of a room by so much, mm, on the average: the last digit of its place."""

LEAST_MM2 = 4.0
"""A room smaller than this is none, mm2."""


@dataclass(frozen=True, slots=True)
class Room:
    """Where cut lines may lie: the board, counted from 0, the region, mm, whether that is an opening of a part, and
    the width of its greatest disc, mm."""

    board: int
    region: Polygon
    inside: bool
    width_mm: float


@dataclass(frozen=True, slots=True)
class Shape:
    """A part's rim in some of its turns: `turned` has the rim for each, about the sheet's origin; with the width of
    its greatest disc, mm."""

    turned: tuple[tuple[int, Polygon], ...]
    width_mm: float


@dataclass(frozen=True, slots=True)
class Lie:
    """Where a part lies: its board, how far its sheet's origin is moved once it is turned, and whether it lies in an
    opening of another part. `rim` is its cut line there."""

    board: int
    at_mm: tuple[float, float]
    turned_deg: int
    inside: bool
    rim: Polygon


def shape_of(rim: Polygon, turns: Sequence[int]) -> Shape:
    """A part's rim in each of some turns, degrees, clockwise as one sees it."""
    return Shape(tuple((turn, turned(rim, turn)) for turn in turns), _width(rim) - WIDTH_MM)


def turned(region: Polygon, turn: int) -> Polygon:
    """A region turned about the origin by quarters, clockwise as one sees it."""
    return rotate(region, turn, origin=(0, 0)) if turn else region


def placed(region: Polygon, at_mm: tuple[float, float], turn: int) -> Polygon:
    """A region turned about the origin, then moved."""
    return shapely.transform(turned(region, turn), lambda points: points + np.array(at_mm))


def rooms_of(board: int, region: Region, inside: bool) -> list[Room]:
    """The rooms of a region, its parts, in their order; none for an empty one."""
    parts = [part for part in polygons_of(region) if part.area >= LEAST_MM2]
    return [Room(board, part, inside, _width(part)) for part in parts]


def moved_rooms(rooms: Iterable[Room], lie: "Lie") -> list[Room]:
    """The openings of a part where it lies."""
    return [replace(room, board=lie.board, region=placed(room.region, lie.at_mm, lie.turned_deg)) for room in rooms]


def without_parts(rooms: Iterable[Room], board: int, rims: Sequence[Polygon], gap_mm: float) -> list[Room]:
    """The rooms less what was laid on a board, and the gap around it."""
    taken = [taken_by(rim, gap_mm) for rim in rims]
    left: list[Room] = []
    for room in rooms:
        near = [one for one in taken if room.board == board and one.intersects(room.region)]
        if near:
            left += rooms_of(board, shapely.difference(room.region, shapely.union_all(near)), room.inside)
        else:
            left.append(room)
    return left


def taken_by(rim: Polygon, gap_mm: float) -> Polygon:
    """A part and the gap around it; with as few corners as the gap allows."""
    if rim.area > (1 - 1e-9) * shapely.envelope(rim).area:
        return shapely.buffer(rim, gap_mm, join_style="mitre")
    # Thinned before and after, each time by the slack, which the offset has more.
    taken: Polygon = thinned_apart(offset_round_coarse(thinned_apart(rim, SLACK_MM), gap_mm + 2 * SLACK_MM), SLACK_MM)
    return taken


def find_lie(shape: Shape, rooms: Sequence[Room]) -> Lie | None:
    """Where a part lies in the first room that takes it, in the first turn that does: as far up, then left, as it
    goes. None where no room does.

    First as its hull, then, where it is far from filling that, as it is.
    """
    for exact in (False, True):
        tries = [(turn, rim, _convex(rim, exact=exact)) for turn, rim in shape.turned]
        if exact and shape.turned[0][1].area > FILLED * shape.turned[0][1].convex_hull.area:
            return None
        for room in rooms:
            if room.width_mm + WIDTH_MM < shape.width_mm:
                continue
            for turn, rim, convex in tries:
                lie = _lie(turn, rim, convex, room)
                if lie is not None:
                    return lie
    return None


def _convex(rim: Polygon, *, exact: bool) -> list[Corners]:
    return convex_parts(rim, 5 * SLACK_MM) if exact else [hull_corners(rim, SLACK_MM)]


def _lie(turn: int, rim: Polygon, parts: Sequence[Corners], room: Room) -> Lie | None:
    """The place of a turned part in a room, None where it doesn't fit."""
    x0, y0, x1, y1 = room.region.bounds
    left, top, right, bottom = rim.bounds
    if right - left > x1 - x0 + 1e-6 or bottom - top > y1 - y0 + 1e-6:
        return None
    shifts = shapely.get_coordinates(fit_region(room.region, parts))
    if not len(shifts):
        return None
    x, y = shifts[np.lexsort(shifts.round(OUTPUT_DECIMALS).T)[0]].round(OUTPUT_DECIMALS).tolist()
    moved = placed(rim, (x, y), 0)
    # Looked at once more: what the region says hangs on sums of many digits.
    if shapely.difference(moved, room.region).area > OFF_MM * moved.length:
        return None
    return Lie(room.board, (x + 0.0, y + 0.0), turn, room.inside, moved)


def _width(region: Polygon) -> float:
    """The width of a region's greatest disc, mm, at most."""
    circle = shapely.maximum_inscribed_circle(region, tolerance=WIDTH_MM / 2)
    return 2 * float(circle.length) + WIDTH_MM
