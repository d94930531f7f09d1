"""What lies on a paint map that no figure may hide, as a grid of squares that many boxes are asked of at once.

Enters: the seen parts of a sheet as polygons, and lines drawn on the map. Leaves: for boxes `(left, top, right,
bottom)` in mm whether they hide something, and how much is drawn beneath them. Holds: a box that `hides` calls free
touches none of the small parts; boxes beyond the map are never free.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from layercut.geometry.curves import BoolArray, FloatArray
from layercut.geometry.regions import as_region, prepared
from layercut.geometry.thinning import thinned

CELL_MM, MOST_CELLS = 0.5, 480
"""Side of a square, mm, and the most of them along the longer side of a map."""

Box = tuple[float, float, float, float]
"""Left, top, right, bottom, mm."""


@dataclass(frozen=True, slots=True)
class Ground:
    """A map's ground. `small` and `drawn` are sums over all squares above and to the left; `seen` is about
    what all parts cover."""

    width_mm: float
    height_mm: float
    cell_mm: float
    small: NDArray[np.int32]
    drawn: NDArray[np.int32]
    seen: BaseGeometry

    def hides(self, boxes: FloatArray) -> BoolArray:
        """Which boxes, (n, 4), touch a small part or reach beyond the map: (n,)."""
        left, top, right, bottom = boxes.T
        beyond = (left < 0) | (top < 0) | (right > self.width_mm) | (bottom > self.height_mm)
        return np.asarray(beyond | (self._sum(self.small, boxes) > 0))

    def clutter(self, boxes: FloatArray) -> FloatArray:
        """Which share of each box, (n, 4), has lines beneath it, 0 to 1: (n,)."""
        left, top, right, bottom = boxes.T
        cells = np.maximum((right - left) * (bottom - top) / self.cell_mm**2, 1.0)
        return np.asarray(np.minimum(self._sum(self.drawn, boxes) / cells, 1.0))

    def painted(self, places: FloatArray) -> BoolArray:
        """Which places, (n, 2), lie on what is seen: (n,)."""
        return np.asarray(shapely.contains_xy(self.seen, places))

    def _sum(self, sums: NDArray[np.int32], boxes: FloatArray) -> NDArray[np.int32]:
        rows, columns = sums.shape
        cells = np.floor(boxes / self.cell_mm).astype(np.int64)
        left, right = np.clip(cells[:, 0], 0, columns - 1), np.clip(cells[:, 2] + 1, 0, columns - 1)
        top, bottom = np.clip(cells[:, 1], 0, rows - 1), np.clip(cells[:, 3] + 1, 0, rows - 1)
        return np.asarray(sums[bottom, right] - sums[top, right] - sums[bottom, left] + sums[top, left])


def ground_of(
    parts: Sequence[Polygon], size_mm: tuple[float, float], small_mm2: float, lines: Sequence[BaseGeometry] = ()
) -> Ground:
    """The ground of a map of a size with its seen parts, of which those of at most `small_mm2` may not be hidden."""
    width, height = size_mm
    cell = max(CELL_MM, max(size_mm) / MOST_CELLS)
    shape = (math.ceil(height / cell) + 1, math.ceil(width / cell) + 1)
    polygons = np.array(parts, dtype=object)
    small = shapely.bounds(polygons[shapely.area(polygons) <= small_mm2]).reshape(-1, 4)
    coarse = thinned(polygons, cell)
    drawn = shapely.segmentize(np.concatenate([shapely.boundary(coarse), np.array(lines, dtype=object)]), cell)
    # Some may come to cross themselves: what lies inside follows from the even-odd rule, near enough for a price.
    seen = prepared(as_region(shapely.geometrycollections(coarse)))
    return Ground(width, height, cell, _boxes(small, cell, shape), _points(drawn, cell, shape), seen)


def _boxes(boxes: FloatArray, cell: float, shape: tuple[int, int]) -> NDArray[np.int32]:
    """Sums over the squares that boxes touch."""
    rows, columns = shape
    cells = np.floor(boxes / cell).astype(np.int64)
    left, right = np.clip(cells[:, 0], 0, columns), np.clip(cells[:, 2] + 1, 0, columns)
    top, bottom = np.clip(cells[:, 1], 0, rows), np.clip(cells[:, 3] + 1, 0, rows)
    steps = np.zeros((rows + 1, columns + 1), dtype=np.int32)
    for down, across, sign in ((top, left, 1), (top, right, -1), (bottom, left, -1), (bottom, right, 1)):
        np.add.at(steps, (down, across), sign)
    touched = steps.cumsum(axis=0, dtype=np.int32).cumsum(axis=1, dtype=np.int32)[:-1, :-1]
    return _sums((touched > 0).astype(np.int32))


def _points(lines: NDArray[np.object_], cell: float, shape: tuple[int, int]) -> NDArray[np.int32]:
    """Sums over the squares in which lines have a point."""
    cells = np.floor(shapely.get_coordinates(lines) / cell).astype(np.int64)
    marked = np.zeros(shape, dtype=np.int32)
    inside = ((cells >= 0) & (cells < (shape[1], shape[0]))).all(axis=1)
    marked[cells[inside, 1], cells[inside, 0]] = 1
    return _sums(marked)


def _sums(cells: NDArray[np.int32]) -> NDArray[np.int32]:
    """Sums over all squares above and to the left of each corner."""
    rows, columns = cells.shape
    sums = np.zeros((rows + 1, columns + 1), dtype=np.int32)
    sums[1:, 1:] = cells.cumsum(axis=0, dtype=np.int32).cumsum(axis=1, dtype=np.int32)
    return sums
