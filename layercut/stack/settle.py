"""Settle one sheet: what holds, what is tied, what is cut free, and what it carries.

Enters: a sheet's regions, its layer, the job, and the loose pieces in front that must rest on it. Leaves: `Settled`.
Sheets are settled from front to back, because a visible tie covers what lies behind it, and a loose piece needs
something behind it to rest on.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import shapely
from shapely import Polygon

from layercut.geometry.patchwork import Patchwork
from layercut.geometry.precision import CUT_APART_MM
from layercut.geometry.regions import EMPTY, Region, as_region, polygons_of, union
from layercut.geometry.threads import each
from layercut.job import Job
from layercut.model import Island, Layer, Panel, Tie
from layercut.stack.apart import set_apart, without, without_dust
from layercut.stack.cells import CellMap
from layercut.stack.hairlines import close_hairlines
from layercut.stack.islands import Hold, check_hold
from layercut.stack.loose import NOTHING_CARRIED, Carried, Load, Offer, Room, carry
from layercut.stack.strips import Strip
from layercut.stack.ties import Widths, find_ties
from layercut.stack.wood import SheetWood, find_wood

LEAST_TIE_MM = 1.5
"""Width of a tie where the job sets neither a width nor a limit, mm: what the limit is unless the job changes it."""

LEAST_SPECK_MM2 = 1e-4
"""What should be seen and isn't wood, but is smaller than this, mm2, is the grid's rounding."""


@dataclass(frozen=True, slots=True)
class Settled:
    """One sheet as it will be: its regions and how it holds.

    `sheet` is as it was looked at, but for ties; the wood in the end is `hold.wood`.
    `refused` are the islands that nothing is done about; `loose` those that are cut free; `carried` says where the
    pieces in front rest and which risers that takes; `shown_ties` is what of the ties is seen, and so covers what
    lies behind; `specks` are the seen scraps that were left out.
    """

    sheet: SheetWood
    hold: Hold
    refused: tuple[Island, ...]
    loose: tuple[Island, ...]
    ties: tuple[Tie, ...]
    shown_ties: Region
    carried: Carried
    specks: tuple[Polygon, ...]

    @property
    def loads(self) -> tuple[Load, ...]:
        """What must rest on the sheet behind: this sheet's loose pieces and its risers."""
        return (*(Load(island.id, island.region) for island in self.loose), *self.carried.risers)


@dataclass(frozen=True, slots=True)
class Seen:
    """One sheet as it was looked at: its regions, what shows of it in patches, and how it holds."""

    sheet: SheetWood
    visible: Patchwork
    hold: Hold


def settle_stack(layers: Sequence[Layer], cell_map: CellMap, panel: Panel, job: Job) -> tuple[Settled, ...]:
    """Settle all sheets, the front one first; returned back to front."""

    def settle(index: int, ties: Region = EMPTY) -> Settled:
        sheet = find_wood(cell_map, panel, index, job.limits.setback, ties)
        return settle_sheet(layers[index], look_at_sheet(layers[index], sheet, panel, job), panel, job)

    order = range(len(layers))[::-1]
    # Only visible ties make a sheet depend on those in front; without any, all can be settled side by side.
    alone = dict(zip(order, each(settle, order), strict=True)) if not _may_tie(job) else {}
    settled: list[Settled] = []
    ties: Region = EMPTY
    loads: tuple[Load, ...] = ()
    for index in order:
        one = load_sheet(layers[index], alone[index] if alone else settle(index, ties), loads, job)
        ties, loads = union((ties, one.shown_ties)), one.loads
        settled.append(one)
    return tuple(reversed(settled))


def look_at_sheet(layer: Layer, sheet: SheetWood, panel: Panel, job: Job) -> Seen:
    """What holds as drawn, but for gaps that the beam can't cut."""
    closed = close_hairlines(sheet, job.material.kerf)
    visible = Patchwork(closed.visible)
    return Seen(closed, visible, check_hold(layer, closed.wood, visible, panel, job.limits))


def _may_tie(job: Job) -> bool:
    policies = (layer.policy for layer in job.islands.layers.values())
    return "tie" in (job.islands.policy, *policies, *job.islands.pieces.values())


def settle_sheet(layer: Layer, seen: Seen, panel: Panel, job: Job) -> Settled:
    """Apply each island's policy; nothing is carried yet."""
    drawn = seen.sheet.visible
    sheet, hold, ties, shown_ties = _tie(layer, seen, panel, job)
    ids = frozenset(island.id for island in hold.islands if _policy(job, layer, island) == "loose")
    # Last, so that what is tied to a piece goes with it, and is parted from the rest with it.
    wood, loose = set_apart(hold, ids, panel, job.material.kerf + CUT_APART_MM)
    refused = tuple(island for island in hold.islands if island.id not in ids)
    specks = _specks(drawn, hold, ids - {island.id for island in loose})
    hold = replace(hold, wood=wood)
    sheet = replace(sheet, visible=without_dust(sheet.visible, specks, wood))
    return Settled(sheet, hold, refused, loose, ties, shown_ties, NOTHING_CARRIED, specks)


def _specks(drawn: Region, hold: Hold, lost: frozenset[str]) -> tuple[Polygon, ...]:
    """What should be seen and isn't wood; what the beam takes between two pieces doesn't count."""
    gone = [basin for island, basin in zip(hold.islands, hold.basins, strict=True) if island.id in lost]
    missing = union((as_region(shapely.difference(drawn, hold.wood)), *gone))
    return tuple(part for part in polygons_of(missing) if part.area > LEAST_SPECK_MM2)


def load_sheet(layer: Layer, settled: Settled, loads: Sequence[Load], job: Job) -> Settled:
    """Find what of a sheet carries the loads; the same sheet where there are none."""
    if not loads:
        return settled
    room = Room(job.limits.setback, job.material.kerf + CUT_APART_MM)
    carried = carry(loads, _offer(layer, settled), job.limits.glue_contact, room)
    kept = [riser.region for riser in carried.risers]
    wood = union((settled.hold.wood, *kept)) if kept else settled.hold.wood
    return replace(settled, hold=replace(settled.hold, wood=wood), carried=carried)


def _offer(layer: Layer, settled: Settled) -> Offer:
    """What of a sheet can carry the pieces in front; an island that nothing is done about can't."""
    free = union(island.region for island in (*settled.hold.islands, *settled.loose))
    return Offer(
        name=layer.name,
        framed=as_region(shapely.difference(settled.hold.wood, free)),
        loose=tuple(Load(island.id, island.region) for island in settled.loose),
        spare=settled.hold.spare,
        unseen=settled.sheet.unseen,
        aside=union(island.region for island in settled.refused),
    )


def _policy(job: Job, layer: Layer, island: Island) -> str:
    return job.islands.policy_for(layer.name, island.id)


def _tie(layer: Layer, seen: Seen, panel: Panel, job: Job) -> tuple[SheetWood, Hold, tuple[Tie, ...], Region]:
    """Join the islands whose policy is to be tied, and look again at what holds."""
    sheet, hold = seen.sheet, seen.hold
    tied = [island for island in hold.islands if _policy(job, layer, island) == "tie"]
    if not tied:
        return sheet, hold, (), EMPTY
    width = max(job.islands.tie_width or 0.0, job.limits.neck) or LEAST_TIE_MM
    others = [basin for island, basin in zip(hold.islands, hold.basins, strict=True) if island not in tied]
    wood = without(hold.wood, others, panel.frame)
    anchor = shapely.point_on_surface(panel.frame)
    regions = [island.region for island in tied]
    strips = find_ties(wood, sheet.opening, anchor, Widths(job.limits.neck, width), regions)
    patches = Patchwork(hold.wood), Patchwork(sheet.opening)
    ties = tuple(_as_tie(strip, *patches, panel, width) for strip in strips)
    added = _on_panel(union(strip.region for strip in strips), panel)
    shown = as_region(shapely.intersection(added, sheet.opening))
    joined = replace(
        sheet,
        visible=union((sheet.visible, shown)),
        opening=as_region(shapely.difference(sheet.opening, added)),
        wood=union((hold.wood, added)),
    )
    again = check_hold(layer, joined.wood, Patchwork(joined.visible), panel, job.limits)
    # What fell away before may still carry something.
    return joined, replace(again, spare=(*hold.spare, *again.spare)), ties, shown


def _as_tie(strip: Strip, wood: Patchwork, opening: Patchwork, panel: Panel, width_mm: float) -> Tie:
    new = shapely.difference(strip.region, wood.around(strip.region.bounds))
    added = as_region(shapely.intersection(new, panel.interior))
    middle = strip.line.interpolate(0.5, normalized=True)
    seen = float(opening.shared_with(added).area)
    return Tie((round(middle.x, 3), round(middle.y, 3)), width_mm, seen, added)


def _on_panel(ties: Region, panel: Panel) -> Region:
    """Ties may neither reach over the rim nor fill the pin holes."""
    inside = as_region(shapely.intersection(ties, panel.outline))
    return as_region(shapely.difference(inside, union(panel.pins))) if panel.pins else inside
