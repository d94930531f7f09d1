"""The colour of ties: that of what they leave or meet, whichever is seen less, the same for all ties of a piece.

Enters: the settled sheets, and what is painted where. Leaves: the ties with their paints. Holds: the map, the page
and the picture take it from here.
"""

from collections.abc import Sequence
from dataclasses import replace

from layercut.geometry.precision import AREA_MM2
from layercut.job import Job
from layercut.model import Panel, Tie
from layercut.stack.prices import Ground, look_at, seen_least
from layercut.stack.seen import BARE, Picture
from layercut.stack.settle import Settled
from layercut.stack.strips import Strip


def paint_ties(settled: Sequence[Settled], picture: Picture, panel: Panel, job: Job) -> tuple[Settled, ...]:
    """The sheets with a paint for each tie that is seen."""
    return tuple(
        replace(one, ties=_painted(one, sheet, picture, panel, job)) if one.ties else one
        for sheet, one in enumerate(settled)
    )


def _painted(settled: Settled, sheet: int, picture: Picture, panel: Panel, job: Job) -> tuple[Tie, ...]:
    seen = [tie for tie in settled.ties if tie.visible_mm2 >= AREA_MM2 and tie.line is not None]
    if not seen:
        return settled.ties
    strips = [Strip(tie.line, tie.region, tie.visible_mm2, tie.length_mm) for tie in seen]
    # What of the ties is seen is no opening any more, so they are asked where they lie themselves.
    ground = Ground(sheet, settled.shown_ties, panel.interior)
    looks = look_at(strips, ground, picture, seen[0].width_mm)
    by_piece: dict[str, list[int]] = {}
    for place, tie in enumerate(seen):
        by_piece.setdefault(tie.holds, []).append(place)
    paints = {
        name: seen_least([looks[place] for place in places], job.prices) or BARE for name, places in by_piece.items()
    }
    return tuple(
        replace(tie, paint=paints.get(tie.holds) if tie.visible_mm2 >= AREA_MM2 else None) for tie in settled.ties
    )
