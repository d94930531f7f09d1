"""Settle one sheet: what holds, what is tied, what is cut free, and what it carries.

Enters: a sheet's regions, its layer, the job, and the loose pieces in front that must rest on it. Leaves: `Settled`.
Sheets are settled from front to back, because a visible tie covers what lies behind it, and a loose piece needs
something behind it to rest on.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
import shapely
from shapely import LineString, MultiPolygon, Polygon, STRtree

from layercut.geometry.offsets import dilate
from layercut.geometry.patchwork import Patchwork
from layercut.geometry.precision import CUT_APART_MM, GRID_MM
from layercut.geometry.regions import EMPTY, Region, as_region, polygons_of, union
from layercut.geometry.threads import each
from layercut.job import Job
from layercut.model import Guest, Island, Layer, Panel, Tie
from layercut.stack.behind import NO_GUESTS, Behind, Guests, adopt, give_away, guests_at
from layercut.stack.cells import CellMap
from layercut.stack.hairlines import close_hairlines, part_threads
from layercut.stack.islands import Hold, check_hold, hung_near
from layercut.stack.loose import NOTHING_CARRIED, Carried, Load, Offer, Room, carry
from layercut.stack.mend import drop_crumbs, give_back, pieces_as_cut, without_dust
from layercut.stack.naming import held_by, keep_names
from layercut.stack.ties import PlacedStrip, Widths, find_ties
from layercut.stack.wood import SheetWood, find_wood

LEAST_TIE_MM = 1.5
"""Width of a tie where the job sets neither a width nor a limit, mm: what the limit is unless the job changes it."""

NO_STRIPS: Mapping[int, Sequence[PlacedStrip]] = {}
"""Of a stack for which no strips were chosen."""

NOBODY: frozenset[str] = frozenset()
"""Where no loose piece must rest fully."""

LEAVING = ("behind", "out")
"""The policies under which a piece leaves its sheet."""

APART = ("loose", *LEAVING)
"""The policies under which a piece is parted from what it hangs by."""

MAX_SNIPS = 10
"""Rounds of cutting necks of loose pieces: a part behind a neck may itself hang by another."""


@dataclass(frozen=True, slots=True)
class Settled:
    """One sheet as it will be: its regions and how it holds.

    `sheet` is as it was looked at, but for ties; the wood in the end is `hold.wood`.
    `refused` are the islands that nothing is done about; `frail` those that should be cut free but whose necks no
    straight cut parts, so that they stay; `loose` those that are cut free; `carried` says where the
    pieces in front rest and which risers that takes; `shown_ties` is what of the ties is seen, and so covers what
    lies behind; `specks` are the seen scraps that were left out; `found` are all islands as drawn, whatever was done
    about them since; `given` are the pieces that are painted behind or left out, and `guests` those of the sheets in
    front that are painted here; `resting` are the names of loose pieces that must rest fully.
    """

    sheet: SheetWood
    hold: Hold
    refused: tuple[Island, ...]
    frail: tuple[Island, ...]
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
    visible: Patchwork
    hold: Hold


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

    def pass_on(self, settled: Settled) -> None:
        """Add what a sheet leaves, once it is settled."""
        self.ties, self.loads = union((self.ties, settled.shown_ties)), settled.loads
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

        def settle(index: int, front: _Front) -> Settled:
            seen = self._look(index, front, job)
            away = Away(self.behind, index, tuple(front.given))
            one = settle_sheet(self.layers[index], seen, self.panel, job, away, strips.get(index, ()))
            return replace(one, guests=front.guests(index).here, resting=resting)

        order = range(len(self.layers))[::-1]
        # Only visible ties and what is given away make a sheet depend on those in front; else all go side by side.
        alone: dict[int, Settled] = {}
        if not _may_change_others(job):
            alone = dict(zip(order, each(lambda index: settle(index, _Front()), order), strict=True))
        settled: list[Settled] = []
        front = _Front()
        for index in order:
            one = alone[index] if alone else settle(index, front)
            settled.append(load_sheet(self.layers[index], one, front.loads, job))
            front.pass_on(settled[-1])
        return tuple(reversed(settled))

    def _look(self, index: int, front: _Front, job: Job) -> Seen:
        """How a sheet holds behind those in front; the same look where these leave the same."""
        key = (index, front.mark)
        if key not in self._looks:
            guests = front.guests(index)
            sheet = find_wood(self._map, self.panel, index, job.limits.setback, front.ties, guests=guests)
            self._looks[key] = look_at_sheet(self.layers[index], sheet, self.panel, job)
        return self._looks[key]


def look_at_sheet(layer: Layer, sheet: SheetWood, panel: Panel, job: Job) -> Seen:
    """What holds as drawn, but for gaps that the beam can't cut."""
    closed = close_hairlines(sheet, job.material.kerf)
    visible = Patchwork(closed.visible)
    return Seen(closed, visible, check_hold(layer, closed.wood, visible, panel, job.limits))


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

    def guests_of(self, island: Island, visible: Region, left_out: bool) -> tuple[Guest, ...]:
        """An island as guests of the sheets on which it is painted, or left out; none where it can't be painted."""
        shown = as_region(shapely.intersection(island.region, visible))
        homes = () if left_out else self.behind.homes_of(shown, self.index, self.guests)
        return give_away(island, shown, self.index, homes) if homes or left_out else ()


def settle_sheet(  # noqa: PLR0917 - all that a sheet is settled with
    layer: Layer, seen: Seen, panel: Panel, job: Job, away: Away, strips: Sequence[PlacedStrip] = ()
) -> Settled:
    """Apply each island's policy; nothing is carried yet. `strips` are those that were chosen for the sheet; without
    any they are looked for."""
    hold = _snip(layer, seen, panel, job)
    sheet, hold, given = _give(layer, seen, hold, panel, job, away)
    drawn = sheet.visible  # all of it is wood until necks are cut
    sheet, hold, ties, shown_ties = _tie(layer, sheet, hold, panel, job, strips)
    hold = replace(hold, wood=drop_crumbs(give_back(hold.wood, drawn, job.material.kerf + CUT_APART_MM)))
    loose = tuple(
        island for island in hold.islands if _policy(job, layer, island) == "loose" and island.neck_mm is None
    )
    frail = tuple(i for i in hold.islands if _policy(job, layer, i) == "loose" and i.neck_mm is not None)
    refused = tuple(island for island in hold.islands if island not in loose and island not in frail)
    specks = tuple(polygons_of(shapely.difference(drawn, hold.wood)))
    if given and specks:
        given, adopted = adopt(given, specks)
        sheet = _without(sheet, adopted)
        specks = tuple(polygons_of(shapely.difference(sheet.visible, hold.wood)))
    sheet = replace(sheet, visible=without_dust(sheet.visible, specks, hold.wood))
    loose = pieces_as_cut(loose, hold.wood)
    found = seen.hold.islands
    return Settled(sheet, hold, refused, frail, loose, ties, shown_ties, NOTHING_CARRIED, specks, found, given)


def _give(  # noqa: PLR0917 - as for a look
    layer: Layer, seen: Seen, hold: Hold, panel: Panel, job: Job, away: Away
) -> tuple[SheetWood, Hold, tuple[Guest, ...]]:
    """Give away the islands that are painted behind or left out; what hung on them may be an island then."""
    sheet = seen.sheet
    given: list[Guest] = []
    for _ in range(MAX_SNIPS):
        leaving = [island for island in hold.islands if _policy(job, layer, island) in LEAVING]
        guests = [away.guests_of(island, sheet.visible, _policy(job, layer, island) == "out") for island in leaving]
        leaving = [island for island, parts in zip(leaving, guests, strict=True) if parts]
        if not leaving:
            break
        given += (guest for parts in guests for guest in parts)
        gone = union(island.region for island in leaving)
        shown = as_region(shapely.intersection(gone, sheet.visible))
        # Nobody saw the rest of it, so a riser may lie there.
        unseen = union((sheet.unseen, as_region(shapely.difference(gone, shown))))
        sheet = replace(_without(sheet, shown), unseen=unseen)
        left = as_region(shapely.difference(hold.wood, gone))
        seen = replace(seen, sheet=sheet, visible=Patchwork(sheet.visible))
        hold = _look_again(layer, seen, hold, left, panel, job)
    return sheet, hold, tuple(given)


def _without(sheet: SheetWood, shown: Region) -> SheetWood:
    """The sheet without something that was seen of it and that leaves it."""
    return replace(
        sheet,
        face=as_region(shapely.difference(sheet.face, shown)),
        visible=as_region(shapely.difference(sheet.visible, shown)),
        opening=union((sheet.opening, shown)),
    )


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
        aside=union(island.region for island in (*settled.frail, *settled.refused)),
    )


def _policy(job: Job, layer: Layer, island: Island) -> str:
    return job.islands.policy_for(layer.name, island.names)


def _snip(layer: Layer, seen: Seen, panel: Panel, job: Job) -> Hold:
    """Cut the necks by which loose pieces hang, so that they come free where it was planned."""
    hold, slits = seen.hold, []
    for _ in range(MAX_SNIPS):
        hung = [island for island in hold.islands if island.neck_mm is not None]
        snips = [line for island in hung if _policy(job, layer, island) in APART for line in island.across]
        if not snips:
            break
        wood, cuts = _cut_necks(seen, hold.wood, snips, panel, job)
        slits += cuts
        hold = _look_again(layer, seen, hold, wood, panel, job)
    if idle := _idle_slits(hold.wood, slits):
        # The picture needs that wood. Filled together, slits may join pieces, and what hung there hangs again.
        filled = shapely.intersection(shapely.buffer(union(idle), GRID_MM, join_style="mitre"), seen.hold.wood)
        hold = _look_again(layer, seen, hold, union((hold.wood, as_region(filled))), panel, job)
    loose = [island for island in hold.islands if island.neck_mm is None and _policy(job, layer, island) == "loose"]
    return _set_apart(hold, loose, job.material.kerf + CUT_APART_MM)


def _cut_necks(
    seen: Seen, wood: Region, snips: Sequence[LineString], panel: Panel, job: Job
) -> tuple[Region, list[Region]]:
    """The wood with slits across necks, and across those that a slit leaves beside it; and the slits."""
    slits: list[Region] = []
    # Where pieces differ in what is done about them, only a look at the whole sheet can name them.
    rounds = 1 if job.islands.pieces else MAX_SNIPS
    for _ in range(rounds):
        width = job.material.kerf + CUT_APART_MM
        cuts = shapely.difference(shapely.buffer(_lengthened(snips), width / 2, cap_style="flat"), panel.frame)
        slits += [as_region(cut) for cut in cuts]
        wood = as_region(shapely.difference(wood, union(cuts)))
        if rounds > 1:
            snips = [line for part in hung_near(wood, cuts, seen.visible, panel, job.limits) for line in part.across]
        if not snips:
            break
    return wood, slits


def _look_again(  # noqa: PLR0917 - what a sheet is looked at with
    layer: Layer, seen: Seen, hold: Hold, wood: Region, panel: Panel, job: Job
) -> Hold:
    """How a sheet holds with other wood than at the last look; what fell away before may still carry something."""
    again = check_hold(layer, wood, seen.visible, panel, job.limits)
    islands = keep_names(again.islands, seen.hold.islands)
    return replace(again, islands=islands, spare=(*hold.spare, *again.spare))


def _idle_slits(wood: Region, slits: Sequence[Region]) -> list[Region]:
    """The slits that part nothing: they don't lie between two pieces."""
    if not slits:
        return []
    slit, _ = STRtree(polygons_of(wood)).query(slits, predicate="dwithin", distance=GRID_MM)
    touching = np.bincount(slit, minlength=len(slits))
    return [slit for slit, count in zip(slits, touching, strict=True) if count < 2]


def _set_apart(hold: Hold, loose: Sequence[Island], gap_mm: float) -> Hold:
    """The sheet with each loose piece shaved where it lies nearer to other wood than the beam can part."""
    pieces = polygons_of(hold.wood)
    tree, patches = STRtree(pieces), [Patchwork(piece) for piece in pieces]
    islands = {island.id: island for island in hold.islands}
    for island in loose:
        mine = int(tree.query_nearest(shapely.point_on_surface(island.region), all_matches=False)[0])
        near = [int(i) for i in sorted(tree.query(pieces[mine], predicate="dwithin", distance=gap_mm)) if i != mine]
        around = shapely.box(*shapely.buffer(shapely.box(*pieces[mine].bounds), 2 * gap_mm).bounds)
        others = [as_region(patches[i].shared_with(around)) for i in near]
        # What was near may have been shaved itself by now.
        if any(shapely.dwithin(other, pieces[mine], gap_mm) for other in others):
            shaved = part_threads(as_region(shapely.difference(pieces[mine], dilate(union(others), gap_mm))))
            pieces[mine] = max(polygons_of(shaved), key=lambda part: float(part.area), default=Polygon())
            patches[mine] = Patchwork(pieces[mine])
            islands[island.id] = replace(island, region=pieces[mine], area_mm2=float(pieces[mine].area))
    kept = tuple(island for island in islands.values() if not island.region.is_empty)
    return replace(
        hold, wood=as_region(MultiPolygon([piece for piece in pieces if not piece.is_empty])), islands=kept
    )


def _lengthened(lines: Sequence[LineString]) -> list[LineString]:
    """Lines across a neck, a little longer at both ends, so that they cut it through."""
    longer = []
    for line in lines:
        (x0, y0), (x1, y1) = line.coords[0], line.coords[-1]
        length = max(line.length, CUT_APART_MM)
        ux, uy = (x1 - x0) / length * CUT_APART_MM, (y1 - y0) / length * CUT_APART_MM
        longer.append(LineString([(x0 - ux, y0 - uy), (x1 + ux, y1 + uy)]))
    return longer


def tie_width(job: Job) -> float:
    """How wide ties are, mm."""
    return max(job.islands.tie_width or 0.0, job.limits.neck) or LEAST_TIE_MM


def _tie(  # noqa: PLR0917 - as a sheet is settled
    layer: Layer, sheet: SheetWood, hold: Hold, panel: Panel, job: Job, chosen: Sequence[PlacedStrip]
) -> tuple[SheetWood, Hold, tuple[Tie, ...], Region]:
    """Join the islands whose policy is to be tied, and look again at what holds."""
    tied = [island for island in hold.islands if _policy(job, layer, island) == "tie"]
    if not tied:
        return sheet, hold, (), EMPTY
    placed = tuple(chosen) or _find_strips(sheet, hold, tied, panel, job)
    ties = tuple(_as_tie(one, sheet, hold.wood, panel, tie_width(job)) for one in placed)
    strips = [one.strip for one in placed]
    added = _on_panel(union(strip.region for strip in strips), panel)
    shown = as_region(shapely.intersection(added, sheet.opening))
    joined = replace(
        sheet,
        visible=union((sheet.visible, shown)),
        opening=as_region(shapely.difference(sheet.opening, added)),
        wood=union((hold.wood, added)),
    )
    again = check_hold(layer, joined.wood, Patchwork(joined.visible), panel, job.limits)
    return joined, replace(again, islands=keep_names(again.islands, hold.islands)), ties, shown


def _find_strips(
    sheet: SheetWood, hold: Hold, tied: Sequence[Island], panel: Panel, job: Job
) -> tuple[PlacedStrip, ...]:
    """The strips that join some islands to the frame and to each other, whatever they cost."""
    others = union(island.region for island in hold.islands if island not in tied)
    wood = as_region(shapely.difference(hold.wood, others))
    anchor = shapely.point_on_surface(panel.frame)
    widths = Widths(job.limits.neck, tie_width(job), job.limits.slender)
    strips = find_ties(wood, sheet.opening, anchor, widths, [island.region for island in tied])
    return tuple(PlacedStrip(strip, held_by(strip.region, tied)) for strip in strips)


def _as_tie(placed: PlacedStrip, sheet: SheetWood, wood: Region, panel: Panel, width_mm: float) -> Tie:
    strip = placed.strip
    added = as_region(shapely.intersection(shapely.difference(strip.region, wood), panel.interior))
    middle = strip.line.interpolate(0.5, normalized=True)
    seen = float(shapely.intersection(added, sheet.opening).area)
    at = (round(middle.x, 3), round(middle.y, 3))
    return Tie(at, width_mm, seen, added, placed.holds, strip.length_mm, strip.line)


def _on_panel(ties: Region, panel: Panel) -> Region:
    """Ties may neither reach over the rim nor fill the pin holes."""
    inside = as_region(shapely.intersection(ties, panel.outline))
    return as_region(shapely.difference(inside, union(panel.pins))) if panel.pins else inside
