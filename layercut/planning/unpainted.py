"""Where a sheet shows and has no paint: ties too small for a paint of their own, and ground where nothing is drawn.

Enters: what is seen of a sheet, and the parts of it that are painted. Leaves: a region, however small its parts are.
"""

import math
from collections.abc import Sequence

import numpy as np
import shapely

from layercut.geometry.coverage import Window, region_edges
from layercut.geometry.precision import AREA_MM2
from layercut.geometry.regions import EMPTY, Region, as_region, union

SQUARE_LACKS_MM2 = AREA_MM2 / 4
"""A square of a millimetre that lacks less paint than this, mm2, lacks none: the least region, across a corner."""


def unpainted(visible: Region, painted: Sequence[Region]) -> Region:
    """What is seen of a sheet and has no paint, but for slivers between equal edges. Empty where all is painted."""
    if visible.area - sum(region.area for region in painted) < AREA_MM2:
        return EMPTY
    lacking = _lacking_squares(visible, painted)
    if lacking.is_empty:
        return EMPTY
    # Only around there: overlays of whole foliage take long.
    seen, *parts = shapely.intersection([visible, *painted], lacking)
    return as_region(shapely.difference(seen, union(parts)))


def _lacking_squares(visible: Region, painted: Sequence[Region]) -> Region:
    """The squares of a millimetre where paint is missing upon what is seen, and those around them."""
    left, top, right, bottom = map(math.floor, visible.bounds)
    window = Window(right - left + 1, bottom - top + 1, 1.0, left, top)
    edges = region_edges([visible, *painted], window)
    missing = edges.covered(np.array([1.0, *(-1.0 for _ in painted)]))
    rows, columns = np.nonzero(missing > SQUARE_LACKS_MM2)
    boxes = shapely.box(left + columns - 1.0, top + rows - 1.0, left + columns + 2.0, top + rows + 2.0)
    return union(boxes)
