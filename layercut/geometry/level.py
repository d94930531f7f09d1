"""Where a field of values is at least so high, for fields that no formula gives the line of.

Enters: a function of places. Leaves: a region, whose edge is straight between the points at which it was asked.
"""

from collections.abc import Callable

import numpy as np
import shapely
from numpy.typing import NDArray

from layercut.geometry.regions import Region, as_region

FloatArray = NDArray[np.float64]

STEPS = 240
"""Steps along the longer side of the box in which a field is asked: on a shape of 100 mm every 0.4 mm."""

_TRIANGLES = (((0, 0), (1, 0), (1, 1)), ((0, 0), (1, 1), (0, 1)))
"""The two triangles of a square, as steps down and right of its first corner; all share their diagonals."""


def level_region(
    field: Callable[[FloatArray], FloatArray], box: tuple[float, float, float, float], level: float
) -> Region:
    """The part of a box (left, top, right, bottom) in which a field of points (n, 2) is at least `level`.

    Exact but for the steps: the field counts as even on each of the small triangles.
    """
    x0, y0, x1, y1 = box
    step = max(x1 - x0, y1 - y0) / STEPS
    if step <= 0:
        return as_region(shapely.Polygon())
    xs = np.linspace(x0, x1, max(int(np.ceil((x1 - x0) / step)), 1) + 1)
    ys = np.linspace(y0, y1, max(int(np.ceil((y1 - y0) / step)), 1) + 1)
    points = np.stack(np.meshgrid(xs, ys), axis=-1)
    height = field(points.reshape(-1, 2)).reshape(points.shape[:2]) - level
    inside = height >= 0
    whole = inside[:-1, :-1] & inside[1:, :-1] & inside[:-1, 1:] & inside[1:, 1:]
    parts = [
        *_rows(whole, xs, ys),
        *(part for corners in _TRIANGLES for part in _cut(corners, points, height, whole)),
    ]
    return as_region(shapely.union_all(np.array(parts, dtype=object)))


def _rows(whole: NDArray[np.bool_], xs: FloatArray, ys: FloatArray) -> list[shapely.Polygon]:
    """The squares that are inside as a whole, each run of a row as one box."""
    padded = np.pad(whole, ((0, 0), (1, 1))).astype(np.int8)
    row, begin = np.nonzero(np.diff(padded, axis=1) == 1)
    _, end = np.nonzero(np.diff(padded, axis=1) == -1)
    return list(shapely.box(xs[begin], ys[row], xs[end], ys[row + 1]))


def _cut(
    corners: tuple[tuple[int, int], ...], points: FloatArray, height: FloatArray, whole: NDArray[np.bool_]
) -> list[shapely.Polygon]:
    """What of one triangle of each square is inside, of squares that aren't so as a whole."""
    rows, columns = np.nonzero(~whole)
    at = np.stack([points[rows + down, columns + right] for down, right in corners], axis=1)
    high = np.stack([height[rows + down, columns + right] for down, right in corners], axis=1)
    found = []
    for triangle, values in zip(at[(high >= 0).any(axis=1)], high[(high >= 0).any(axis=1)], strict=True):
        ring = []
        for one, other in ((0, 1), (1, 2), (2, 0)):
            if values[one] >= 0:
                ring.append(triangle[one])
            if (values[one] >= 0) != (values[other] >= 0):
                # From the lower end to the higher one, so that both triangles beside an edge meet to the last digit.
                low, top = (one, other) if values[one] < values[other] else (other, one)
                share = -values[low] / (values[top] - values[low])
                ring.append(triangle[low] + share * (triangle[top] - triangle[low]))
        part = shapely.Polygon(ring)
        if part.area > 0 and part.is_valid:
            found.append(part)
    return found
