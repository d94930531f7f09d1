"""Noding: from overlapping outlines to the cells that they bound.

Enters: regions, or lines that are all parts of closed outlines. Leaves: cells, polygons that don't overlap and share
their edges to the last digit.
"""

from contextlib import suppress

import numpy as np
import shapely
from numpy.typing import NDArray

from layercut.geometry.precision import AREA_MM2, GRID_MM
from layercut.geometry.regions import Region, as_region, prepared

_RUN = 4
"""Edges of an outline that are hidden together or not at all: longer runs are seldom hidden, shorter ones cost more
to look at than to node."""


def cells_on_grid(lines: NDArray[np.object_]) -> NDArray[np.object_]:
    """The cells between all lines, every vertex on the fixed grid (snap rounding; Hobby 1999)."""
    noded = shapely.union_all(lines, grid_size=GRID_MM)
    return np.asarray(shapely.get_parts(shapely.polygonize([noded])))


def cells_between(lines: NDArray[np.object_]) -> NDArray[np.object_]:
    """The cells between all lines, in floating point where that is sound, else on the grid, which is slower.

    Edges that nearly coincide, as those of clipped shapes may, can be past floating point: each new node moves an
    edge by its last digit, over another edge. GEOS nodes again until no edges cross, and says where that has no end.
    """
    try:
        noded = shapely.node(shapely.multilinestrings(lines))
    except shapely.errors.GEOSException:
        return cells_on_grid(lines)
    return np.asarray(shapely.get_parts(shapely.polygonize([noded])))


def on_grid(regions: NDArray[np.object_]) -> NDArray[np.object_]:
    """The regions with their vertices on the grid, so that edges drawn to meet do meet, to the last digit."""
    rounded = shapely.set_precision(regions, GRID_MM, mode="pointwise")
    broken = ~shapely.is_valid(rounded)
    rounded[broken] = shapely.set_precision(regions[broken], GRID_MM)
    return np.asarray(rounded)


def put_together(regions: NDArray[np.object_]) -> Region:
    """The union of regions that share their edges to the last digit. Empty for none."""
    with suppress(shapely.errors.GEOSException):  # told of overlaps, which may be of the last digits only
        return as_region(shapely.coverage_union_all(regions))
    return as_region(shapely.union_all(regions))


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


def open_outlines(regions: NDArray[np.object_], covering: NDArray[np.bool_] | None = None) -> NDArray[np.object_]:
    """The boundaries of regions that lie over each other in this order, without nearly all that later ones cover.

    `covering` (n,) says which of them cover what lies under them; all do unless it is given.

    What shows is all there; of what is covered a little is left, which ends loose or makes cells that all lie under
    the same last region. In foliage it is most of the noding that this saves.
    """
    rings, region = shapely.get_parts(shapely.boundary(regions), return_index=True)
    points, ring = shapely.get_coordinates(rings, return_index=True)
    inside = ring[1:] == ring[:-1]
    edges = np.flatnonzero(inside)  # edge k goes from point k to point k + 1
    first = np.flatnonzero(np.append(True, ~inside))
    begins = (edges - first[ring[edges]]) % _RUN == 0
    runs = _lines_along(points, edges, begins)
    covered = _are_covered(runs, region[ring[edges[begins]]], regions, covering)
    open_edges = edges[~covered[np.cumsum(begins) - 1]]
    return _lines_along(points, open_edges, np.append(True, np.diff(open_edges) > 1)[: len(open_edges)])


def _lines_along(
    points: NDArray[np.float64], edges: NDArray[np.int64], begins: NDArray[np.bool_]
) -> NDArray[np.object_]:
    """Lines along successive edges, a new one wherever one `begins`."""
    first = np.flatnonzero(begins)
    counts = np.diff(np.append(first, len(edges))) + 1
    line = np.repeat(np.arange(len(first)), counts)
    along = np.arange(len(line)) - np.repeat(np.cumsum(counts) - counts, counts)
    return np.asarray(shapely.linestrings(points[edges[first][line] + along], indices=line))


def _are_covered(
    runs: NDArray[np.object_],
    region: NDArray[np.int64],
    regions: NDArray[np.object_],
    covering: NDArray[np.bool_] | None,
) -> NDArray[np.bool_]:
    """Which runs of the boundaries of `region` lie inside a later region that covers, clear of its boundary: (n,)."""
    run, over = shapely.STRtree(regions).query(runs)
    later = over > region[run]
    if covering is not None:
        later &= covering[over]
    run, over = run[later], over[later]
    inner, outer = shapely.bounds(runs), shapely.bounds(regions)
    for low, high in ((0, 2), (1, 3)):  # boxes settle most pairs
        held = (inner[run, low] > outer[over, low]) & (inner[run, high] < outer[over, high])
        run, over = run[held], over[held]
    # What was prepared goes when this ends: the indexes are larger than the regions are.
    asked = prepared(regions)
    covered = np.zeros(len(runs), dtype=np.bool_)
    covered[run[shapely.contains_properly(asked[over], runs[run])]] = True
    return covered
