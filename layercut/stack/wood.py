"""The wood of each sheet, from the cell map.

Enters: the cell map, the panel and the job. Leaves: `SheetWood` for each layer. Holds: the visible regions and the
bare ground tile the interior; the wood is the frame, the face and the hidden ground, drawn back by the setback.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import shapely
from shapely import Polygon

from layercut.geometry.offsets import offset_round_coarse
from layercut.geometry.precision import AREA_MM2, GRID_MM
from layercut.geometry.regions import EMPTY, Region, as_region, joined, less, spread_union, union
from layercut.model import Panel
from layercut.stack.cells import CellMap
from layercut.stack.painted_behind import NO_GUESTS, Guests


@dataclass(frozen=True, slots=True)
class SheetWood:
    """One sheet's regions (docs/design.md, 1): what shows, what is opened, what is wood.

    `unseen` is the ground behind what lies in front, and `hidden` what of it the setback leaves;
    `hairlines` are gaps that the beam can't cut and that were filled.
    """

    face: Region
    visible: Region
    opening: Region
    unseen: Region
    hidden: Region
    wood: Region
    hairlines: tuple[Polygon, ...] = ()


def bare_ground(panel: Panel, visible: Sequence[Region]) -> Region:
    """Where no face covers the interior. Visible regions don't overlap, so their areas tell when that is nowhere."""
    if sum(region.area for region in visible) > panel.interior.area - AREA_MM2:
        return EMPTY
    return as_region(shapely.difference(panel.interior, union(visible)))


def find_wood(
    cell_map: CellMap,
    panel: Panel,
    index: int,
    setback_mm: float,
    ties: Region = EMPTY,
    *,
    guests: Guests = NO_GUESTS,
) -> SheetWood:
    """The regions of one sheet; the back sheet (index 0) has no opening: its bare wood closes the picture.

    `ties` are the visible strips of the sheets in front: they cover what lies behind, so nothing is opened there.
    `guests` are what those sheets gave away.
    """
    owner, covered = cell_map.owner, cell_map.covered[index]
    interior = ~cell_map.in_frame
    face = cell_map.region(covered)
    visible, opening = cell_map.region(owner == index), cell_map.region(interior & (owner < index))
    given = EMPTY
    if guests.any:
        own = guests.shown
        shown = joined(own, as_region(shapely.intersection(guests.dropped, face)))
        given = spread_union((guests.open, own, guests.dropped))
        opening = joined(opening, less(given, shown))
        visible, face = joined(visible, shown), joined(face, own)
    if not index:
        opening = EMPTY
    if not ties.is_empty:
        visible = as_region(shapely.difference(visible, ties))
        opening = as_region(shapely.difference(opening, ties))
    # Subtracting from the whole panel leaves the face's own edges as they are: an edge that is shared with hidden
    # ground lies inside this polygon, so no sliver can open along it.
    wood = cell_map.whole
    # What was given away has edges off the grid, and without one overlays of them may fail (seen with GEOS 3.13).
    wood = as_region(shapely.difference(wood, opening, grid_size=GRID_MM if guests.any else None))
    hidden = cell_map.region(interior & (owner > index) & ~covered)
    if not ties.is_empty:
        behind_ties = as_region(shapely.intersection(cell_map.region(interior & (owner < index)), ties))
        hidden = joined(hidden, behind_ties)
    if not given.is_empty:
        hidden = as_region(shapely.difference(hidden, shapely.difference(given, ties)))
    unseen = hidden
    if not hidden.is_empty and not opening.is_empty and setback_mm > 0:
        drawn_back = as_region(shapely.intersection(hidden, offset_round_coarse(opening, setback_mm)))
        wood = as_region(shapely.difference(wood, drawn_back))
        hidden = as_region(shapely.difference(hidden, drawn_back))
    front = index == len(cell_map.covered) - 1
    if panel.pins and not (panel.blind and front):
        wood = as_region(shapely.difference(wood, union(panel.pins)))
    return SheetWood(face, visible, opening, unseen, hidden, wood)
