"""QuadtreeRegion: a large region that is asked about many small places.

Enters: a region. Leaves: the part of it around a box, so that an overlay with something small costs as much as what
lies near it: the polygons and holes that reach the box where these are simple, else the part of it in a patch, cut
out of smaller and smaller ones that are kept. Holds: within the box the part is the region.
"""

from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from typing import TypeAlias

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon, STRtree
from shapely.geometry.base import BaseGeometry

from layercut.geometry.regions import EMPTY, Region, as_region, polygons_of

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
        # Quarters overlap, so a box may lie in several: always the same one is taken, and cut but once.
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


class _Holed:
    """A polygon that is known by its holes: one that doesn't reach a box may as well be filled there."""

    def __init__(self, polygon: Polygon) -> None:
        """Take a polygon apart."""
        rings = shapely.get_rings(polygon)
        self._outer, self._holes = rings[0], rings[1:]
        self._tree = STRtree(self._holes) if len(self._holes) else None
        self.vertices = int(shapely.get_num_coordinates(self._outer))

    def around(self, box: BaseGeometry) -> Polygon:
        """The polygon within a box, and more than that beyond it."""
        if self._tree is None:
            return Polygon(self._outer)
        return shapely.polygons(self._outer, self._holes[np.sort(self._tree.query(box))])


class QuadtreeRegion:
    """A region in patches. Only what is asked for is cut."""

    def __init__(self, region: Region) -> None:
        """Hold a valid region, which may be empty."""
        self._whole = _Patch(region, region.bounds)
        self._polygons = np.array(polygons_of(region), dtype=object)
        self._vertices = shapely.get_num_coordinates(self._polygons)
        self._tree = STRtree(self._polygons)
        self._holed: dict[int, _Holed] = {}

    def around(self, box: Box) -> Region:
        """The region, or what is the same within this box: as much of it as lies in some larger box, or its polygons
        that reach the box, without the holes that don't."""
        frame = shapely.box(*box)
        return self._near(self._tree.query(frame), box, frame)

    def around_each(self, geometries: Sequence[BaseGeometry] | NDArray[np.object_]) -> NDArray[np.object_]:
        """For each of n geometries the region, or what is the same within the box around it, (n,)."""
        boxes = shapely.bounds(geometries)
        frames = shapely.box(*boxes.T)
        asked, found = self._tree.query(frames)
        first = np.searchsorted(asked, np.arange(len(boxes) + 1))
        near = np.zeros(len(boxes), dtype=object)
        near[:] = [
            self._near(found[first[place] : first[place + 1]], tuple(box), frames[place])
            for place, box in enumerate(boxes.tolist())
        ]
        return near

    def _near(self, polygons: NDArray[np.int64], box: Box, frame: BaseGeometry) -> Region:
        """The region around a box that these polygons reach."""
        if not len(polygons):
            return EMPTY
        # Whole polygons cost no overlay; a cut is for those that have too many vertices to be looked at whole.
        near: list[Polygon] = []
        few = FEW_VERTICES
        for index in np.sort(polygons).tolist():
            part = self._simple(index, frame)
            if part is None:
                return self._cut(box)
            few -= int(shapely.get_num_coordinates(part))
            if few < 0:
                return self._cut(box)
            near.append(part)
        return near[0] if len(near) == 1 else shapely.multipolygons(near)

    def _simple(self, index: int, frame: BaseGeometry) -> Polygon | None:
        """A polygon around a box, where that takes no cut; None where it has too many vertices for that."""
        if self._vertices[index] <= FEW_VERTICES:
            return self._polygons[index]
        if index not in self._holed:
            self._holed[index] = _Holed(self._polygons[index])
        holed = self._holed[index]
        return holed.around(frame) if holed.vertices <= FEW_VERTICES else None

    def _cut(self, box: Box) -> Region:
        """As much of the region as lies in some larger box around this one."""
        patch = self._whole
        x0, y0, x1, y1 = patch.box
        box = (max(box[0], x0), max(box[1], y0), min(box[2], x1), min(box[3], y1))
        while shapely.get_num_coordinates(patch.region) > FEW_VERTICES:
            quarter = patch.quarter(box)
            if quarter is None:
                break
            patch = quarter
        return patch.region

    def shared_with(self, geometry: BaseGeometry) -> BaseGeometry:
        """What a geometry shares with the region."""
        return shapely.intersection(geometry, self.around(geometry.bounds))

    def shared_with_each(self, geometries: Sequence[BaseGeometry] | NDArray[np.object_]) -> NDArray[np.object_]:
        """For each of n geometries what it shares with the region, (n,)."""
        if not len(geometries):
            return np.zeros(0, dtype=object)
        return np.asarray(shapely.intersection(geometries, self.around_each(geometries)), dtype=object)
