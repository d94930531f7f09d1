"""Where the numbers of a paint map stand: in their parts, or beside them with a line to them.

Enters: a sheet's part of the paint plan, the map's size, how high figures are. Leaves: labels, each a box with a
number, and the end of its line. Holds: a label's box lies within its part, or touches no part that is as small as the
box; no two boxes overlap, and no line runs through another's box. The same sheet gives the same labels.
"""

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from layercut.geometry.curves import BoolArray, FloatArray
from layercut.geometry.regions import polygons_of, prepared
from layercut.geometry.thinning import thinned
from layercut.views.pages.map_ground import Box, Ground
from layercut.workplan import Place, SheetPaint

MOST_NUMBERS = 400
"""Numbers on one map, at most, for the largest parts; and one for every colour in any case."""

LEAST_PART_MM = 1.3
"""A part of less than this squared has no number of its own, mm, unless no other part has its colour."""

ROOM_MM = 0.2
"""How exactly the widest place of a part is found, mm."""

DIGIT_WIDE, PADDING, BOX_HIGH = 0.93, 0.45, 1.45
"""The box of a number in heights of its figures: each figure, what is added, how high it is."""

AWAY = (0.7, 1.3, 2.1, 3.2, 4.6, 6.5)
"""How far a label stands from its part, in heights of its figures, the nearest tried first."""

FAR = (12.0, 24.0, 48.0)
"""Rings around a part in which room is looked for where there is none near it, in heights of its figures."""

TURNS = 16
"""In so many directions."""

SHARED = 9.0
"""Two parts of one colour that are no further apart than this, in heights of the figures, can do with one number
where there is no room for both."""

SHORT = 3.5
"""How far the number of a part stands beyond it at most where a neighbour of its colour has one, in heights of the
figures: many long lines are harder to read than none."""

TRIES = 60
"""So many places are looked at for a label, those that cost least."""

CLUTTER, PAINTED = 5.0, 1.5
"""What it costs, in heights of the figures, to stand on lines all over, and on paint instead of white."""


@dataclass(frozen=True, slots=True)
class Label:
    """A number at its middle `at`, mm, its figures `height_mm` high. `to` is where its line ends in the part that it
    means, None where it stands in the part itself."""

    number: int
    at: Place
    height_mm: float
    to: Place | None = None

    @property
    def box(self) -> Box:
        """The box around it, mm."""
        x, y = self.at
        wide, high = label_size(self.number, self.height_mm)
        return (x - wide / 2, y - high / 2, x + wide / 2, y + high / 2)

    @property
    def line(self) -> tuple[Place, Place] | None:
        """From the box to the part, where it stands beside it."""
        if self.to is None:
            return None
        left, top, right, bottom = self.box
        x, y = self.to
        return (min(max(x, left), right), min(max(y, top), bottom)), self.to


def label_size(number: int, height_mm: float) -> tuple[float, float]:
    """Width and height of a number's box, mm."""
    return height_mm * (DIGIT_WIDE * len(str(number)) + PADDING), height_mm * BOX_HIGH


def smallest_hidden_mm2(sheet: SheetPaint, height_mm: float) -> float:
    """The area of the largest label of a sheet with figures of a height, mm2: no smaller part may be hidden."""
    wide, high = label_size(max((part.number for part in sheet.parts), default=1), height_mm)
    return wide * high


@dataclass(frozen=True, slots=True)
class _Spot:
    """A part that wants a number: its widest place, how wide it is there, and whether no other has its colour."""

    number: int
    polygon: Polygon
    at: Place
    room_mm: float
    only: bool


@lru_cache(maxsize=64)
def _spots(sheet: SheetPaint) -> tuple[_Spot, ...]:
    """The largest parts, and the largest of every colour; those first, then by size. Kept, since the page and the
    map of a sheet both need them."""
    parts = [(part.number, polygon) for part in sheet.parts for polygon in polygons_of(part.visible)]
    if not parts:
        return ()
    polygons = np.array([polygon for _, polygon in parts], dtype=object)
    areas = shapely.area(polygons)
    order = np.argsort(-areas, kind="stable").tolist()
    first: dict[int, int] = {}
    for k in order:
        first.setdefault(parts[k][0], k)
    large = [k for k in order[:MOST_NUMBERS] if areas[k] >= LEAST_PART_MM**2]
    chosen = list(dict.fromkeys((*first.values(), *large)))
    radii = _largest_circles(polygons[chosen])
    middles = shapely.get_coordinates(shapely.get_point(radii, 0)).tolist()
    return tuple(
        _Spot(parts[k][0], parts[k][1], (x, y), room, first[parts[k][0]] == k)
        for k, (x, y), room in zip(chosen, middles, shapely.length(radii).tolist(), strict=True)
        if room >= LEAST_PART_MM * 0.3 or first[parts[k][0]] == k
    )


def _largest_circles(polygons: NDArray[np.object_]) -> NDArray[np.object_]:
    """The radius of the largest circle in each polygon, as a line from its middle."""
    simple = thinned(polygons, ROOM_MM)
    # Simplifying may leave nothing of a small one, or let it cross itself.
    kept = shapely.is_valid(simple) & (shapely.get_type_id(simple) == shapely.GeometryType.POLYGON)
    kept &= ~shapely.is_empty(simple)
    shapes = np.where(kept, simple, polygons)
    return np.asarray(shapely.maximum_inscribed_circle(shapes, tolerance=ROOM_MM), dtype=object)


def place_labels(
    sheet: SheetPaint, ground: Ground, heights_mm: tuple[float, float], taken: Sequence[Box] = ()
) -> tuple[Label, ...]:
    """The numbers of a sheet's parts on its ground, their figures from the second to the first height.

    `taken` are boxes that stand there already. A part that has no room is numbered by a neighbour of its colour;
    where the map is so full that a colour has no place at all, it has no number.
    """
    spots = _spots(sheet)
    inside = _inside(spots, heights_mm)
    placed = [label for label in inside if label]
    standing = [*taken, *(label.box for label in placed)]
    board = _Board(ground, heights_mm[1], np.array(standing, dtype=float).reshape(-1, 4))
    told: dict[int, list[Place]] = {}
    for label in placed:
        told.setdefault(label.number, []).append(label.at)
    waiting = [spot for spot, label in zip(spots, inside, strict=True) if label is None]
    for spot, middles in zip(waiting, board.near(waiting), strict=True):
        alone = not any(math.dist(at, spot.at) < SHARED * heights_mm[1] for at in told.get(spot.number, ()))
        short = heights_mm[1] * SHORT + spot.room_mm
        near = middles if alone else middles[np.hypot(*(middles - spot.at).T) <= short]
        beside = board.best(spot, near) or (board.further(spot) if alone else None)
        if beside:
            placed.append(beside)
            told.setdefault(spot.number, []).append(spot.at)
    return tuple(placed)


def _inside(spots: Sequence[_Spot], heights_mm: tuple[float, float]) -> list[Label | None]:
    """The number in each part, as high as there is room for; None where there is too little."""
    most, least = heights_mm
    found: list[Label | None] = [None] * len(spots)
    wanting = [k for k, spot in enumerate(spots) if spot.room_mm >= least * BOX_HIGH / 2 - 2 * ROOM_MM]
    shapes = prepared(np.array([spot.polygon for spot in spots], dtype=object))
    # The widest place may lie at one end of a strip: so a number is tried beside its middle too.
    for height in (most, (most + least) / 2, least):
        for across, down in ((0, 0), (1, 0), (-1, 0), (0, 1), (0, -1)):
            labels = [_shifted(spots[k], height, across / 3, down / 3) for k in wanting]
            boxes = shapely.box(*np.array([label.box for label in labels]).reshape(-1, 4).T)
            fits = shapely.contains_properly(shapes[wanting], boxes)
            for k, label in itertools.compress(zip(wanting, labels, strict=True), fits):
                found[k] = label
            wanting = [k for k in wanting if found[k] is None]
    return found


def _shifted(spot: _Spot, height_mm: float, across: float, down: float) -> Label:
    """A number shifted from the widest place of its part, in widths and heights of its box."""
    wide, high = label_size(spot.number, height_mm)
    return Label(spot.number, (spot.at[0] + across * wide, spot.at[1] + down * high), height_mm)


@dataclass(slots=True)
class _Board:
    """A map while its labels are placed: its ground, the height of figures, and the boxes, (n, 4), and lines,
    (n, 2, 2), that stand there."""

    ground: Ground
    height_mm: float
    boxes: FloatArray
    lines: FloatArray = field(default_factory=lambda: np.zeros((0, 2, 2)))

    def near(self, spots: Sequence[_Spot]) -> list[FloatArray]:
        """The places around each part, (n, 2), that hide nothing, the best first."""
        if not spots:
            return []
        angles = 2 * math.pi * np.arange(TURNS) / TURNS
        ways = np.stack((np.cos(angles), np.sin(angles)), axis=1)
        halves = np.array([self._half(spot) for spot in spots])
        beyond = (halves[:, None, :] / np.maximum(np.abs(ways), 1e-9)).min(axis=2)
        gaps = np.array([spot.room_mm for spot in spots])[:, None] + self.height_mm * np.array(AWAY)
        reach = gaps[:, :, None] + beyond[:, None, :]
        middles = np.array([spot.at for spot in spots])[:, None, None] + reach[..., None] * ways
        around = list(middles.reshape(len(spots), -1, 2))
        return self._offered(spots, around)

    def further(self, spot: _Spot) -> Label | None:
        """A label further away, the nearer the better; for the only part of its colour anywhere on the map. None
        where there is no room."""
        step = 1.2 * self.height_mm
        xs = np.arange(step, self.ground.width_mm, step)
        ys = np.arange(step, self.ground.height_mm, step)
        middles = np.stack(np.meshgrid(xs, ys), axis=-1).reshape(-1, 2)
        away = np.hypot(*(middles - spot.at).T) / self.height_mm
        bounds = (0.0, *FAR, math.inf) if spot.only else (0.0, FAR[0])
        rings = (middles[(away >= low) & (away < high)] for low, high in itertools.pairwise(bounds))
        return next(filter(None, (self.best(spot, *self._offered([spot], [ring])) for ring in rings)), None)

    def _offered(self, spots: Sequence[_Spot], middles: Sequence[FloatArray]) -> list[FloatArray]:
        """Of some places for each spot those that hide nothing, by what they cost: all are asked at once."""
        owner = np.repeat(np.arange(len(spots)), [len(one) for one in middles])
        places, half = np.concatenate(middles), np.array([self._half(spot) for spot in spots])[owner]
        boxes = np.concatenate((places - half, places + half), axis=1)
        free = ~self.ground.hides(boxes)
        owner, places, boxes = owner[free], places[free], boxes[free]
        away = np.hypot(*(places - np.array([spot.at for spot in spots])[owner]).T) / self.height_mm
        cost = away + CLUTTER * self.ground.clutter(boxes) + PAINTED * self.ground.painted(places)
        order = np.lexsort((cost, owner))
        edges = np.searchsorted(owner[order], np.arange(len(spots) + 1))
        return [places[order[a:b]] for a, b in itertools.pairwise(edges.tolist())]

    def _half(self, spot: _Spot) -> FloatArray:
        return np.array(label_size(spot.number, self.height_mm)) / 2

    def best(self, spot: _Spot, middles: FloatArray) -> Label | None:
        """A label at the first of some places, (n, 2), that no other stands on."""
        if not len(middles):
            return None
        # All that any of these labels and their lines can meet.
        half = self._half(spot)
        corners = np.concatenate((middles - 1.3 * half, middles + 1.3 * half, [spot.at, spot.at]))
        low, high = corners.min(axis=0), corners.max(axis=0)
        boxes = self.boxes[((self.boxes[:, :2] < high) & (self.boxes[:, 2:] > low)).all(axis=1)]
        lines = self.lines[((self.lines.min(axis=1) < high) & (self.lines.max(axis=1) > low)).all(axis=1)]
        for x, y in middles[_clear(middles, half + 0.15 * self.height_mm, boxes)][:TRIES].tolist():
            label = Label(spot.number, (x, y), self.height_mm, spot.at)
            if self._is_free(label, boxes, lines):
                self.boxes = np.concatenate((self.boxes, [label.box]))
                self.lines = np.concatenate((self.lines, np.array([label.line], dtype=float)))
                return label
        return None

    def _is_free(self, label: Label, boxes: FloatArray, lines: FloatArray) -> bool:
        """Whether its line meets no other's box or line, and its box no line."""
        line = np.array(label.line)
        if _cross_boxes(line[None], boxes).any() or _cross_boxes(lines, np.array([label.box])).any():
            return False
        return not _cross_lines(lines, line).any()


def _clear(middles: FloatArray, half: FloatArray, boxes: FloatArray) -> BoolArray:
    """Which boxes around middles, (n, 2), overlap none of some boxes, (m, 4): (n,)."""
    low, high = (middles - half)[:, None], (middles + half)[:, None]
    meet = np.asarray((boxes[None, :, :2] < high) & (boxes[None, :, 2:] > low))
    return np.asarray(~np.any(np.all(meet, axis=2), axis=1))


def _cross_boxes(lines: FloatArray, boxes: FloatArray) -> BoolArray:
    """Whether lines, (n, 2, 2), meet boxes, (n, 4); one of either may stand for all (Liang and Barsky 1984)."""
    start, way = lines[:, 0], lines[:, 1] - lines[:, 0]
    way = np.where(np.abs(way) < 1e-12, 1e-12, way)
    one, other = (boxes[:, :2] - start) / way, (boxes[:, 2:] - start) / way
    first = np.minimum(one, other).max(axis=1)
    last = np.maximum(one, other).min(axis=1)
    return np.asarray((first <= last) & (first <= 1) & (last >= 0))


def _cross_lines(lines: FloatArray, line: FloatArray) -> BoolArray:
    """Whether lines, (n, 2, 2), cross one, (2, 2)."""

    def sides(ends: FloatArray, other: FloatArray) -> FloatArray:
        way, to = ends[..., 1, :] - ends[..., 0, :], other - ends[..., :1, :]
        return np.asarray(way[..., :1] * to[..., 1] - way[..., 1:] * to[..., 0])

    apart = sides(line[None], lines)
    across = sides(lines, line[None])
    return np.asarray((apart[:, 0] * apart[:, 1] < 0) & (across[:, 0] * across[:, 1] < 0))


def lines_of(labels: Sequence[Label]) -> Iterator[tuple[Place, Place]]:
    """The lines of those labels that stand beside their parts."""
    yield from (label.line for label in labels if label.line)
