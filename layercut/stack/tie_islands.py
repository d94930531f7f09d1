"""Tie the islands of one sheet: the strips that are cut, and the sheet's regions with them.

Enters: a sheet's regions, how they hang together, the islands to be tied, and the strips that were chosen for them,
if any were. Leaves: the sheet with its `Tie`s. Holds: ties neither reach over the panel's rim nor fill its pin holes.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely

from layercut.geometry.quadtree import QuadtreeRegion
from layercut.geometry.regions import Region, as_region, joined, union
from layercut.job_tables import LimitsJob
from layercut.model import Island, Panel, Tie
from layercut.stack.cut_free import without_basins
from layercut.stack.islands import Connectivity
from layercut.stack.naming import held_by
from layercut.stack.ties import PlacedStrip, TieWidths, find_ties
from layercut.stack.wood import SheetWood


def tie_widths(limits: LimitsJob, tie_mm: float) -> TieWidths:
    """What ties are measured by, for ties of some width, mm."""
    return TieWidths(limits.neck, tie_mm, limits.slender)


def wood_to_tie(connectivity: Connectivity, tied: Sequence[Island], panel: Panel) -> Region:
    """The wood of a sheet without the islands that are not to be tied."""
    names = {island.id for island in tied}
    return without_basins(
        connectivity.wood,
        [basin for island, basin in connectivity.island_basins if island.id not in names],
        panel.frame,
    )


def find_strips(
    sheet: SheetWood, connectivity: Connectivity, tied: Sequence[Island], panel: Panel, widths: TieWidths
) -> tuple[PlacedStrip, ...]:
    """The strips that join some islands to the frame and to each other, whatever they cost."""
    anchor = shapely.point_on_surface(panel.frame)
    regions = [island.region for island in tied]
    strips = find_ties(wood_to_tie(connectivity, tied, panel), sheet.opening, anchor, widths, regions)
    holds = held_by([strip.region for strip in strips], tied)
    return tuple(PlacedStrip(strip, held) for strip, held in zip(strips, holds, strict=True))


def add_ties(
    sheet: SheetWood, wood: Region, strips: Sequence[PlacedStrip], panel: Panel, width_mm: float
) -> tuple[SheetWood, tuple[Tie, ...], Region]:
    """A sheet whose wood has some strips added, these as ties, and what of them is seen."""
    ties = _as_ties(strips, QuadtreeRegion(wood), QuadtreeRegion(sheet.opening), panel, width_mm)
    added = _on_panel(union(one.strip.region for one in strips), panel)
    shown = as_region(shapely.intersection(added, sheet.opening))
    tied = replace(
        sheet,
        visible=joined(sheet.visible, shown),
        opening=as_region(shapely.difference(sheet.opening, added)),
        wood=joined(wood, added),
    )
    return tied, ties, shown


def _as_ties(
    placed: Sequence[PlacedStrip], wood: QuadtreeRegion, opening: QuadtreeRegion, panel: Panel, width_mm: float
) -> tuple[Tie, ...]:
    """The strips as ties: what each adds to the wood, and how much of that is seen."""
    strips = np.array([one.strip.region for one in placed], dtype=object)
    new = shapely.difference(strips, wood.around_each(strips))
    added = [as_region(part) for part in shapely.intersection(new, panel.interior)]
    seen = shapely.area(opening.shared_with_each(added)).tolist()
    lines = np.array([one.strip.line for one in placed], dtype=object)
    middles = shapely.get_coordinates(shapely.line_interpolate_point(lines, 0.5, normalized=True)).tolist()
    return tuple(
        Tie((round(x, 3), round(y, 3)), width_mm, shown, part, one.holds, one.strip.length_mm, one.strip.line)
        for (x, y), shown, part, one in zip(middles, seen, added, placed, strict=True)
    )


def _on_panel(ties: Region, panel: Panel) -> Region:
    """Ties may neither reach over the rim nor fill the pin holes."""
    inside = as_region(shapely.intersection(ties, panel.outline))
    return as_region(shapely.difference(inside, union(panel.pins))) if panel.pins else inside
