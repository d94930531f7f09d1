"""Noding: from overlapping outlines to the cells that they bound.

Enters: lines that are all parts of closed outlines. Leaves: cells, polygons that don't overlap and share their
edges to the last digit.
"""

import numpy as np
import shapely
from numpy.typing import NDArray

from layercut.geometry.precision import AREA_MM2, GRID_MM
from layercut.geometry.threads import split_over

LAST_DIGITS_MM = 1e-6
"""Floating-point noding moves a node by far less than this, mm; what is wider is as drawn."""


def cells_on_grid(lines: NDArray[np.object_]) -> NDArray[np.object_]:
    """The cells between all lines, every vertex on the fixed grid (snap rounding; Hobby 1999)."""
    noded = shapely.union_all(lines, grid_size=GRID_MM)
    return np.asarray(shapely.get_parts(shapely.polygonize([noded])))


def cells_between(lines: NDArray[np.object_]) -> NDArray[np.object_]:
    """The cells between all lines, in floating point where that is sound, else on the grid, which is slower.

    Where edges nearly coincide, as those of clipped shapes do, floating-point noding may leave cells that hang
    together by a thread of a few last digits, though different shapes lie over their parts.
    """
    noded = shapely.union_all(lines)
    cells = np.asarray(shapely.get_parts(shapely.polygonize([noded])))
    clearance = split_over(shapely.minimum_clearance, cells)
    doubtful = cells[(shapely.area(cells) > AREA_MM2) & (clearance < LAST_DIGITS_MM)]
    parts, cell = shapely.get_parts(shapely.buffer(doubtful, -GRID_MM / 2, quad_segs=1), return_index=True)
    sizeable = np.bincount(cell[shapely.area(parts) > AREA_MM2], minlength=len(doubtful))
    return cells_on_grid(lines) if (sizeable > 1).any() else cells


def inner_points(cells: NDArray[np.object_]) -> NDArray[np.object_]:
    """A point well inside each cell: of a cell with a spur thinner than the grid, not one in the spur."""
    points = shapely.point_on_surface(cells)
    near_edge = shapely.distance(points, shapely.boundary(cells)) < GRID_MM
    thin = np.flatnonzero(near_edge & (shapely.area(cells) > AREA_MM2))
    for index in thin:
        points[index] = shapely.get_point(shapely.maximum_inscribed_circle(cells[index]), 0)
    return np.asarray(points)


def outlines(regions: NDArray[np.object_]) -> NDArray[np.object_]:
    """The boundaries of regions, empty ones left out."""
    boundaries = shapely.boundary(regions)
    return np.asarray(boundaries[~shapely.is_empty(boundaries)])
