"""QuadtreeRegion: a large region that is asked about many small places.

Enters: a region. Leaves: the part of it around a box, cut out of smaller and smaller patches that are kept, so that
an overlay with something small costs as much as what lies near it. Holds: within the box the part is the region.
"""

from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from typing import TypeAlias

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from layercut.geometry.regions import EMPTY, Region, as_region

Box: TypeAlias = tuple[float, float, float, float]

FEW_VERTICES = 400
"""A patch of fewer vertices isn't worth cutting up."""

CHILD_SHARE = 0.6
"""Width and height of a patch, of those of the patch that it is cut from: the four overlap, so that whatever is
small lies in one of them."""


@dataclass(slots=True)
class _Patch:
    """A region inside a box, and its four quarters once one of them was asked for."""

    region: Region
    box: Box
    quarters: dict[Box, "_Patch"] = field(default_factory=dict)

    def quarter(self, box: Box) -> "_Patch | None":
        """The quarter that holds a box, if one does."""
        x0, y0, x1, y1 = self.box
        width, height = CHILD_SHARE * (x1 - x0), CHILD_SHARE * (y1 - y0)
        left, low = box[2] <= x0 + width, box[3] <= y0 + height
        a, b = (x0 if left else x1 - width), (y0 if low else y1 - height)
        if box[0] < a or box[1] < b:
            return None
        chosen = (a, b, a + width, b + height)
        if chosen not in self.quarters:
            self.quarters[chosen] = _Patch(_clipped(self.region, chosen), chosen)
        return self.quarters[chosen]


def _clipped(region: Region, box: Box) -> Region:
    """What of a region lies in a box. Clipping is quicker than an overlay, but may fail on slivers, or leave crossing
    rings."""
    with suppress(shapely.GEOSException):
        cut = as_region(shapely.clip_by_rect(region, *box))
        if cut.is_valid:
            return cut
    return as_region(shapely.intersection(region, shapely.box(*box)))


class QuadtreeRegion:
    """A region in patches. Only what is asked for is cut."""

    def __init__(self, region: Region) -> None:
        """Hold a valid region, which may be empty."""
        self._whole = _Patch(region, region.bounds)

    def around(self, box: Box) -> Region:
        """The region, or as much of it as lies in some larger box around this one."""
        patch = self._whole
        if patch.region.is_empty:
            return EMPTY
        x0, y0, x1, y1 = patch.box
        box = (max(box[0], x0), max(box[1], y0), min(box[2], x1), min(box[3], y1))
        if box[0] > box[2] or box[1] > box[3]:
            return EMPTY
        while shapely.get_num_coordinates(patch.region) > FEW_VERTICES:
            quarter = patch.quarter(box)
            if quarter is None:
                break
            patch = quarter
        return patch.region

    def shared_with(self, geometry: BaseGeometry) -> BaseGeometry:
        """What a geometry shares with the region."""
        return shapely.intersection(geometry, self.around(geometry.bounds))

    def shared_with_each(self, geometries: Sequence[BaseGeometry]) -> NDArray[np.object_]:
        """For each of n geometries what it shares with the region, (n,)."""
        if not len(geometries):
            return np.zeros(0, dtype=object)
        near = [self.around(box) for box in map(tuple, shapely.bounds(geometries).tolist())]
        return np.asarray(shapely.intersection(geometries, near), dtype=object)
