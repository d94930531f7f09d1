"""What a viewer sees at a place of the picture: which paint, and along which lines the eye is led already.

Enters: the layers and what is painted on each sheet. Leaves: paints at points, and whether a line runs beside a
direction. Holds: only sheets behind a given one are asked about, since a tie lies over those.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import STRtree
from shapely.geometry.base import BaseGeometry

from layercut.colour import cielab
from layercut.colour.bare import PLYWOOD
from layercut.colour.cielab import lab_of
from layercut.geometry.regions import polygons_of
from layercut.model import Layer, Paint, PaintedRegion

Points = NDArray[np.float64]
"""Points on the panel, mm: (n, 2)."""

BARE = Paint(PLYWOOD)
"""Bare wood: where nothing is painted."""

STANDS_OUT = 25.0
"""A difference of so much (CIEDE2000) stands out wholly: about that of leaf green and sky."""

BESIDE_MM = 1.2
"""A line so near to a tie's middle hides it: the tie looks like a part of it, mm (own choice)."""

BESIDE_DEG = 25.0
"""A line that turns away from a tie by more than this doesn't lead the eye along it."""


@dataclass(frozen=True, slots=True)
class _Drawn:
    """Something drawn: polygons by paint, or edges, with the sheet of each."""

    shapes: NDArray[np.object_]
    sheet: NDArray[np.int64]
    paint: NDArray[np.int64]


class VisiblePaint:
    """The paint of the picture as drawn, asked about many points at once."""

    def __init__(self, layers: Sequence[Layer], painted: Sequence[Sequence[PaintedRegion]]) -> None:
        """Hold what is painted on each sheet, back to front; nothing is looked up before it is asked for."""
        self._layers = layers
        self._painted = painted
        self.paints: list[Paint] = [BARE]
        self._areas = self._find_areas()
        self._edges: dict[int, tuple[STRtree, Points]] = {}

    def _find_areas(self) -> _Drawn:
        shapes: list[BaseGeometry] = []
        sheets: list[int] = []
        owners: list[int] = []
        for sheet, parts in enumerate(self._painted):
            for part in parts:
                polygons = polygons_of(part.region)
                shapes += polygons
                sheets += [sheet] * len(polygons)
                owners += [len(self.paints)] * len(polygons)
                self.paints.append(part.paint)
        return _Drawn(np.array(shapes, dtype=object), np.array(sheets, dtype=int), np.array(owners, dtype=int))

    def at(self, points: Points, below: int) -> NDArray[np.int64]:
        """For each of n points which of the paints shows of the sheets behind the one at `below`: (n,)."""
        behind = self._areas.sheet < below
        return self._topmost(points, behind)

    def on(self, points: Points, sheet: int) -> NDArray[np.int64]:
        """For each of n points which of the paints a sheet has there, covered or not: (n,)."""
        return self._topmost(points, self._areas.sheet == sheet)

    def in_front(self, points: Points) -> NDArray[np.int64]:
        """For each of n points which of the paints shows there: (n,)."""
        return self._topmost(points, np.ones(len(self._areas.sheet), dtype=bool))

    def _topmost(self, points: Points, asked: NDArray[np.bool_]) -> NDArray[np.int64]:
        top = np.zeros(len(points), dtype=np.int64)
        if not len(points) or not asked.any():
            return top
        shapes, paints = self._areas.shapes[asked], self._areas.paint[asked]
        # The polygons ask, since only who asks is prepared; sheets are in order, so later ones lie in front.
        shape, point = STRtree(shapely.points(points)).query(shapes, predicate="intersects")
        order = np.argsort(shape, kind="stable")
        top[point[order]] = paints[shape[order]]
        return top

    def led_along(self, points: Points, directions: Points, below: int) -> NDArray[np.bool_]:
        """For each of n points whether an edge of a colour or a drawn line behind runs beside a tie that leads
        through it in some direction, unit vectors (n, 2): (n,)."""
        tree, ways = self._lines_below(below)
        point, edge = tree.query(shapely.points(points), predicate="dwithin", distance=BESIDE_MM)
        along = np.abs((ways[edge] * directions[point]).sum(axis=1)) >= math.cos(math.radians(BESIDE_DEG))
        led = np.zeros(len(points), dtype=bool)
        led[point[along]] = True
        return led

    def _lines_below(self, below: int) -> tuple[STRtree, Points]:
        """The edges of all that is drawn behind a sheet, and the unit vector along each."""
        if below not in self._edges:
            areas = self._areas.shapes[self._areas.sheet < below]
            lines = [
                shape.geometry
                for layer in self._layers[:below]
                for shape in layer.shapes
                if shape.role == "mark-line" and not shape.geometry.is_empty
            ]
            rings = [*shapely.get_rings(areas), *shapely.get_parts(np.array(lines, dtype=object))]
            ends, ring = shapely.get_coordinates(np.array(rings, dtype=object), return_index=True)
            same = ring[1:] == ring[:-1]
            pairs = np.stack([ends[:-1][same], ends[1:][same]], axis=1)
            ways = pairs[:, 1] - pairs[:, 0]
            length = np.hypot(*ways.T)
            pairs, ways = pairs[length > 0], ways[length > 0] / length[length > 0, None]
            self._edges[below] = (STRtree(shapely.linestrings(pairs)), ways)
        return self._edges[below]


def contrast(one: Paint, other: Paint) -> float:
    """How much a paint stands out from another, from 0 (the same) to 1 (by `STANDS_OUT` and more)."""
    return min(difference(one, other) / STANDS_OUT, 1.0)


def difference(one: Paint, other: Paint) -> float:
    """How two paints differ (CIEDE2000)."""
    return _difference(middle_of(one), middle_of(other))


def middle_of(paint: Paint) -> str:
    """A paint's colour; graded paint's is the mean one."""
    return paint.colour


@lru_cache(maxsize=4096)
def _difference(one: str, other: str) -> float:
    """CIEDE2000 of two colours."""
    if one == other:
        return 0.0
    labs = lab_of([one, other])
    return float(cielab.difference(labs[0], labs[1]))
