"""The colour of ties: that of what they leave or meet, whichever is seen less, the same for all ties of a piece.

Enters: the resolved sheets, and what is painted where. Leaves: the ties with their paints. Holds: the map, the page
and the picture take it from here.
"""

from collections.abc import Sequence
from dataclasses import replace

from layercut.geometry.precision import AREA_MM2
from layercut.job_tables import PricesJob
from layercut.model import Panel, Tie
from layercut.stack.prices import Ground, see_strips, seen_least
from layercut.stack.resolve_islands import ResolvedSheet
from layercut.stack.strips import Strip
from layercut.stack.visible_paint import BARE, VisiblePaint


def paint_ties(
    sheets: Sequence[ResolvedSheet], visible_paint: VisiblePaint, panel: Panel, prices: PricesJob
) -> tuple[ResolvedSheet, ...]:
    """The sheets with a paint for each tie that is seen."""
    return tuple(
        replace(one, ties=_painted(one, sheet, visible_paint, panel, prices)) if one.ties else one
        for sheet, one in enumerate(sheets)
    )


def _painted(
    resolved: ResolvedSheet, sheet: int, visible_paint: VisiblePaint, panel: Panel, prices: PricesJob
) -> tuple[Tie, ...]:
    seen = [tie for tie in resolved.ties if tie.visible_mm2 >= AREA_MM2 and tie.line is not None]
    if not seen:
        return resolved.ties
    strips = [Strip(tie.line, tie.region, tie.visible_mm2, tie.length_mm) for tie in seen]
    # What of the ties is seen is no opening any more, so they are asked where they lie themselves.
    ground = Ground(sheet, resolved.shown_ties, panel.interior)
    as_seen = see_strips(strips, ground, visible_paint, seen[0].width_mm)
    by_piece: dict[str, list[int]] = {}
    for place, tie in enumerate(seen):
        by_piece.setdefault(tie.holds, []).append(place)
    paints = {
        name: seen_least([as_seen[place] for place in places], prices) or BARE for name, places in by_piece.items()
    }
    return tuple(
        replace(tie, paint=paints.get(tie.holds) if tie.visible_mm2 >= AREA_MM2 else None) for tie in resolved.ties
    )
