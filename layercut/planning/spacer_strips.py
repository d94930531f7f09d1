"""Spacers glued from strips: how their rings are cut up, and how the strips lie on boards.

Enters: the ring of a spacer, how many there are, and the job. Leaves: `Strip`s, each in its ring and on its board.
Holds: the strips of a ring make the ring; joints of one ring lie over whole wood of the next, but for the inner
corners, where they meet; on a board no two are nearer than the gap and a kerf.

A ring whose rim has no wide corners is cut into four straight strips, butted or mitred. A round one is cut across
into arcs of equal length, every other ring turned by half an arc, as joiners make hoops (common practice).
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely import LineString, MultiPolygon, Polygon
from shapely.affinity import rotate, translate

from layercut.errors import JobError
from layercut.geometry.offsets import offset_mitre
from layercut.geometry.precision import CUT_APART_MM, GRID_MM
from layercut.geometry.regions import as_region, polygons_of
from layercut.geometry.thinning import thinned_apart
from layercut.job import Job
from layercut.model import Panel, Strip
from layercut.units import said_size

Board = tuple[Strip, ...]
Box = tuple[float, float]
Steps = dict[tuple[Box, Box], float]


@dataclass(frozen=True, slots=True)
class SpacerRing:
    """The ring of one spacer: its wood without pin holes, how wide that is, and the panel that it lies behind."""

    panel: Panel
    wood: Polygon
    width_mm: float


ARCS = range(4, 9)
"""Into how many arcs a round ring may be cut; the number that takes the fewest boards is taken."""

COARSE_MM = 0.02
"""How exactly the outlines are followed that are pushed together, mm; beside the gap between them."""

HALVINGS = 24
"""Steps of the search for how close two rows lie: to a thousandth of a mm on any panel."""


def strip_boards(ring: SpacerRing, spacers: int, job: Job) -> tuple[Board, ...]:
    """The strips of all spacers on as few boards of the panel's size as a simple nesting finds.

    Raises JobError for a ring that has no opening, or whose strips no board of that size takes.
    """
    panel = ring.panel
    if not ring.wood.interiors:
        size = said_size(panel.width_mm, panel.height_mm)
        raise JobError(
            "hanging-strips",
            f"a panel of {size} is too small for spacers of strips: its spacer has no opening.",
            'Write hanging.spacer_from = "ring".',
        )
    straight = job.panel.corner <= ring.width_mm + GRID_MM
    tried = [
        lay_strips(_cut_all(ring, spacers, arcs, job), panel, job.material.gap + job.material.kerf)
        for arcs in ((0,) if straight else ARCS)
    ]
    found = [boards for boards in tried if boards]
    if not found:
        raise JobError(
            "hanging-strips",
            f"strips of {said_size(ring.width_mm, ring.width_mm)} and more don't fit a board as large as the panel.",
            'Write hanging.spacer_from = "ring".',
        )
    return min(found, key=len)


def cut_ring(ring: SpacerRing, which: int, arcs: int, job: Job) -> tuple[Polygon, ...]:
    """One ring in parts, clockwise from the top as seen from the front, with its pin holes.

    `which` is its number from 1, on which its joints depend; `arcs` is 0 for straight strips.

    A pin hole that a joint would leave less than a neck of wood is left out.
    """
    joints = _joints_across(ring, which, arcs) if arcs else _straight_joints(ring.wood, which, job)
    lines = shapely.union_all([ring.wood.boundary, *joints])
    found = polygons_of(as_region(shapely.polygonize([lines])))
    parts = [part for part in found if shapely.contains(ring.wood, shapely.point_on_surface(part))]
    parts.sort(key=lambda part: round((_bearing(part, ring.panel) + 90.0) % 360.0, 3) % 360.0)
    return tuple(_pinned(part, ring, job.limits.neck) for part in parts)


def lay_strips(strips: Sequence[Strip], panel: Panel, apart_mm: float) -> tuple[Board, ...]:
    """Strips in rows on boards of the panel's size, lengthwise or across, whichever takes fewer boards; empty where
    one fits neither way.

    Rows are filled by first fit, the longest strips first (first-fit decreasing; Johnson and others, 1974,
    from memory), and pushed together until their wood is `apart_mm` from each other, so that arcs lie within arcs.
    """
    apart = max(apart_mm, 0.0) + 2 * CUT_APART_MM
    size = (panel.width_mm, panel.height_mm)
    along = _boards([_lying(strip) for strip in strips], size, apart)
    across = _boards([_lying(strip) for strip in strips], size[::-1], apart) if size[0] != size[1] else ()
    across = tuple(tuple(_quarter_turned(strip, size[0]) for strip in board) for board in across)
    return min((boards for boards in (along, across) if boards), key=len, default=())


def _cut_all(ring: SpacerRing, spacers: int, arcs: int, job: Job) -> list[Strip]:
    """The strips of all rings, numbered, each turned as it is to lie."""
    strips: list[Strip] = []
    laid = [cut_ring(ring, which, arcs, job) for which in (2, 1)]  # every other ring is cut alike
    for which in range(1, spacers + 1):
        for part in laid[which % 2]:
            x0, y0, x1, y1 = part.bounds
            # Arcs lie with their backs up.
            turn = -90.0 - _bearing(part, ring.panel) if arcs else 90.0 if y1 - y0 > x1 - x0 else 0.0
            strips.append(Strip(len(strips) + 1, which, part, part, round(turn, 6), (0.0, 0.0)))
    return strips


def _straight_joints(ring: Polygon, which: int, job: Job) -> list[LineString]:
    """Where four straight strips meet: across the ends of the upright ones and of the lying ones by turns, or in the
    corners on every other ring."""
    x0, y0, x1, y1 = ring.bounds
    inner = Polygon(ring.interiors[0]).bounds
    corners = [(x, y, inner[0 if x == x0 else 2], inner[1 if y == y0 else 3]) for x in (x0, x1) for y in (y0, y1)]
    if which % 2 and job.hanging.joints == "mitre":
        return [LineString([(x, y), (x_in, y_in)]) for x, y, x_in, y_in in corners]
    if which % 2:
        return [LineString([(x, y_in), (x_in, y_in)]) for x, y, x_in, y_in in corners]
    return [LineString([(x_in, y), (x_in, y_in)]) for x, y, x_in, y_in in corners]


def _joints_across(ring: SpacerRing, which: int, arcs: int) -> list[LineString]:
    """Lines across a ring that cut it into parts of equal length, by its middle."""
    middle = offset_mitre(ring.panel.outline, -ring.width_mm / 2)
    assert isinstance(middle, Polygon)
    line = middle.exterior
    top = line.project(shapely.Point(ring.panel.width_mm / 2, 0.0))
    shift = 0.5 if which % 2 else 0.0
    joints = []
    for number in range(arcs):
        at = (top + (number + shift) / arcs * line.length) % line.length
        before, after = (line.interpolate((at + step) % line.length) for step in (-GRID_MM, GRID_MM))
        along = np.array([after.x - before.x, after.y - before.y])
        across = np.array([-along[1], along[0]]) / np.hypot(*along) * ring.width_mm * 0.75
        here = np.array(line.interpolate(at).coords[0])
        joints.append(LineString([here - across, here + across]))
    return joints


def _pinned(part: Polygon, ring: SpacerRing, neck_mm: float) -> Polygon:
    """A part with the pin holes that lie well within it."""
    ends = shapely.difference(part.exterior, shapely.buffer(ring.wood.boundary, GRID_MM))
    holes = [
        pin.exterior
        for pin in ring.panel.pins
        if shapely.contains(part, pin) and (ends.is_empty or shapely.distance(pin, ends) >= neck_mm)
    ]
    return Polygon(part.exterior, holes)


def _bearing(part: Polygon, panel: Panel) -> float:
    """Where a part lies seen from the middle, degrees, 0 to the right, clockwise as the page's y goes down."""
    centre = shapely.centroid(part)
    return math.degrees(math.atan2(centre.y - panel.height_mm / 2, centre.x - panel.width_mm / 2))


def _lying(strip: Strip) -> Strip:
    """A strip turned to lie, its box at the origin."""
    turned = rotate(strip.placed, strip.turned_deg, origin=(0, 0))
    x0, y0, _, _ = turned.bounds
    return _moved(replace(strip, laid=turned), -x0, -y0)


def _moved(strip: Strip, x: float, y: float) -> Strip:
    """A strip moved on its board, by thousandths of a mm."""
    x, y = round(x, 3), round(y, 3)
    moved = (round(strip.moved_mm[0] + x, 3), round(strip.moved_mm[1] + y, 3))
    return replace(strip, laid=translate(strip.laid, x, y), moved_mm=moved)


def _quarter_turned(strip: Strip, width_mm: float) -> Strip:
    """A strip of a board that is turned a quarter, about the origin and back onto the page."""
    turned = rotate(strip.laid, 90, origin=(0, 0))
    x, y = strip.moved_mm
    strip = replace(strip, laid=turned, turned_deg=strip.turned_deg + 90, moved_mm=(-y, x))
    return _moved(strip, width_mm, 0.0)


def _boards(strips: Sequence[Strip], size: tuple[float, float], apart: float) -> tuple[Board, ...]:
    """Lying strips in rows from the top down, on as many boards as it takes; empty where one is too long or high."""
    wide, high = (side + 2 * GRID_MM for side in size)
    rows: list[list[Strip]] = []
    for strip in sorted(strips, key=lambda one: (-round(_wide(one), 3), one.number)):
        if _wide(strip) > wide or strip.laid.bounds[3] > high:
            return ()
        row = next((row for row in rows if _end(row) + apart + _wide(strip) <= wide), None)
        if row is None:
            rows.append([strip])
        else:
            row.append(_moved(strip, math.ceil(1000 * (_end(row) + apart)) / 1000, 0.0))
    boards: list[list[list[Strip]]] = []
    steps: Steps = {}
    for row in rows:
        for board in boards:
            down = _fit_below(board[-2:], row, high, apart, steps)
            if down is not None:
                board.append([_moved(strip, 0.0, down) for strip in row])
                break
        else:
            boards.append([row])
    return tuple(tuple(strip for row in board for strip in row) for board in boards)


def _fit_below(
    rows: Sequence[Sequence[Strip]], row: Sequence[Strip], high: float, apart: float, steps: Steps
) -> float | None:
    """How far down a row lies so that its wood is so far apart from the last two rows of a board; None where it
    leaves the board. Rows lie in each other like spoons: what keeps off the last two keeps off all before.

    `steps` are those from row to row that were found before, by the boxes of both: most rows are alike.
    """
    last, tall = rows[-1], max(strip.laid.bounds[3] for strip in row)
    top = min(float(strip.laid.bounds[1]) for strip in last)
    alike = (_box_of(last), _box_of(row))
    step = steps.get(alike)
    if top + (step or 0.0) + tall > high:
        return None
    above, below = _coarse([one for some in rows for one in some]), _coarse(row)
    apart += 2 * COARSE_MM
    if step is None or shapely.distance(above, translate(below, 0, top + step)) < apart:
        step = _least_step(above, below, top, apart)
        steps.setdefault(alike, step)
    down = math.ceil(1000 * (top + step)) / 1000
    return down if down + tall <= high else None


def _least_step(above: MultiPolygon, below: MultiPolygon, top: float, apart: float) -> float:
    """How far below `top` a row may begin that keeps so far apart from what lies above it."""
    low, enough = top, float(above.bounds[3]) + apart
    for _ in range(HALVINGS):
        middle = (low + enough) / 2
        if shapely.distance(above, translate(below, 0, middle)) >= apart:
            enough = middle
        else:
            low = middle
    return enough - top


def _box_of(row: Sequence[Strip]) -> tuple[float, float]:
    """Width and height of a row's strips, to a hundredth of a mm."""
    boxes = [strip.laid.bounds for strip in row]
    return round(max(box[2] for box in boxes), 2), round(max(box[3] - box[1] for box in boxes), 2)


def _coarse(strips: Sequence[Strip]) -> MultiPolygon:
    """Strips with few corners, no further from themselves than `COARSE_MM`, without holes."""
    return MultiPolygon([thinned_apart(Polygon(one.laid.exterior), COARSE_MM) for one in strips])


def _wide(strip: Strip) -> float:
    x0, _, x1, _ = strip.laid.bounds
    return float(x1 - x0)


def _end(row: Sequence[Strip]) -> float:
    return max(float(strip.laid.bounds[2]) for strip in row)
