"""Settle one sheet: what holds, what is tied, what is cut free, and what it carries.

Enters: a sheet's regions, its layer, the job, and the loose pieces in front that must rest on it. Leaves: `Settled`.
Sheets are settled from front to back, because a visible tie covers what lies behind it, and a loose piece needs
something behind it to rest on.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import partial

import numpy as np
import shapely
from shapely import Polygon

from layercut.errors import DrawingError
from layercut.geometry.parallel import WORKERS, both, each
from layercut.geometry.precision import CUT_APART_MM
from layercut.geometry.quadtree import QuadtreeRegion
from layercut.geometry.regions import EMPTY, Region, as_region, joined, less, polygons_of, shared, spread_union, union
from layercut.job import Job
from layercut.model import Guest, Island, Layer, Panel, Tie
from layercut.stack.apart import set_apart, without, without_dust
from layercut.stack.behind import NO_GUESTS, Behind, Guests, adopt, give_away, guests_at
from layercut.stack.cells import CellMap
from layercut.stack.hairlines import close_hairlines
from layercut.stack.islands import Hold, check_hold
from layercut.stack.loose import NOTHING_CARRIED, Carried, Load, Offer, Room, carry
from layercut.stack.naming import held_by, keep_names
from layercut.stack.ties import PlacedStrip, Widths, find_ties
from layercut.stack.wood import SheetWood, find_wood

LEAST_TIE_MM = 1.5
"""Width of a tie where the job sets neither a width nor a limit, mm: what the limit is unless the job changes it."""

LEAST_SPECK_MM2 = 1e-4
"""What should be seen and isn't wood, but is smaller than this, mm2, is the grid's rounding."""


MAX_ISLANDS = 3000
"""Islands of a layer that may be tied: strips for so many are searched in about a minute."""

NO_STRIPS: Mapping[int, Sequence[PlacedStrip]] = {}
"""Of a stack for which no strips were chosen."""

NOBODY: frozenset[str] = frozenset()
"""Where no loose piece must rest fully."""

LEAVING = ("behind", "out")
"""The policies under which a piece leaves its sheet."""

MOST_GIVEN = 10
"""Rounds of giving pieces away: what hung on one may be an island then, and leave as well."""


@dataclass(frozen=True, slots=True)
class Settled:
    """One sheet as it will be: its regions and how it holds.

    `sheet` is as it was looked at, but for ties; the wood in the end is `hold.wood`.
    `refused` are the islands that nothing is done about; `loose` those that are cut free; `carried` says where the
    pieces in front rest and which risers that takes; `shown_ties` is what of the ties is seen, and so covers what
    lies behind; `specks` are the seen scraps that were left out; `found` are all islands as drawn, whatever was done
    about them since; `given` are the pieces that are painted behind or left out, and `guests` those of the sheets in
    front that are painted here; `resting` are the names of loose pieces that must rest fully.
    """

    sheet: SheetWood
    hold: Hold
    refused: tuple[Island, ...]
    loose: tuple[Island, ...]
    ties: tuple[Tie, ...]
    shown_ties: Region
    carried: Carried
    specks: tuple[Polygon, ...]
    found: tuple[Island, ...] = ()
    given: tuple[Guest, ...] = ()
    guests: tuple[Guest, ...] = ()
    resting: frozenset[str] = frozenset()

    @property
    def loads(self) -> tuple[Load, ...]:
        """What must rest on the sheet behind: this sheet's loose pieces and its risers."""
        pieces = (Load(island.id, island.region, island.id in self.resting) for island in self.loose)
        return (*pieces, *self.carried.risers)


@dataclass(frozen=True, slots=True)
class Seen:
    """One sheet as it was looked at: its regions, what shows of it in patches, and how it holds."""

    sheet: SheetWood
    visible: QuadtreeRegion
    hold: Hold


@dataclass(frozen=True, slots=True)
class Joined:
    """One sheet with its pieces given away and its ties set, before it is looked at again: how it held until then,
    its regions with the ties, these, what of them is seen, what was given away, and the islands as drawn."""

    left: Seen
    sheet: SheetWood
    ties: tuple[Tie, ...]
    shown_ties: Region
    given: tuple[Guest, ...]
    found: tuple[Island, ...]


@dataclass(slots=True)
class _Front:
    """What the sheets that are settled already leave to those behind: ties that cover them, pieces that were given
    away or dropped, and loose pieces that must rest."""

    ties: Region = EMPTY
    given: list[Guest] = field(default_factory=list)
    dropped: Region = EMPTY
    loads: tuple[Load, ...] = ()

    @property
    def mark(self) -> bytes:
        """What tells this from anything else that could be left to a sheet; empty where nothing is."""
        parts = [self.ties, self.dropped, *(guest.region for guest in self.given)]
        homes = bytes(repr([guest.home for guest in self.given]), "ascii")
        return b"" if not self.given and self.ties.is_empty else homes + b"".join(part.wkb for part in parts)

    def guests(self, index: int) -> Guests:
        """What was given away, as the sheet at `index` sees it."""
        return guests_at(index, self.given, self.dropped) if self.given else NO_GUESTS

    def cover(self, ties: Region) -> None:
        """Add the visible ties of a sheet, as soon as they are known."""
        self.ties = joined(self.ties, ties)

    def pass_on(self, settled: Settled) -> None:
        """Add what else a sheet leaves, once it is settled."""
        self.loads = settled.loads
        if not self.dropped.is_empty:
            shown = union((settled.sheet.face, *(guest.region for guest in settled.given)))
            self.dropped = as_region(shapely.difference(self.dropped, shown))
        self.given += settled.given
        left_out = [guest.region for guest in settled.given if guest.home is None]
        self.dropped = union((self.dropped, *left_out)) if left_out else self.dropped


def settle_stack(layers: Sequence[Layer], cell_map: CellMap, panel: Panel, job: Job) -> tuple[Settled, ...]:
    """Settle all sheets, the front one first; returned back to front. What is left to choose is left as it is."""
    return Settler(layers, cell_map, panel).settle(job)


class Settler:
    """Settles the sheets of one drawing, as often as choices change; what doesn't depend on them is kept."""

    def __init__(self, layers: Sequence[Layer], cell_map: CellMap, panel: Panel) -> None:
        """Hold the drawing; nothing is looked at yet."""
        self.layers, self.panel = layers, panel
        self.behind = Behind(cell_map)
        self._map = cell_map
        self._looks: dict[tuple[int, bytes], Seen] = {}

    def settle(
        self, job: Job, strips: Mapping[int, Sequence[PlacedStrip]] = NO_STRIPS, resting: frozenset[str] = NOBODY
    ) -> tuple[Settled, ...]:
        """Settle all sheets, the front one first; returned back to front. `strips` are those chosen for each sheet;
        for a sheet without any they are looked for. `resting` names the loose pieces that must rest fully."""
        run = _Run(self, job, strips, resting)
        order = range(len(self.layers))[::-1]
        # Only visible ties and what is given away make a sheet depend on those in front; else all go side by side.
        alone: dict[int, Settled] = {}
        if not _may_change_others(job):
            alone = dict(zip(order, each(run.settle_alone, order), strict=True))
        settled: list[Settled] = []
        front = _Front()
        for index in order:
            one = alone[index] if alone else run.settle_behind(index, front)
            settled.append(load_sheet(self.layers[index], one, front.loads, job))
            front.pass_on(settled[-1])
        return tuple(reversed(settled))

    def look_ahead(self, index: int, front: _Front, job: Job) -> None:
        """Look at the next sheets side by side, as those in front leave them by now. A sheet that then turns out to
        leave something of its own has those behind it looked at again."""
        if index >= 0 and (index, front.mark) not in self._looks:
            each(lambda ahead: self.look(ahead, front, job), range(index, max(index - WORKERS, -1), -1))

    def look(self, index: int, front: _Front, job: Job) -> Seen:
        """How a sheet holds behind those in front; the same look where these leave the same."""
        key = (index, front.mark)
        if key not in self._looks:
            guests = front.guests(index)
            sheet = find_wood(self._map, self.panel, index, job.limits.setback, front.ties, guests=guests)
            self._looks[key] = look_at_sheet(self.layers[index], sheet, self.panel, job)
        return self._looks[key]


@dataclass(frozen=True, slots=True)
class _Run:
    """One settling of all sheets, with what was chosen."""

    settler: Settler
    job: Job
    strips: Mapping[int, Sequence[PlacedStrip]]
    resting: frozenset[str]

    def settle_alone(self, index: int) -> Settled:
        """A sheet to which those in front leave nothing."""
        return self._settle(index, self._join(index, _Front()), _Front())

    def settle_behind(self, index: int, front: _Front) -> Settled:
        """A sheet behind those in front; its visible ties are added to what these leave."""
        joint = self._join(index, front)
        front.cover(joint.shown_ties)
        if joint.given or not front.dropped.is_empty:
            return self._settle(index, joint, front)
        # All that it leaves is known now: it is looked at again while those behind it are looked at.
        behind = partial(self.settler.look_ahead, index - 1, front, self.job)
        return both(partial(self._settle, index, joint, front), behind)[0]

    def _join(self, index: int, front: _Front) -> Joined:
        layer, job = self.settler.layers[index], self.job
        seen = self.settler.look(index, front, job)
        _check_count(layer, seen.hold, job)
        away = Away(self.settler.behind, index, tuple(front.given))
        return join_sheet(layer, seen, self.settler.panel, job, away, self.strips.get(index, ()))

    def _settle(self, index: int, joint: Joined, front: _Front) -> Settled:
        one = settle_sheet(self.settler.layers[index], joint, self.settler.panel, self.job)
        return replace(one, guests=front.guests(index).here, resting=self.resting)


def look_at_sheet(layer: Layer, sheet: SheetWood, panel: Panel, job: Job) -> Seen:
    """What holds as drawn, but for gaps that the beam can't cut."""
    closed = close_hairlines(sheet, job.material.kerf)
    visible = QuadtreeRegion(closed.visible)
    return Seen(closed, visible, check_hold(layer, closed.wood, visible, panel, job.limits))


def _check_count(layer: Layer, hold: Hold, job: Job) -> None:
    """Hold that strips for all islands that may be tied can be searched in sensible time."""
    count = sum(_policy(job, layer, island) in {"tie", "auto"} for island in hold.islands)
    if count > MAX_ISLANDS:
        message = (
            f"{count} pieces of its wood would fall out; the most that can be tied or chosen for is {MAX_ISLANDS}."
        )
        hint = "Unite pieces, let them reach their neighbours, or choose --islands loose or behind."
        raise DrawingError("too-many-islands", message, hint, layer=layer.name)


def _may_change_others(job: Job) -> bool:
    policies = {job.islands.policy, *job.islands.pieces.values()}
    policies |= {layer.policy for layer in job.islands.layers.values()}
    return not policies <= {"auto", "refuse", "loose"}


@dataclass(frozen=True, slots=True)
class Away:
    """Where pieces of the sheet at `index` can go: what shows behind it, and the guests of the sheets in front."""

    behind: Behind
    index: int
    guests: tuple[Guest, ...] = ()

    def guests_of(self, island: Island, shown: Region, left_out: bool) -> tuple[Guest, ...]:
        """What is seen of an island as guests of the sheets on which it is painted, or left out; none where it can't
        be painted."""
        homes = () if left_out else self.behind.homes_of(shown, self.index, self.guests)
        return give_away(island, shown, self.index, homes) if homes or left_out else ()


def join_sheet(  # noqa: PLR0917 - all that a sheet is joined with
    layer: Layer, seen: Seen, panel: Panel, job: Job, away: Away, strips: Sequence[PlacedStrip] = ()
) -> Joined:
    """Give away and tie the islands whose policy that is. `strips` are those that were chosen for the sheet; without
    any they are looked for."""
    left, given = _give(layer, seen, panel, job, away)
    sheet, ties, shown_ties = _tie(layer, left, panel, job, strips)
    return Joined(left, sheet, ties, shown_ties, given, seen.hold.islands)


def settle_sheet(layer: Layer, joint: Joined, panel: Panel, job: Job) -> Settled:
    """Look again at a sheet with ties, and cut free the islands whose policy that is; nothing is carried yet."""
    sheet, hold, given = joint.sheet, joint.left.hold, joint.given
    drawn = joint.left.sheet.visible
    if sheet is not joint.left.sheet:
        hold = _look_again(layer, hold, sheet.wood, QuadtreeRegion(sheet.visible), panel, job)
    ids = frozenset(island.id for island in hold.islands if _policy(job, layer, island) == "loose")
    # Last, so that what is tied to a piece goes with it, and is parted from the rest with it.
    wood, loose = set_apart(hold, ids, panel, job.material.kerf + CUT_APART_MM)
    refused = tuple(island for island in hold.islands if island.id not in ids)
    specks = _specks(drawn, hold, ids - {island.id for island in loose})
    hold = replace(hold, wood=wood)
    if given and specks:
        given, adopted = adopt(given, specks)
        sheet = _without(sheet, adopted)
        specks = tuple(speck for speck in specks if not shapely.intersects(speck, adopted))
    sheet = replace(sheet, visible=without_dust(sheet.visible, specks, wood))
    return Settled(
        sheet, hold, refused, loose, joint.ties, joint.shown_ties, NOTHING_CARRIED, specks, joint.found, given
    )


def _give(layer: Layer, seen: Seen, panel: Panel, job: Job, away: Away) -> tuple[Seen, tuple[Guest, ...]]:
    """Give away the islands that are painted behind or left out; what hung on them may be an island then."""
    given: list[Guest] = []
    for _ in range(MOST_GIVEN):
        sheet, hold = seen.sheet, seen.hold
        gone = []
        for island, basin in zip(hold.islands, hold.basins, strict=True):
            policy = _policy(job, layer, island)
            if policy not in LEAVING:
                continue
            shown = as_region(seen.visible.shared_with(basin))
            guests = away.guests_of(island, shown, policy == "out")
            given += guests
            gone += [basin] if guests else []
        if not gone:
            break
        wood = without(hold.wood, gone, panel.frame)
        leaving = as_region(shapely.difference(spread_union(gone), panel.frame))
        shown = shared(leaving, sheet.visible)
        # Nobody saw the rest of it, so a riser may lie there.
        unseen = joined(sheet.unseen, less(leaving, shown))
        sheet = replace(_without(sheet, shown), unseen=unseen)
        visible = QuadtreeRegion(sheet.visible)
        again = _look_again(layer, seen.hold, wood, visible, panel, job)
        seen = Seen(sheet, visible, again)
    return seen, tuple(given)


def _look_again(  # noqa: PLR0917 - what a sheet is looked at with
    layer: Layer, before: Hold, wood: Region, visible: QuadtreeRegion, panel: Panel, job: Job
) -> Hold:
    """How a sheet holds with other wood than at the last look; what fell away before may still carry something."""
    again = check_hold(layer, wood, visible, panel, job.limits)
    islands = keep_names(again.islands, before.islands)
    return replace(again, islands=islands, spare=(*before.spare, *again.spare))


def _without(sheet: SheetWood, shown: Region) -> SheetWood:
    """The sheet without something that was seen of it and that leaves it."""
    return replace(
        sheet,
        face=less(sheet.face, shown),
        visible=less(sheet.visible, shown),
        opening=joined(sheet.opening, shown),
    )


def _specks(drawn: Region, hold: Hold, lost: frozenset[str]) -> tuple[Polygon, ...]:
    """What should be seen and isn't wood; what the beam takes between two pieces doesn't count."""
    gone = [basin for island, basin in zip(hold.islands, hold.basins, strict=True) if island.id in lost]
    missing = union((less(drawn, hold.wood), *gone))
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
    return job.islands.policy_for(layer.name, island.names)


def tie_width(job: Job) -> float:
    """How wide ties are, mm."""
    return max(job.islands.tie_width or 0.0, job.limits.neck) or LEAST_TIE_MM


def _tie(
    layer: Layer, seen: Seen, panel: Panel, job: Job, chosen: Sequence[PlacedStrip]
) -> tuple[SheetWood, tuple[Tie, ...], Region]:
    """Join the islands whose policy is to be tied: the sheet with its ties, or the same if there are none, these, and
    what of them is seen."""
    sheet, hold = seen.sheet, seen.hold
    tied = [island for island in hold.islands if _policy(job, layer, island) == "tie"]
    if not tied:
        return sheet, (), EMPTY
    placed = tuple(chosen) or _find_strips(sheet, hold, tied, panel, job)
    ties = _as_ties(placed, QuadtreeRegion(hold.wood), QuadtreeRegion(sheet.opening), panel, tie_width(job))
    added = _on_panel(union(one.strip.region for one in placed), panel)
    shown = as_region(shapely.intersection(added, sheet.opening))
    tied_sheet = replace(
        sheet,
        visible=joined(sheet.visible, shown),
        opening=as_region(shapely.difference(sheet.opening, added)),
        wood=joined(hold.wood, added),
    )
    return tied_sheet, ties, shown


def wood_to_tie(hold: Hold, tied: Sequence[Island], panel: Panel) -> Region:
    """The wood of a sheet without the islands that are not to be tied."""
    names = {island.id for island in tied}
    others = [basin for island, basin in zip(hold.islands, hold.basins, strict=True) if island.id not in names]
    return without(hold.wood, others, panel.frame)


def _find_strips(
    sheet: SheetWood, hold: Hold, tied: Sequence[Island], panel: Panel, job: Job
) -> tuple[PlacedStrip, ...]:
    """The strips that join some islands to the frame and to each other, whatever they cost."""
    anchor = shapely.point_on_surface(panel.frame)
    widths = Widths(job.limits.neck, tie_width(job), job.limits.slender)
    regions = [island.region for island in tied]
    strips = find_ties(wood_to_tie(hold, tied, panel), sheet.opening, anchor, widths, regions)
    holds = held_by([strip.region for strip in strips], tied)
    return tuple(PlacedStrip(strip, held) for strip, held in zip(strips, holds, strict=True))


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
