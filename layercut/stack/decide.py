"""Decide what is done about every piece, and settle the stack with it.

Enters: the layers, the cell map, the job. Leaves: the settled sheets and the `Choice`s. Where the job leaves pieces
to layercut (`auto`), all are chosen for at once by what a look at the stack tells; then the stack is settled with
that, and what turns out not to be (a piece that nothing carries, a strip that doesn't hold, a part that comes loose
with another) is chosen anew, until all holds.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

import shapely

from layercut.geometry.precision import CUT_APART_MM
from layercut.geometry.regions import Region, widest_mm
from layercut.job import Job
from layercut.job_values import PiecePolicy
from layercut.model import Choice, Island, Layer, Panel, Price, WayOut
from layercut.stack.cells import CellMap
from layercut.stack.choose import Choosing, choose
from layercut.stack.faces import Face
from layercut.stack.loose import full_rest_mm2
from layercut.stack.seen import Picture
from layercut.stack.settle import Settled, Settler
from layercut.stack.ties import PlacedStrip
from layercut.stack.ways import ALL_WAYS, Key, Piece, WaysOut

MOST_ROUNDS = 20
"""So often the stack is settled at most; by then whatever still doesn't hold is left out."""


@dataclass(frozen=True, slots=True)
class Decided:
    """The stack as settled in the end, what was chosen for each piece, by sheet from the back; what all choices cost
    in mm2, and what no other set of choices could undercut."""

    settled: tuple[Settled, ...]
    choices: tuple[tuple[Choice, ...], ...]
    mm2: float = 0.0
    bound_mm2: float = 0.0


@dataclass(slots=True)
class _State:
    """What was chosen so far, what turned out not to be, and what each way was said to cost."""

    policies: dict[Key, WayOut] = field(default_factory=dict)
    strips: dict[int, tuple[PlacedStrip, ...]] = field(default_factory=dict)
    forbidden: dict[tuple[Key, WayOut], str] = field(default_factory=dict)
    pieces: dict[Key, Piece] = field(default_factory=dict)
    told: dict[Key, Mapping[WayOut, float]] = field(default_factory=dict)
    mm2: float = 0.0
    bound_mm2: float = 0.0

    @property
    def loose(self) -> frozenset[str]:
        """The pieces that were chosen to be cut free: they must rest fully."""
        return frozenset(name for (_, name), policy in self.policies.items() if policy == "loose")

    def job(self, job: Job) -> Job:
        """The job with what was chosen as each piece's own policy."""
        chosen: dict[str, PiecePolicy] = {name: policy for (_, name), policy in self.policies.items()}
        islands = job.islands.model_copy(update={"pieces": {**job.islands.pieces, **chosen}})
        return job.model_copy(update={"islands": islands})

    def give_up(self, key: Key, why: str) -> None:
        """What was chosen for a piece can't be."""
        policy = self.policies.pop(key)
        self.forbidden[key, policy] = why
        if policy == "tie":
            # What hung on it hangs on nothing now, so the sheet's ties are looked for anew.
            sheet = key[0]
            self.strips.pop(sheet, None)
            for other in [one for one, way in self.policies.items() if one[0] == sheet and way == "tie"]:
                del self.policies[other]

    def add(self, pieces: Sequence[Piece], chosen: Choosing) -> None:
        """Take over what was chosen for some pieces."""
        for piece in pieces:
            self.pieces[piece.key] = piece
            self.told[piece.key] = chosen.told[piece.key]
            policy = chosen.policies[piece.key]
            if policy is not None:
                self.policies[piece.key] = policy
        for sheet, strips in chosen.strips.items():
            self.strips[sheet] = (*self.strips.get(sheet, ()), *strips)
        self.mm2, self.bound_mm2 = self.mm2 + chosen.mm2, self.bound_mm2 + chosen.bound_mm2


def decide(layers: Sequence[Layer], faces: Sequence[Face], cell_map: CellMap, panel: Panel, job: Job) -> Decided:
    """Settle the stack, with a choice for each piece that the job leaves to layercut."""
    settler = Settler(layers, cell_map, panel)
    settled = settler.settle(job)
    if not _open(layers, settled, job):
        return Decided(settled, tuple(_plain_choices(layers, settled, job)))
    picture = Picture(layers, [face.painted for face in faces])
    state = _State()
    for round_ in range(MOST_ROUNDS):
        _choose(state, settler, settled, picture, job, last=round_ + 2 >= MOST_ROUNDS)
        settled = settler.settle(state.job(job), state.strips, state.loose)
        while failed := dict(_failed(layers, settled, state, job)):
            for key, why in failed.items():
                if key in state.policies:
                    state.give_up(key, why)
            settled = settler.settle(state.job(job), state.strips, state.loose)
        if not _open(layers, settled, state.job(job)):
            break
    return Decided(settled, tuple(_choices(layers, settled, state, job)), state.mm2, state.bound_mm2)


def _open(layers: Sequence[Layer], settled: Sequence[Settled], job: Job) -> list[Key]:
    """The islands that are still left to choose for."""
    return [
        (sheet, island.id)
        for sheet, (layer, one) in enumerate(zip(layers, settled, strict=True))
        for island in one.refused
        if job.islands.policy_for(layer.name, island.names) == "auto"
    ]


def _choose(  # noqa: PLR0917 - all that a choice is made of
    state: _State, settler: Settler, settled: Sequence[Settled], picture: Picture, job: Job, last: bool
) -> None:
    """Choose for all pieces that are open; in the last round they are left out."""
    found = WaysOut(settler.layers, settled, picture, settler.behind, settler.panel, state.job(job))
    pieces: list[Piece] = []
    nets = {}
    for sheet in range(len(settled)):
        mine = found.pieces(sheet)
        pieces += mine
        net = found.net(sheet, mine) if not last else None
        if net is not None:
            nets[sheet] = net
    forbidden = list(state.forbidden)
    if last:
        forbidden += [(piece.key, way) for piece in pieces for way in ALL_WAYS if way != "out"]
    state.add(pieces, choose(pieces, nets, job.prices, forbidden))


def _failed(
    layers: Sequence[Layer], settled: Sequence[Settled], state: _State, job: Job
) -> Iterator[tuple[Key, str]]:
    """The pieces for which what was chosen doesn't hold, and why."""
    for sheet, one in enumerate(settled):
        for island in one.refused:
            key = (sheet, island.id)
            if key in state.policies and _is_left_to_us(layers[sheet], island, job):
                yield key, "it doesn't hold"
        yield from _unrested(layers, settled, sheet, state, job)


def _is_left_to_us(layer: Layer, island: Island, job: Job) -> bool:
    return job.islands.policy_for(layer.name, island.names) == "auto"


def _unrested(
    layers: Sequence[Layer], settled: Sequence[Settled], sheet: int, state: _State, job: Job
) -> Iterator[tuple[Key, str]]:
    """The loose pieces of a sheet that nothing carries as a whole, or whose risers are too small to handle."""
    mine = [
        island
        for island in settled[sheet].loose
        if (sheet, island.id) in state.policies and _is_left_to_us(layers[sheet], island, job)
    ]
    if not mine:
        return
    carried = [one.carried for one in settled[:sheet]]
    contact = {rest.load: rest.contact_mm2 for rest in carried[-1].rests} if carried else {}
    risers = [riser.region for one in carried for riser in one.risers if widest_mm(riser.region) < job.limits.piece]
    falling = [load.region for one in carried for load in one.unheld]
    for island in mine:
        if widest_mm(island.region) < job.limits.piece - job.material.kerf - 2 * CUT_APART_MM:
            yield (sheet, island.id), f"cut free, it is narrower than limits.piece, {job.limits.piece:g} mm"
        elif contact.get(island.id, 0.0) < full_rest_mm2(island.region, job.limits.setback):
            yield (sheet, island.id), "it doesn't rest fully on wood behind"
        elif _meets(island.region, [*risers, *falling]):
            yield (sheet, island.id), f"what would carry it is smaller than limits.piece, {job.limits.piece:g} mm"


def _meets(region: Region, others: Sequence[Region]) -> bool:
    return any(shapely.intersection(region, other).area > 0 for other in others)


def _plain_choices(layers: Sequence[Layer], settled: Sequence[Settled], job: Job) -> Iterator[tuple[Choice, ...]]:
    """What the job says about each island, where it leaves nothing to layercut."""
    for sheet, (layer, one) in enumerate(zip(layers, settled, strict=True)):
        yield tuple(_choice(layer, sheet, island, one, job, (), own=True) for island in one.found)


def _choices(
    layers: Sequence[Layer], settled: Sequence[Settled], state: _State, job: Job
) -> Iterator[tuple[Choice, ...]]:
    """What was chosen for each piece, with what the other ways would have cost."""
    now = state.job(job)
    for sheet, (layer, one) in enumerate(zip(layers, settled, strict=True)):
        known = {island.id: island for island in one.found}
        known |= {key[1]: piece.island for key, piece in state.pieces.items() if key[0] == sheet}
        chosen = []
        for island in known.values():
            piece = state.pieces.get((sheet, island.id))
            ways = tuple(_prices(piece, state)) if piece else ()
            own = not _is_left_to_us(layer, island, job)
            chosen.append(_choice(layer, sheet, island, one, now, ways, own=own))
        yield tuple(chosen)


def _prices(piece: Piece, state: _State) -> Iterator[Price]:
    told = state.told[piece.key]
    for policy in ALL_WAYS:
        why = state.forbidden.get((piece.key, policy)) or piece.why.get(policy, "")
        if policy == "tie" and policy not in told and not why:
            why = "no strip joins it that is short enough and keeps it from swinging"
        yield Price(policy, None if why else told.get(policy), why)


def _choice(  # noqa: PLR0917 - all of a choice
    layer: Layer, sheet: int, island: Island, settled: Settled, job: Job, ways: tuple[Price, ...], own: bool
) -> Choice:
    policy = job.islands.policy_for(layer.name, island.names)
    stays = {one.id for one in settled.refused}
    chosen: WayOut | None = policy if policy in ALL_WAYS and island.id not in stays else None
    return Choice(island.id, island.element, sheet, island.region, chosen, ways, own, island.names, island.neck_mm)
