"""The one cell map of the stack: every face, the panel and the frame, noded once.

Enters: the faces from back to front and the panel. Leaves: a `CellMap`. Holds: cells don't overlap, they tile the
panel, and neighbours share their edges to the last digit, so every set of cells is an exact region.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from numpy.typing import NDArray

from layercut.errors import InternalError
from layercut.geometry.noding import cells_on_grid, inner_points, outlines
from layercut.geometry.precision import AREA_MM2, GRID_MM, TILING_MM2_PER_MM
from layercut.geometry.regions import EMPTY, Region, as_region, prepared
from layercut.model import Panel
from layercut.units import said_mm2


@dataclass(frozen=True)
class CellMap:
    """The cells of the panel.

    `cells` (n,) polygons; `in_frame` (n,), whether a cell is of the frame; `covered` (layers, n), whether a layer's
    face covers a cell; `owner` (n,) the front-most such layer, -1 where none does. Faces under the frame are not
    seen, so frame cells have no owner and no cover.
    """

    cells: NDArray[np.object_]
    in_frame: NDArray[np.bool_]
    covered: NDArray[np.bool_]
    owner: NDArray[np.int64]

    @cached_property
    def whole(self) -> Region:
        """The panel: the union of all cells."""
        return self.region(np.ones(len(self.cells), dtype=np.bool_))

    def region(self, chosen: NDArray[np.bool_]) -> Region:
        """The union of the chosen cells; exact, since neighbours share their edges. Empty for none."""
        if not chosen.any():
            return EMPTY
        return as_region(shapely.coverage_union_all(self.cells[chosen]))


def map_cells(faces: list[Region], panel: Panel) -> CellMap:
    """Node all boundaries on the fixed grid and tell for each cell which layers cover it.

    Raises InternalError when the cells don't tile the panel: that would be a fault of ours.
    """
    rims = np.array([panel.outline.exterior, panel.interior.exterior], dtype=object)
    cells = cells_on_grid(np.concatenate([rims, outlines(np.array(faces, dtype=object))]))
    points = inner_points(cells)
    on_panel = _contains(panel.outline, points)
    cells, points = cells[on_panel], points[on_panel]
    in_frame = ~_contains(panel.interior, points)
    covered = np.array([_contains(face, points) & ~in_frame for face in faces], dtype=bool)
    covered = covered.reshape(len(faces), len(cells))
    owner = np.max(np.where(covered, np.arange(len(faces))[:, None], -1), axis=0, initial=-1)
    _check_tiling(cells, panel)
    return CellMap(cells, in_frame, covered, owner.astype(np.int64))


def _contains(region: Region, points: NDArray[np.object_]) -> NDArray[np.bool_]:
    return np.asarray(shapely.contains(prepared(region), points), dtype=bool)


def _check_tiling(cells: NDArray[np.object_], panel: Panel) -> None:
    """Areas must add up to the panel's; the grid may move its rim by half a step."""
    total = float(shapely.area(cells).sum())
    allowed = AREA_MM2 + (GRID_MM + TILING_MM2_PER_MM) * panel.outline.length
    if abs(total - panel.outline.area) > allowed:
        raise InternalError(
            "tiling",
            f"the cells cover {said_mm2(total, '.3f', 'mm2')} of a panel of "
            f"{said_mm2(panel.outline.area, '.3f', 'mm2')}.",
            "Please report it with the drawing.",
        )
