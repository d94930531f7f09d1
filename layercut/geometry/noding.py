"""Noding: from overlapping outlines to the cells that they bound.

Enters: lines that are all parts of closed outlines. Leaves: cells, polygons that don't overlap and share their
edges to the last digit.
"""

import numpy as np
import shapely
from numpy.typing import NDArray

from layercut.geometry.precision import GRID_MM, THREAD_MM


def cells_on_grid(lines: NDArray[np.object_]) -> NDArray[np.object_]:
    """The cells between all lines, every vertex on the fixed grid (snap rounding; Hobby 1999)."""
    noded = shapely.union_all(lines, grid_size=GRID_MM)
    return np.asarray(shapely.get_parts(shapely.polygonize([noded])))


def cells_between(lines: NDArray[np.object_]) -> NDArray[np.object_]:
    """The cells between all lines, in floating point where that is sound, else on the grid, which is slower.

    Where edges nearly coincide, as those of clipped shapes do, floating-point noding leaves cells that hang together
    by a thread too thin to mean anything. The least clearance of the cells gives that away.
    """
    noded = shapely.union_all(lines)
    cells = np.asarray(shapely.get_parts(shapely.polygonize([noded])))
    if len(cells) and float(shapely.minimum_clearance(cells).min()) < THREAD_MM:
        return cells_on_grid(lines)
    return cells


def outlines(regions: NDArray[np.object_]) -> NDArray[np.object_]:
    """The boundaries of regions, empty ones left out."""
    boundaries = shapely.boundary(regions)
    return np.asarray(boundaries[~shapely.is_empty(boundaries)])
