"""One choice for all pieces: of every set of ways out the one that makes least of the picture wrong.

Enters: pieces with their ways out, and the strips that could join those of each sheet. Leaves: a `Choosing`. Pieces
that have nothing to do with each other are chosen for alone; where they depend on each other (a strip to another
piece, a piece that carries another) all combinations are tried, up to `MOST_TRIED`. Beyond that pieces are changed
one by one as long as that helps, and a bound tells how much better any other choice could be.
"""

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import product

import networkx as nx

from layercut.job_tables import PricesJob
from layercut.model import WayOut
from layercut.stack.prices import price_tie, seen_least
from layercut.stack.strips import Candidate, Strip
from layercut.stack.ties import PlacedStrip, second_ties, spanning_tree, would_swing
from layercut.stack.visible_paint import BARE
from layercut.stack.ways_out import PieceKey, PricedWay, TieLink, TieNetwork, UnheldPiece

MOST_TRIED = 3000
"""So many combinations of ways are tried for pieces that depend on each other; each takes up to some milliseconds."""

MOST_CHANGES = 400
"""So many changes of one piece are tried where there are more combinations."""

IMPOSSIBLE = math.inf


@dataclass(frozen=True, slots=True)
class TiePlan:
    """Some pieces of a sheet joined to its frame: what each costs, by its name, and the strips of each; those that no
    strip joins are in `failed`."""

    mm2: Mapping[str, float]
    strips: tuple[PlacedStrip, ...]
    failed: frozenset[str]


@dataclass(frozen=True, slots=True)
class Choosing:
    """What is done about each piece (None where nothing can be), the strips by sheet, what each way costs where it
    can be, what it costs in all, and what no other choice can undercut."""

    policies: Mapping[PieceKey, WayOut | None]
    strips: Mapping[int, tuple[PlacedStrip, ...]]
    costs: Mapping[PieceKey, Mapping[WayOut, float]]
    mm2: float
    bound_mm2: float


class TiePricer:
    """What it costs to join any of the pieces of one sheet; each set is worked out once."""

    def __init__(self, network: TieNetwork, prices: PricesJob) -> None:
        """Price every strip alone, in the better colour of its two ends."""
        self._network, self._prices = network, prices
        self._by_owner: dict[str, list[int]] = {}
        for node, owner in enumerate(network.owners):
            if owner is not None:
                self._by_owner.setdefault(owner, []).append(node)
        self._seen = {id(link.strip): link.seen for link in network.links}
        self._candidates = [Candidate(link.nodes, link.strip, self._alone(link)) for link in network.links]
        self._near: dict[int, list[int]] = {}
        for place, candidate in enumerate(self._candidates):
            for node in candidate.nodes:
                self._near.setdefault(node, []).append(place)
        self._known: dict[frozenset[str], TiePlan] = {}

    def _alone(self, link: TieLink) -> float:
        paint = seen_least([link.seen], self._prices)
        return price_tie(link.seen, paint or BARE, self._prices)

    def join(self, names: frozenset[str]) -> TiePlan:
        """The cheapest strips that join some pieces to the frame, steadied where one alone would swing."""
        if names not in self._known:
            self._known[names] = self._join(names)
        return self._known[names]

    def least_mm2(self, name: str) -> float:
        """The cheapest strip at a piece: it can't be joined for less."""
        near = (
            self._candidates[place].cost
            for node in self._by_owner.get(name, ())
            for place in self._near.get(node, ())
        )
        return min(near, default=IMPOSSIBLE)

    def links(self) -> Iterator[tuple[str, str, float]]:
        """The strips between two pieces, with their prices."""
        for candidate in self._candidates:
            a, b = (self._network.owners[node] for node in candidate.nodes)
            if a is not None and b is not None and a != b:
                yield a, b, candidate.cost

    def _join(self, names: frozenset[str]) -> TiePlan:
        nodes = [self._network.root, *(node for name in sorted(names) for node in self._by_owner.get(name, ()))]
        number = {node: place for place, node in enumerate(nodes)}
        places = sorted({place for node in nodes for place in self._near.get(node, ())})
        offered = [
            Candidate((number[a], number[b]), candidate.strip, candidate.cost)
            for candidate in (self._candidates[place] for place in places)
            for a, b in [candidate.nodes]
            if a in number and b in number
        ]
        cores = [self._network.nodes[node] for node in nodes]
        # The bodies of these pieces alone, numbered anew, and the frame's as 0: no strip may lead over another piece.
        tree = spanning_tree(offered, cores)
        joined = _reached(tree)
        failed = {self._network.owners[node] for node in nodes[1:] if number[node] not in joined}
        failed |= {name for name in names if name not in self._by_owner}
        if failed - {None}:
            # What can't be joined may have been the way to others.
            rest = names - failed
            left = self.join(frozenset(rest)) if rest else TiePlan({}, (), frozenset())
            return TiePlan(left.mm2, left.strips, left.failed | frozenset(name for name in failed if name))
        # A piece that reaches far from its only tie needs a second; one that finds none can't be tied at all.
        extra = second_ties(tree, offered, cores, 0, self._network.width_mm)
        swinging = would_swing([*tree, *extra], cores, 0, self._network.width_mm)
        unsteady = {self._network.owners[nodes[place]] for place in swinging}
        if unsteady - {None}:
            rest = names - unsteady
            left = self.join(frozenset(rest)) if rest else TiePlan({}, (), frozenset())
            return TiePlan(left.mm2, left.strips, left.failed | frozenset(name for name in unsteady if name))
        return self._placed(tree, extra, nodes)

    def _placed(self, tree: Sequence[Candidate], extra: Sequence[Candidate], nodes: Sequence[int]) -> TiePlan:
        """Each strip with the piece that it holds: of a tree's strip the one further from the frame."""
        parents = dict(nx.bfs_predecessors(nx.Graph([candidate.nodes for candidate in tree]), 0)) if tree else {}
        mine: dict[str, list[Strip]] = {}
        for candidate in tree:
            a, b = candidate.nodes
            child = a if parents.get(a) == b else b
            mine.setdefault(self._network.owners[nodes[child]] or "", []).append(candidate.strip)
        for candidate in extra:
            a, b = candidate.nodes
            child = a if a else b
            mine.setdefault(self._network.owners[nodes[child]] or "", []).append(candidate.strip)
        costs: dict[str, float] = {}
        strips: list[PlacedStrip] = []
        for name, held in sorted(mine.items()):
            seen = [self._seen[id(strip)] for strip in held]
            paint = seen_least(seen, self._prices)
            costs[name] = sum(price_tie(one, paint or BARE, self._prices) for one in seen)
            strips += [PlacedStrip(strip, name) for strip in held]
        return TiePlan(costs, tuple(strips), frozenset())


def _reached(tree: Sequence[Candidate]) -> set[int]:
    graph = nx.Graph([candidate.nodes for candidate in tree])
    return set(nx.node_connected_component(graph, 0)) if 0 in graph else {0}


@dataclass(slots=True)
class _Problem:
    """All pieces with the ways that are open to each, and the ties of each sheet."""

    pieces: Mapping[PieceKey, UnheldPiece]
    ties: Mapping[int, TiePricer]
    forbidden: frozenset[tuple[PieceKey, WayOut]]
    options: dict[PieceKey, list[WayOut]] = field(default_factory=dict)
    _ways: dict[tuple[PieceKey, WayOut], PricedWay] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for key, piece in self.pieces.items():
            for way in piece.ways:
                self._ways.setdefault((key, way.policy), way)
            open_ways = [way.policy for way in piece.ways if way.policy in piece.allowed]
            open_ways += ["tie"] if "tie" in piece.allowed and key[0] in self.ties else []
            self.options[key] = [policy for policy in open_ways if (key, policy) not in self.forbidden]

    def way(self, key: PieceKey, policy: WayOut) -> PricedWay | None:
        """A piece's way of a policy, if it has one; ties are none."""
        return self._ways.get((key, policy))

    def alone(self, key: PieceKey, policy: WayOut) -> float:
        """What a way costs a piece if nothing is tied but itself."""
        if policy == "tie":
            tied = self.ties[key[0]].join(frozenset([key[1]]))
            return tied.mm2.get(key[1], IMPOSSIBLE) if not tied.failed else IMPOSSIBLE
        way = self.way(key, policy)
        return way.mm2 if way else IMPOSSIBLE

    def cost(self, chosen: Mapping[PieceKey, WayOut]) -> float:
        """What a choice for some pieces costs; infinite where one needs what another isn't."""
        total = 0.0
        tied: dict[int, set[str]] = {}
        for key, policy in chosen.items():
            if policy == "tie":
                tied.setdefault(key[0], set()).add(key[1])
                continue
            way = self.way(key, policy)
            if way is None or not all(self._met(need, allowed, chosen) for need, allowed in way.needs):
                return IMPOSSIBLE
            total += way.mm2
        for sheet, names in tied.items():
            joined = self.ties[sheet].join(frozenset(names))
            if joined.failed:
                return IMPOSSIBLE
            total += sum(joined.mm2.values())
        return total

    def _met(self, need: PieceKey, allowed: Sequence[WayOut], chosen: Mapping[PieceKey, WayOut]) -> bool:
        # A piece about which nothing may be done isn't there to lean on.
        return chosen[need] in allowed if need in chosen else False


def choose(
    pieces: Sequence[UnheldPiece],
    networks: Mapping[int, TieNetwork],
    prices: PricesJob,
    forbidden: Iterable[tuple[PieceKey, WayOut]] = (),
) -> Choosing:
    """Choose for all pieces at once; ways that turned out not to be are `forbidden`."""
    ties = {sheet: TiePricer(network, prices) for sheet, network in networks.items()}
    problem = _Problem({piece.key: piece for piece in pieces}, ties, frozenset(forbidden))
    chosen: dict[PieceKey, WayOut | None] = {}
    total = bound = 0.0
    for group in _groups(problem):
        best, mm2, least = _choose_group(problem, group)
        chosen |= best
        total, bound = total + mm2, bound + least
    strips = {
        sheet: ties[sheet].join(frozenset(k[1] for k, way in chosen.items() if k[0] == sheet and way == "tie")).strips
        for sheet in sorted(ties)
    }
    costs = {key: dict(_costs(problem, key, chosen)) for key in problem.pieces}
    return Choosing(chosen, strips, costs, total, bound)


def _costs(
    problem: _Problem, key: PieceKey, chosen: Mapping[PieceKey, WayOut | None]
) -> Iterator[tuple[WayOut, float]]:
    """What each way costs a piece, the others as they were chosen."""
    for way in problem.options[key]:
        mm2 = problem.alone(key, way)
        if way == "tie":
            names = {k[1] for k, policy in chosen.items() if k[0] == key[0] and policy == "tie"} | {key[1]}
            joined = problem.ties[key[0]].join(frozenset(names))
            mm2 = joined.mm2.get(key[1], mm2)
        if mm2 < IMPOSSIBLE:
            yield way, mm2


def _groups(problem: _Problem) -> Iterator[list[PieceKey]]:
    """The pieces in groups that don't depend on each other, in order."""
    graph = nx.Graph()
    graph.add_nodes_from(problem.pieces)
    for key, piece in problem.pieces.items():
        graph.add_edges_from((key, need) for way in piece.ways for need, _ in way.needs if need in problem.pieces)
    for sheet in problem.ties:
        graph.add_edges_from(_useful_links(problem, sheet))
    yield from sorted((sorted(part) for part in nx.connected_components(graph)), key=lambda part: part[0])


def _useful_links(problem: _Problem, sheet: int) -> list[tuple[PieceKey, PieceKey]]:
    """The pairs of pieces of a sheet that a strip between them could serve.

    A strip that holds a piece p, and all that hangs on it, is no use if it costs more than p's best other way and all
    that those behind it could save: each of those costs its cheapest strip at least.
    """
    ties = problem.ties[sheet]
    mine = [key for key in problem.pieces if key[0] == sheet and "tie" in problem.options[key]]
    best = {key[1]: _best_alone(problem, key) for key in mine}
    saved = {name: max(mm2 - ties.least_mm2(name), 0.0) for name, mm2 in best.items()}
    links = [(a, b, mm2) for a, b, mm2 in ties.links() if a in best and b in best]
    for _ in range(3):
        graph = nx.Graph([(a, b) for a, b, _ in links])
        together = [(part, sum(saved[one] for one in part)) for part in nx.connected_components(graph)]
        others = {name: total for part, total in together for name in part}
        links = [
            (a, b, mm2) for a, b, mm2 in links if any(mm2 <= best[one] + others[one] - saved[one] for one in (a, b))
        ]
    return [((sheet, a), (sheet, b)) for a, b, _ in links]


def _best_alone(problem: _Problem, key: PieceKey) -> float:
    """The cheapest way of a piece that needs no other."""
    free = [way.mm2 for way in problem.pieces[key].ways if way.policy in problem.options[key] and not way.needs]
    free += [problem.alone(key, "tie")] if "tie" in problem.options[key] else []
    return min(free, default=IMPOSSIBLE)


def _choose_group(problem: _Problem, group: Sequence[PieceKey]) -> tuple[dict[PieceKey, WayOut | None], float, float]:
    """What to do about pieces that depend on each other, what it costs, and what nothing can undercut."""
    free = [key for key in group if problem.options[key]]
    stuck: dict[PieceKey, WayOut | None] = {key: None for key in group if not problem.options[key]}
    count = math.prod(len(problem.options[key]) for key in free)
    found, mm2 = _try_all(problem, free) if count <= MOST_TRIED else _change_one_by_one(problem, free)
    least = mm2 if count <= MOST_TRIED else sum(_least(problem, key) for key in free)
    if mm2 == IMPOSSIBLE:
        # Nothing fits together, as where each piece has one way only: each has the best it has, and is told later.
        found, mm2 = {key: _first_best(problem, key) for key in free}, 0.0
        least = 0.0
    return stuck | found, mm2, min(least, mm2)


def _try_all(problem: _Problem, keys: Sequence[PieceKey]) -> tuple[dict[PieceKey, WayOut | None], float]:
    best: dict[PieceKey, WayOut | None] = {}
    least = IMPOSSIBLE
    for ways in product(*(problem.options[key] for key in keys)):
        chosen = dict(zip(keys, ways, strict=True))
        mm2 = problem.cost(chosen)
        if mm2 < least:
            best, least = dict(chosen), mm2
    return best, least


def _change_one_by_one(problem: _Problem, keys: Sequence[PieceKey]) -> tuple[dict[PieceKey, WayOut | None], float]:
    """Start from what each would have with the cheapest strip, give up what isn't worth it, then change one at a
    time."""
    # The tree of ties is worked out anew for each set of names, so a change that can't pay, since its cheapest strip
    # alone costs more than all of what was found, isn't tried.
    chosen = _start(problem, keys)
    mm2 = problem.cost(chosen)
    tries = 0
    better = True
    while better and tries < MOST_CHANGES:
        better = False
        for key in keys:
            for way in problem.options[key]:
                if way == chosen[key] or tries >= MOST_CHANGES or _least_of(problem, key, way) >= mm2:
                    continue
                tries += 1
                changed = {**chosen, key: way}
                now = problem.cost(changed)
                if now < mm2 - 1e-9:
                    chosen, mm2, better = changed, now, True
    return dict(chosen), mm2


def _start(problem: _Problem, keys: Sequence[PieceKey]) -> dict[PieceKey, WayOut]:
    """A choice to begin with: all are tied for which the cheapest strip is worth it, but those that then aren't."""
    other = {key: _best_other(problem, key) for key in keys}
    tied = {key for key in keys if "tie" in problem.options[key] and _least_of(problem, key, "tie") < other[key][1]}
    for _ in range(len(keys)):
        dear: set[PieceKey] = set()
        for sheet in sorted({key[0] for key in tied}):
            names = frozenset(key[1] for key in tied if key[0] == sheet)
            joined = problem.ties[sheet].join(names)
            dear |= {(sheet, name) for name in joined.failed}
            dear |= {(sheet, name) for name, mm2 in joined.mm2.items() if mm2 > other[sheet, name][1]}
        dear = {key for key in dear if other[key][0] is not None}
        if not dear:
            break
        tied -= dear
    return {key: "tie" if key in tied else (other[key][0] or "tie") for key in keys}


def _best_other(problem: _Problem, key: PieceKey) -> tuple[WayOut | None, float]:
    """The cheapest way of a piece but a tie, one that needs no other piece if there is one."""
    ways = [way for way in problem.pieces[key].ways if way.policy in problem.options[key]]
    best = min(ways, key=lambda way: (bool(way.needs), way.mm2), default=None)
    return (best.policy, best.mm2) if best else (None, IMPOSSIBLE)


def _first_best(problem: _Problem, key: PieceKey) -> WayOut:
    return min(problem.options[key], key=lambda way: problem.alone(key, way))


def _least(problem: _Problem, key: PieceKey) -> float:
    return min(_least_of(problem, key, way) for way in problem.options[key])


def _least_of(problem: _Problem, key: PieceKey, way: WayOut) -> float:
    """What a way costs a piece at least, whatever is done about the others."""
    return problem.ties[key[0]].least_mm2(key[1]) if way == "tie" else problem.alone(key, way)
