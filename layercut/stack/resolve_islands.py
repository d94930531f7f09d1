"""Resolve the islands of all sheets: what holds, what is tied, cut free, painted behind, and what carries what.

Enters: the layers, the cell map, the panel, the job, and what was chosen so far. Leaves: a `ResolvedSheet` each.
Sheets are resolved from front to back, because a visible tie covers what lies behind it, and a loose piece needs
something behind it to rest on. Each is checked as drawn, gives pieces away, is tied, checked again, and its loose
pieces are cut free, in this order; then what the sheet in front leaves loose finds its supports.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import partial

import shapely
from shapely import Polygon

from layercut.errors import DrawingError
from layercut.geometry.parallel import WORKERS, both, each
from layercut.geometry.quadtree import QuadtreeRegion
from layercut.geometry.regions import EMPTY, Region, as_region, joined, less, polygons_of, shared, spread_union, union
from layercut.job import Job
from layercut.job_tables import IslandsJob, LimitsJob
from layercut.model import Guest, Island, Layer, Panel, Tie
from layercut.stack.cells import CellMap
from layercut.stack.cut_free import cut_free, cut_gap_mm, without_basins, without_scraps
from layercut.stack.hairlines import close_hairlines
from layercut.stack.islands import Connectivity, check_connectivity
from layercut.stack.naming import keep_names
from layercut.stack.painted_behind import NO_GUESTS, Guests, SheetsBehind, adopt_scraps, as_guests, guests_at
from layercut.stack.policies import (
    LEAVING,
    may_be_tied,
    policy_of,
    sheets_depend_on_each_other,
    tie_width_mm,
)
from layercut.stack.supports import (
    NOTHING_SUPPORTED,
    Clearances,
    GluedPiece,
    SheetSupports,
    SupportPlan,
    find_supports,
)
from layercut.stack.tie_islands import add_ties, find_strips, tie_widths
from layercut.stack.ties import PlacedStrip
from layercut.stack.wood import SheetWood, find_wood

LEAST_SPECK_MM2 = 1e-4
"""What should be seen and isn't wood, but is smaller than this, mm2, is the grid's rounding."""

MAX_ISLANDS = 3000
"""Islands of a layer that may be tied: strips for so many are searched in about a minute."""

NO_STRIPS: Mapping[int, Sequence[PlacedStrip]] = {}
"""Of a stack for which no strips were chosen."""

NO_PIECES: frozenset[str] = frozenset()
"""Where no loose piece must rest fully."""

MOST_GIVEN = 10
"""Rounds of giving pieces away: what hung on one may be an island then, and leave as well."""


@dataclass(frozen=True, slots=True)
class ResolvedSheet:
    """One sheet as it will be: its regions and how it holds.

    `sheet` is as it was checked, but for ties; the wood in the end is `connectivity.wood`.
    `refused` are the islands that nothing is done about; `loose` those that are cut free; `support_plan` says where
    the pieces in front rest and which risers that takes; `shown_ties` is what of the ties is seen, and so covers what
    lies behind; `specks` are the seen scraps that were left out; `found` are all islands as drawn, whatever was done
    about them since; `given` are the pieces that are painted behind or left out, and `guests` those of the sheets in
    front that are painted here; `fully_supported` are the names of loose pieces that must rest fully.
    """

    sheet: SheetWood
    connectivity: Connectivity
    refused: tuple[Island, ...]
    loose: tuple[Island, ...]
    ties: tuple[Tie, ...]
    shown_ties: Region
    support_plan: SupportPlan
    specks: tuple[Polygon, ...]
    found: tuple[Island, ...] = ()
    given: tuple[Guest, ...] = ()
    guests: tuple[Guest, ...] = ()
    fully_supported: frozenset[str] = frozenset()

    @property
    def glued(self) -> tuple[GluedPiece, ...]:
        """What must rest on the sheet behind: this sheet's loose pieces and its risers."""
        pieces = (GluedPiece(island.id, island.region, island.id in self.fully_supported) for island in self.loose)
        return (*pieces, *self.support_plan.risers)


@dataclass(frozen=True, slots=True)
class CheckedSheet:
    """One sheet as it was checked: its regions, what shows of it in patches, and how it holds."""

    sheet: SheetWood
    visible: QuadtreeRegion
    connectivity: Connectivity


@dataclass(frozen=True, slots=True)
class TiedSheet:
    """One sheet with its pieces given away and its ties set, before it is checked again: how it held until then,
    its regions with the ties, these, what of them is seen, what was given away, and the islands as drawn."""

    checked: CheckedSheet
    sheet: SheetWood
    ties: tuple[Tie, ...]
    shown_ties: Region
    given: tuple[Guest, ...]
    found: tuple[Island, ...]


@dataclass(slots=True)
class _LeftInFront:
    """What the sheets that are resolved already leave to those behind: ties that cover them, pieces that were given
    away or dropped, and loose pieces that must rest."""

    ties: Region = EMPTY
    given: list[Guest] = field(default_factory=list)
    dropped: Region = EMPTY
    glued: tuple[GluedPiece, ...] = ()

    @property
    def key(self) -> bytes:
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

    def pass_on(self, resolved: ResolvedSheet) -> None:
        """Add what else a sheet leaves, once it is resolved."""
        self.glued = resolved.glued
        if not self.dropped.is_empty:
            shown = union((resolved.sheet.face, *(guest.region for guest in resolved.given)))
            self.dropped = as_region(shapely.difference(self.dropped, shown))
        self.given += resolved.given
        left_out = [guest.region for guest in resolved.given if guest.home is None]
        self.dropped = union((self.dropped, *left_out)) if left_out else self.dropped


def resolve_islands(layers: Sequence[Layer], cell_map: CellMap, panel: Panel, job: Job) -> tuple[ResolvedSheet, ...]:
    """Resolve all sheets, the front one first; returned back to front. What is left to choose is left as it is."""
    return IslandResolver(layers, cell_map, panel).resolve(job)


class IslandResolver:
    """Resolves the islands of one drawing, as often as choices change; what doesn't depend on them is kept."""

    def __init__(self, layers: Sequence[Layer], cell_map: CellMap, panel: Panel) -> None:
        """Hold the drawing; nothing is checked yet."""
        self.layers, self.panel = layers, panel
        self.behind = SheetsBehind(cell_map)
        self._map = cell_map
        self._checked: dict[tuple[int, bytes], CheckedSheet] = {}

    def resolve(
        self,
        job: Job,
        strips: Mapping[int, Sequence[PlacedStrip]] = NO_STRIPS,
        fully_supported: frozenset[str] = NO_PIECES,
    ) -> tuple[ResolvedSheet, ...]:
        """Resolve all sheets, the front one first; returned back to front. `strips` are those chosen for each sheet;
        for a sheet without any they are looked for. `fully_supported` names the loose pieces that must rest fully."""
        run = _Run(self, job, strips, fully_supported)
        order = range(len(self.layers))[::-1]
        # Only visible ties and what is given away make a sheet depend on those in front; else all go side by side.
        alone: dict[int, ResolvedSheet] = {}
        if not sheets_depend_on_each_other(job.islands):
            alone = dict(zip(order, each(run.resolve_alone, order), strict=True))
        resolved: list[ResolvedSheet] = []
        front = _LeftInFront()
        for index in order:
            one = alone[index] if alone else run.resolve_behind(index, front)
            resolved.append(support_pieces(self.layers[index], one, front.glued, job.limits, job.material.kerf))
            front.pass_on(resolved[-1])
        return tuple(reversed(resolved))

    def check_ahead(self, index: int, front: _LeftInFront, job: Job) -> None:
        """Check the next sheets side by side, as those in front leave them by now. A sheet that then turns out to
        leave something of its own has those behind it checked again."""
        if index >= 0 and (index, front.key) not in self._checked:
            each(lambda ahead: self.check(ahead, front, job), range(index, max(index - WORKERS, -1), -1))

    def check(self, index: int, front: _LeftInFront, job: Job) -> CheckedSheet:
        """How a sheet holds behind those in front; checked once for all that these may leave."""
        key = (index, front.key)
        if key not in self._checked:
            guests = front.guests(index)
            sheet = find_wood(self._map, self.panel, index, job.limits.setback, front.ties, guests=guests)
            self._checked[key] = check_sheet(self.layers[index], sheet, self.panel, job.limits, job.material.kerf)
        return self._checked[key]


@dataclass(frozen=True, slots=True)
class _Run:
    """One resolving of all sheets, with what was chosen."""

    resolver: IslandResolver
    job: Job
    strips: Mapping[int, Sequence[PlacedStrip]]
    fully_supported: frozenset[str]

    def resolve_alone(self, index: int) -> ResolvedSheet:
        """A sheet to which those in front leave nothing."""
        return self._finish(index, self._give_and_tie(index, _LeftInFront()), _LeftInFront())

    def resolve_behind(self, index: int, front: _LeftInFront) -> ResolvedSheet:
        """A sheet behind those in front; its visible ties are added to what these leave."""
        tied = self._give_and_tie(index, front)
        front.cover(tied.shown_ties)
        if tied.given or not front.dropped.is_empty:
            return self._finish(index, tied, front)
        # All that it leaves is known now: it is checked again while those behind it are checked.
        behind = partial(self.resolver.check_ahead, index - 1, front, self.job)
        return both(partial(self._finish, index, tied, front), behind)[0]

    def _give_and_tie(self, index: int, front: _LeftInFront) -> TiedSheet:
        layer, job = self.resolver.layers[index], self.job
        checked = self.resolver.check(index, front, job)
        _check_count(layer, checked.connectivity, job.islands)
        homes = GuestHomes(self.resolver.behind, index, tuple(front.given))
        return give_and_tie(layer, checked, self.resolver.panel, job, homes, self.strips.get(index, ()))

    def _finish(self, index: int, tied: TiedSheet, front: _LeftInFront) -> ResolvedSheet:
        one = finish_sheet(self.resolver.layers[index], tied, self.resolver.panel, self.job)
        return replace(one, guests=front.guests(index).here, fully_supported=self.fully_supported)


def check_sheet(layer: Layer, sheet: SheetWood, panel: Panel, limits: LimitsJob, kerf_mm: float) -> CheckedSheet:
    """What holds as drawn, but for gaps that the beam can't cut."""
    closed = close_hairlines(sheet, kerf_mm)
    visible = QuadtreeRegion(closed.visible)
    return CheckedSheet(closed, visible, check_connectivity(layer, closed.wood, visible, panel, limits))


def _check_count(layer: Layer, connectivity: Connectivity, islands: IslandsJob) -> None:
    """Hold that strips for all islands that may be tied can be searched in sensible time."""
    count = sum(may_be_tied(islands, layer, island) for island in connectivity.islands)
    if count > MAX_ISLANDS:
        message = (
            f"{count} pieces of its wood would fall out; the most that can be tied or chosen for is {MAX_ISLANDS}."
        )
        hint = "Unite pieces, let them reach their neighbours, or choose --islands loose or behind."
        raise DrawingError("too-many-islands", message, hint, layer=layer.name)


@dataclass(frozen=True, slots=True)
class GuestHomes:
    """Where pieces of the sheet at `index` can go: what shows behind it, and the guests of the sheets in front."""

    behind: SheetsBehind
    index: int
    guests: tuple[Guest, ...] = ()

    def guests_of(self, island: Island, shown: Region, left_out: bool) -> tuple[Guest, ...]:
        """What is seen of an island as guests of the sheets on which it is painted, or left out; none where it can't
        be painted."""
        homes = () if left_out else self.behind.homes_of(shown, self.index, self.guests)
        return as_guests(island, shown, self.index, homes) if homes or left_out else ()


def give_and_tie(  # noqa: PLR0917 - all that a sheet is given away and tied by
    layer: Layer,
    checked: CheckedSheet,
    panel: Panel,
    job: Job,
    homes: GuestHomes,
    strips: Sequence[PlacedStrip] = (),
) -> TiedSheet:
    """Give away and tie the islands whose policy that is. `strips` are those that were chosen for the sheet; without
    any they are looked for."""
    found = checked.connectivity.islands
    checked, given = _give_away(layer, checked, panel, job, homes)
    sheet, connectivity = checked.sheet, checked.connectivity
    to_tie = [island for island in connectivity.islands if policy_of(job.islands, layer, island) == "tie"]
    if not to_tie:
        return TiedSheet(checked, sheet, (), EMPTY, given, found)
    width_mm = tie_width_mm(job.islands, job.limits)
    placed = tuple(strips) or find_strips(sheet, connectivity, to_tie, panel, tie_widths(job.limits, width_mm))
    return TiedSheet(checked, *add_ties(sheet, connectivity.wood, placed, panel, width_mm), given, found)


def finish_sheet(layer: Layer, tied: TiedSheet, panel: Panel, job: Job) -> ResolvedSheet:
    """Check a sheet with ties again, and cut free the islands whose policy that is; it carries nothing yet."""
    sheet, connectivity, given = tied.sheet, tied.checked.connectivity, tied.given
    drawn = tied.checked.sheet.visible
    if sheet is not tied.checked.sheet:
        visible = QuadtreeRegion(sheet.visible)
        connectivity = _check_again(layer, connectivity, sheet.wood, visible, panel, job.limits)
    ids = frozenset(one.id for one in connectivity.islands if policy_of(job.islands, layer, one) == "loose")
    # Last, so that what is tied to a piece goes with it, and is parted from the rest with it.
    wood, loose = cut_free(connectivity, ids, panel, cut_gap_mm(job.material.kerf))
    refused = tuple(island for island in connectivity.islands if island.id not in ids)
    # A piece of which the gap left nothing is as good as a scrap: it is told, not cut.
    specks = _specks(drawn, connectivity, ids - {island.id for island in loose})
    if given and specks:
        given, adopted = adopt_scraps(given, specks)
        sheet = _without(sheet, adopted)
        specks = tuple(speck for speck in specks if not shapely.intersects(speck, adopted))
    return ResolvedSheet(
        sheet=replace(sheet, visible=without_scraps(sheet.visible, specks, wood)),
        connectivity=replace(connectivity, wood=wood),
        refused=refused,
        loose=loose,
        ties=tied.ties,
        shown_ties=tied.shown_ties,
        support_plan=NOTHING_SUPPORTED,
        specks=specks,
        found=tied.found,
        given=given,
    )


def _give_away(
    layer: Layer, checked: CheckedSheet, panel: Panel, job: Job, homes: GuestHomes
) -> tuple[CheckedSheet, tuple[Guest, ...]]:
    """Give away the islands that are painted behind or left out; what hung on them may be an island then."""
    given: list[Guest] = []
    for _ in range(MOST_GIVEN):
        sheet, connectivity = checked.sheet, checked.connectivity
        gone = []
        for island, basin in connectivity.island_basins:
            policy = policy_of(job.islands, layer, island)
            if policy not in LEAVING:
                continue
            shown = as_region(checked.visible.shared_with(basin))
            guests = homes.guests_of(island, shown, policy == "out")
            given += guests
            gone += [basin] if guests else []
        if not gone:
            break
        wood = without_basins(connectivity.wood, gone, panel.frame)
        leaving = as_region(shapely.difference(spread_union(gone), panel.frame))
        shown = shared(leaving, sheet.visible)
        # Nobody saw the rest of it, so a riser may lie there.
        unseen = joined(sheet.unseen, less(leaving, shown))
        sheet = replace(_without(sheet, shown), unseen=unseen)
        visible = QuadtreeRegion(sheet.visible)
        again = _check_again(layer, connectivity, wood, visible, panel, job.limits)
        checked = CheckedSheet(sheet, visible, again)
    return checked, tuple(given)


def _check_again(  # noqa: PLR0917 - what a sheet is checked by
    layer: Layer, before: Connectivity, wood: Region, visible: QuadtreeRegion, panel: Panel, limits: LimitsJob
) -> Connectivity:
    """How a sheet holds with other wood than before; what fell away then may still carry something."""
    again = check_connectivity(layer, wood, visible, panel, limits)
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


def _specks(drawn: Region, connectivity: Connectivity, lost: frozenset[str]) -> tuple[Polygon, ...]:
    """What should be seen and isn't wood; what the beam takes between two pieces doesn't count."""
    gone = [basin for island, basin in connectivity.island_basins if island.id in lost]
    missing = union((less(drawn, connectivity.wood), *gone))
    return tuple(part for part in polygons_of(missing) if part.area > LEAST_SPECK_MM2)


def support_pieces(
    layer: Layer, sheet: ResolvedSheet, glued: Sequence[GluedPiece], limits: LimitsJob, kerf_mm: float
) -> ResolvedSheet:
    """Find what of a sheet the pieces in front can rest on; the same sheet where there are none."""
    if not glued:
        return sheet
    clearances = Clearances(limits.setback, cut_gap_mm(kerf_mm))
    plan = find_supports(glued, _supports_of(layer, sheet), limits.glue_contact, clearances)
    kept = [riser.region for riser in plan.risers]
    wood = union((sheet.connectivity.wood, *kept)) if kept else sheet.connectivity.wood
    return replace(sheet, connectivity=replace(sheet.connectivity, wood=wood), support_plan=plan)


def _supports_of(layer: Layer, sheet: ResolvedSheet) -> SheetSupports:
    """What of a sheet can carry the pieces in front; an island that nothing is done about can't."""
    free = union(island.region for island in (*sheet.connectivity.islands, *sheet.loose))
    return SheetSupports(
        name=layer.name,
        framed=as_region(shapely.difference(sheet.connectivity.wood, free)),
        loose=tuple(GluedPiece(island.id, island.region) for island in sheet.loose),
        spare=sheet.connectivity.spare,
        unseen=sheet.sheet.unseen,
        aside=union(island.region for island in sheet.refused),
    )
