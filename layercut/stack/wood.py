"""The wood of each sheet, from the cell map.

Enters: the cell map, the panel and the job. Leaves: `SheetWood` for each layer. Holds: the visible regions and the
bare ground tile the interior; the wood is the frame, the face and the hidden ground, drawn back by the setback.
"""

from dataclasses import dataclass

import numpy as np
import shapely

from layercut.geometry.offsets import grow_coarsely
from layercut.geometry.regions import EMPTY, Region, as_region
from layercut.job import Job
from layercut.model import Panel
from layercut.stack.cells import CellMap


@dataclass(frozen=True, slots=True)
class SheetWood:
    """One sheet's regions (DESIGN: the core idea): what shows, what is opened, what is wood."""

    face: Region
    visible: Region
    opening: Region
    hidden: Region
    wood: Region


def find_wood(cell_map: CellMap, panel: Panel, job: Job) -> tuple[SheetWood, ...]:
    """The regions of every sheet, back to front. The back sheet has no opening: its bare wood closes the picture."""
    return tuple(_sheet_wood(cell_map, panel, index, job.limits.setback) for index in range(len(cell_map.covered)))


def _sheet_wood(cell_map: CellMap, panel: Panel, index: int, setback_mm: float) -> SheetWood:
    owner, covered = cell_map.owner, cell_map.covered[index]
    interior = ~cell_map.in_frame
    opened = interior & (owner < index) if index else np.zeros_like(interior)
    unseen = interior & (owner > index) & ~covered
    opening = cell_map.region(opened)
    hidden = cell_map.region(unseen)
    wood = cell_map.region(~opened)
    if not hidden.is_empty and not opening.is_empty and setback_mm > 0:
        drawn_back = shapely.intersection(hidden, grow_coarsely(opening, setback_mm))
        # Subtracting from the whole leaves the face's own edges as they are: an edge that is shared with the
        # hidden ground lies inside this polygon, so no sliver can open along it.
        wood = as_region(shapely.difference(wood, drawn_back))
        hidden = as_region(shapely.difference(hidden, drawn_back))
    if panel.pins:
        wood = as_region(shapely.difference(wood, shapely.union_all(np.array(panel.pins, dtype=object))))
    return SheetWood(cell_map.region(covered), cell_map.region(owner == index), opening, hidden or EMPTY, wood)
