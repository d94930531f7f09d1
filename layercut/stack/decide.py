"""Decide what is done about every piece, and resolve the islands of the stack with it.

Enters: the layers, the cell map, the job. Leaves: the resolved sheets and the `Choice`s. Where the job leaves pieces
to layercut (`auto`), all are chosen for at once by what a look at the stack tells; then the stack is resolved with
that, and what turns out not to be (a piece that nothing carries, a strip that doesn't hold, a part that comes loose
with another) is chosen anew, until all holds.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

import shapely

from layercut.geometry.precision import CUT_APART_MM
from layercut.geometry.regions import Region, widest_mm
from layercut.job import Job
from layercut.job_tables import IslandsJob
from layercut.job_values import PiecePolicy
from layercut.model import Choice, Island, Layer, Panel, Price, WayOut
from layercut.stack.cells import CellMap
from layercut.stack.choose import Choosing, choose
from layercut.stack.cut_free import cut_gap_mm
from layercut.stack.faces import Face
from layercut.stack.policies import ALL_WAYS, is_left_to_us, policy_of
from layercut.stack.resolve_islands import IslandResolver, ResolvedSheet
from layercut.stack.supports import full_contact_mm2
from layercut.stack.ties import PlacedStrip
from layercut.stack.visible_paint import VisiblePaint
from layercut.stack.ways_out import PieceKey, UnheldPiece, WaysOut
from layercut.units import said_mm

MOST_ROUNDS = 20
"""So often the stack is resolved at most; by then whatever still doesn't hold is left out."""


@dataclass(frozen=True, slots=True)
class Decided:
    """The sheets as resolved in the end, what was chosen for each piece, by sheet from the back; what all choices
    cost in mm2, and what no other set of choices could undercut."""

    sheets: tuple[ResolvedSheet, ...]
    choices: tuple[tuple[Choice, ...], ...]
    mm2: float = 0.0
    bound_mm2: float = 0.0


@dataclass(slots=True)
class _State:
    """What was chosen so far, what turned out not to be, and what each way costs."""

    policies: dict[PieceKey, WayOut] = field(default_factory=dict)
    strips: dict[int, tuple[PlacedStrip, ...]] = field(default_factory=dict)
    forbidden: dict[tuple[PieceKey, WayOut], str] = field(default_factory=dict)
    pieces: dict[PieceKey, UnheldPiece] = field(default_factory=dict)
    costs: dict[PieceKey, Mapping[WayOut, float]] = field(default_factory=dict)
    mm2: float = 0.0
    bound_mm2: float = 0.0

    @property
    def loose(self) -> frozenset[str]:
        """The pieces that were chosen to be cut free: they must rest fully."""
        return frozenset(name for (_, name), policy in self.policies.items() if policy == "loose")

    def applied_to(self, job: Job) -> Job:
        """The job with what was chosen as each piece's own policy."""
        chosen: dict[str, PiecePolicy] = {name: policy for (_, name), policy in self.policies.items()}
        islands = job.islands.model_copy(update={"pieces": {**job.islands.pieces, **chosen}})
        return job.model_copy(update={"islands": islands})

    def give_up(self, key: PieceKey, why: str) -> None:
        """What was chosen for a piece can't be."""
        policy = self.policies.pop(key)
        self.forbidden[key, policy] = why
        if policy == "tie":
            # What hung on it hangs on nothing now, so the sheet's ties are looked for anew.
            sheet = key[0]
            self.strips.pop(sheet, None)
            for other in [one for one, way in self.policies.items() if one[0] == sheet and way == "tie"]:
                del self.policies[other]

    def add(self, pieces: Sequence[UnheldPiece], chosen: Choosing) -> None:
        """Take over what was chosen for some pieces."""
        for piece in pieces:
            self.pieces[piece.key] = piece
            self.costs[piece.key] = chosen.costs[piece.key]
            policy = chosen.policies[piece.key]
            if policy is not None:
                self.policies[piece.key] = policy
        for sheet, strips in chosen.strips.items():
            self.strips[sheet] = (*self.strips.get(sheet, ()), *strips)
        self.mm2, self.bound_mm2 = self.mm2 + chosen.mm2, self.bound_mm2 + chosen.bound_mm2


def decide(layers: Sequence[Layer], faces: Sequence[Face], cell_map: CellMap, panel: Panel, job: Job) -> Decided:
    """Resolve all islands, with a choice for each piece that the job leaves to layercut."""
    resolver = IslandResolver(layers, cell_map, panel)
    sheets = resolver.resolve(job)
    if not _undecided(layers, sheets, job.islands):
        return Decided(sheets, tuple(_plain_choices(layers, sheets, job.islands)))
    visible_paint = VisiblePaint(layers, [face.painted for face in faces])
    state = _State()
    # What is tied, cut free or given away can set further pieces free: these are chosen for in the next round.
    for round_ in range(MOST_ROUNDS):
        _choose(state, resolver, sheets, visible_paint, job, last=round_ + 2 >= MOST_ROUNDS)
        sheets = resolver.resolve(state.applied_to(job), state.strips, state.loose)
        # Each failure forbids one way of one piece, so this ends.
        while failed := dict(_failed(layers, sheets, state, job)):
            for key, why in failed.items():
                if key in state.policies:
                    state.give_up(key, why)
            sheets = resolver.resolve(state.applied_to(job), state.strips, state.loose)
        if not _undecided(layers, sheets, state.applied_to(job).islands):
            break
    return Decided(sheets, tuple(_choices(layers, sheets, state, job)), state.mm2, state.bound_mm2)


def _undecided(layers: Sequence[Layer], sheets: Sequence[ResolvedSheet], islands: IslandsJob) -> list[PieceKey]:
    """The islands that are still left to choose for."""
    return [
        (sheet, island.id)
        for sheet, (layer, one) in enumerate(zip(layers, sheets, strict=True))
        for island in one.refused
        if is_left_to_us(islands, layer, island)
    ]


def _choose(  # noqa: PLR0917 - all that a choice is made of
    state: _State,
    resolver: IslandResolver,
    sheets: Sequence[ResolvedSheet],
    visible_paint: VisiblePaint,
    job: Job,
    last: bool,
) -> None:
    """Choose for all pieces that are open; in the last round they are left out."""
    found = WaysOut(resolver.layers, sheets, visible_paint, resolver.behind, resolver.panel, state.applied_to(job))
    pieces: list[UnheldPiece] = []
    networks = {}
    for sheet in range(len(sheets)):
        mine = found.pieces(sheet)
        pieces += mine
        network = found.network(sheet, mine) if not last else None
        if network is not None:
            networks[sheet] = network
    forbidden = list(state.forbidden)
    if last:
        forbidden += [(piece.key, way) for piece in pieces for way in ALL_WAYS if way != "out"]
    state.add(pieces, choose(pieces, networks, job.prices, forbidden))


def _failed(
    layers: Sequence[Layer], sheets: Sequence[ResolvedSheet], state: _State, job: Job
) -> Iterator[tuple[PieceKey, str]]:
    """The pieces for which what was chosen doesn't hold, and why."""
    for sheet, one in enumerate(sheets):
        for island in one.refused:
            key = (sheet, island.id)
            if key in state.policies and is_left_to_us(job.islands, layers[sheet], island):
                yield key, "it doesn't hold"
        yield from _unsupported(layers, sheets, sheet, state, job)


def _unsupported(
    layers: Sequence[Layer], sheets: Sequence[ResolvedSheet], sheet: int, state: _State, job: Job
) -> Iterator[tuple[PieceKey, str]]:
    """The loose pieces of a sheet that nothing carries as a whole, or whose risers are too small to handle."""
    mine = [
        island
        for island in sheets[sheet].loose
        if (sheet, island.id) in state.policies and is_left_to_us(job.islands, layers[sheet], island)
    ]
    if not mine:
        return
    limits, least = job.limits, f"limits.piece, {said_mm(job.limits.piece, 'g')}"
    # It was wide enough as drawn; the gap is taken from it where it hangs, and that and a hair more are let go.
    least_mm = limits.piece - cut_gap_mm(job.material.kerf) - CUT_APART_MM
    plans = [one.support_plan for one in sheets[:sheet]]
    contact = {support.piece: support.contact_mm2 for support in plans[-1].supports} if plans else {}
    risers = [riser.region for plan in plans for riser in plan.risers if widest_mm(riser.region) < limits.piece]
    falling = [piece.region for plan in plans for piece in plan.unsupported]
    for island in mine:
        if widest_mm(island.region) < least_mm:
            yield (sheet, island.id), f"cut free, it is narrower than {least}"
        elif contact.get(island.id, 0.0) < full_contact_mm2(island.region, limits.setback):
            yield (sheet, island.id), "it doesn't rest fully on wood behind"
        elif _meets(island.region, [*risers, *falling]):
            yield (
                (sheet, island.id),
                f"what would carry it is smaller than {least}",
            )


def _meets(region: Region, others: Sequence[Region]) -> bool:
    return any(shapely.intersection(region, other).area > 0 for other in others)


def _plain_choices(
    layers: Sequence[Layer], sheets: Sequence[ResolvedSheet], islands: IslandsJob
) -> Iterator[tuple[Choice, ...]]:
    """What the job says about each island, where it leaves nothing to layercut."""
    for sheet, (layer, one) in enumerate(zip(layers, sheets, strict=True)):
        yield tuple(_choice(layer, sheet, island, one, islands, (), own=True) for island in one.found)


def _choices(
    layers: Sequence[Layer], sheets: Sequence[ResolvedSheet], state: _State, job: Job
) -> Iterator[tuple[Choice, ...]]:
    """What was chosen for each piece, with what the other ways would have cost."""
    islands = state.applied_to(job).islands
    for sheet, (layer, one) in enumerate(zip(layers, sheets, strict=True)):
        known = {island.id: island for island in one.found}
        known |= {key[1]: piece.island for key, piece in state.pieces.items() if key[0] == sheet}
        chosen = []
        for island in known.values():
            piece = state.pieces.get((sheet, island.id))
            ways = tuple(_prices(piece, state)) if piece else ()
            own = not is_left_to_us(job.islands, layer, island)
            chosen.append(_choice(layer, sheet, island, one, islands, ways, own=own))
        yield tuple(chosen)


def _prices(piece: UnheldPiece, state: _State) -> Iterator[Price]:
    costs = state.costs[piece.key]
    for policy in ALL_WAYS:
        why = state.forbidden.get((piece.key, policy)) or piece.why.get(policy, "")
        if policy == "tie" and policy not in costs and not why:
            why = "no strip joins it that is short enough and keeps it from swinging"
        yield Price(policy, None if why else costs.get(policy), why)


def _choice(  # noqa: PLR0917 - all of a choice
    layer: Layer,
    sheet: int,
    island: Island,
    resolved: ResolvedSheet,
    islands: IslandsJob,
    ways: tuple[Price, ...],
    own: bool,
) -> Choice:
    policy = policy_of(islands, layer, island)
    stays = {one.id for one in resolved.refused}
    chosen: WayOut | None = policy if policy in ALL_WAYS and island.id not in stays else None
    return Choice(island.id, island.element, sheet, island.region, chosen, ways, own, island.names, island.neck_mm)
