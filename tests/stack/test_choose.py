"""The choice for all pieces at once against every combination, and prices by hand.

What ties cost there is scipy's spanning tree over the strips' prices; all strips have one colour, so that a strip
costs the same in whatever company.
"""

import itertools
import math
from random import Random

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import connected_components, minimum_spanning_tree
from shapely import LineString, box

from layercut.job import load_job
from layercut.model import Island, Paint
from layercut.stack import choose as module
from layercut.stack.choose import choose
from layercut.stack.policies import ALL_WAYS
from layercut.stack.prices import SeenStrip, price_behind, price_loose, price_out, price_tie, seen_least
from layercut.stack.strips import Strip
from layercut.stack.ways_out import Need, PricedWay, TieLink, TieNetwork, UnheldPiece

PRICES = load_job(None).prices
SKY, GREEN, RED = Paint("#bcd7e6"), Paint("#4c7a34"), Paint("#b5483a")
WIDTH_MM = 1.5


def _seen(
    mm2: float,
    along: float = 0.0,
    ends: tuple[Paint | None, ...] = (GREEN, GREEN),
    crosses: tuple[tuple[Paint, float], ...] = (),
) -> SeenStrip:
    """A strip over the sky, unless it crosses something else."""
    return SeenStrip(mm2, mm2 / WIDTH_MM, WIDTH_MM, crosses or ((SKY, mm2),), along, ends)


def _link(a: int, b: int, mm2: float) -> TieLink:
    line = LineString([(10 * a, 0), (10 * b, 5)])
    return TieLink((a, b), Strip(line, line.buffer(WIDTH_MM / 2), mm2, mm2 / WIDTH_MM), _seen(mm2))


def _piece(number: int, ways: list[PricedWay]) -> UnheldPiece:
    region = box(10 * number, 0, 10 * number + 4, 4)
    return UnheldPiece(
        (0, f"p{number}"), Island(f"p{number}", region, (0.0, 0.0), region.area, ""), ALL_WAYS, tuple(ways)
    )


def _scene(chance: Random, count: int) -> tuple[list[UnheldPiece], TieNetwork]:
    """Pieces with random ways out, some of which need another piece, and strips of up to 12 mm2 between them."""
    pieces = []
    for number in range(1, count + 1):
        ways = [PricedWay("out", chance.uniform(10, 40))]
        if chance.random() < 0.6:
            other = chance.choice([n for n in range(1, count + 1) if n != number])
            needs: tuple[Need, ...] = (((0, f"p{other}"), ("tie", "loose")),) if chance.random() < 0.5 else ()
            ways.append(PricedWay("loose", chance.uniform(2, 20), needs))
        if chance.random() < 0.6:
            ways.append(PricedWay("behind", chance.uniform(2, 30)))
        pieces.append(_piece(number, ways))
    pairs = [pair for pair in itertools.combinations(range(count + 1), 2) if chance.random() < 0.6]
    links = tuple(_link(a, b, chance.uniform(1, 12)) for a, b in pairs)
    nodes = tuple(box(10 * n, 0, 10 * n + 1, 1) for n in range(count + 1))
    return pieces, TieNetwork(nodes, (None, *(f"p{n}" for n in range(1, count + 1))), 0, links, WIDTH_MM)


def _tree_mm2(network: TieNetwork, tied: list[int]) -> float:
    """The least that joins some nodes to the root's; infinite if nothing does."""
    nodes = [0, *tied]
    weights = np.zeros((len(nodes), len(nodes)))
    for link in network.links:
        a, b = link.nodes
        if a in nodes and b in nodes:
            weights[nodes.index(a), nodes.index(b)] = price_tie(link.seen, GREEN, PRICES)
    if connected_components(csr_matrix(weights), directed=False)[0] > 1:
        return math.inf
    return float(minimum_spanning_tree(csr_matrix(weights)).sum())


def _cost(pieces: list[UnheldPiece], network: TieNetwork, ways: dict[str, str]) -> float:
    total = _tree_mm2(network, [int(name[1:]) for name, way in ways.items() if way == "tie"])
    for piece in pieces:
        name = piece.key[1]
        for way in piece.ways:
            if way.policy == ways[name]:
                total += way.mm2
                total += sum(math.inf for (_, need), allowed in way.needs if ways[need] not in allowed)
    return total


def _least(pieces: list[UnheldPiece], network: TieNetwork) -> float:
    options = [["tie", *(way.policy for way in piece.ways)] for piece in pieces]
    names = [piece.key[1] for piece in pieces]
    return min(_cost(pieces, network, dict(zip(names, ways, strict=True))) for ways in itertools.product(*options))


@settings(max_examples=20)
@given(st.integers(0, 10**6))
def test_of_all_combinations_the_cheapest_is_taken(seed: int) -> None:
    chance = Random(seed)
    pieces, network = _scene(chance, chance.randint(2, 5))
    found = choose(pieces, {0: network}, PRICES)
    least = _least(pieces, network)
    assert found.mm2 == pytest.approx(least)
    assert found.bound_mm2 == pytest.approx(least)
    ways = {name: str(way) for (_, name), way in found.policies.items()}
    assert _cost(pieces, network, ways) == pytest.approx(least)


@settings(max_examples=20)
@given(st.integers(0, 10**6))
def test_where_not_all_are_tried_the_bound_holds(seed: int) -> None:
    chance = Random(seed)
    pieces, network = _scene(chance, chance.randint(3, 5))
    least = _least(pieces, network)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(module, "MOST_TRIED", 1)
        found = choose(pieces, {0: network}, PRICES)
    assert found.bound_mm2 <= least + 1e-9 <= found.mm2 + 2e-9
    ways = {name: str(way) for (_, name), way in found.policies.items()}
    assert _cost(pieces, network, ways) == pytest.approx(found.mm2)


def test_a_forbidden_way_is_not_taken_and_nothing_left_is_told() -> None:
    piece = _piece(1, [PricedWay("behind", 3.0), PricedWay("out", 9.0)])
    assert choose([piece], {}, PRICES).policies == {(0, "p1"): "behind"}
    assert choose([piece], {}, PRICES, [((0, "p1"), "behind")]).policies == {(0, "p1"): "out"}
    every = [((0, "p1"), way) for way in ALL_WAYS]
    assert choose([piece], {}, PRICES, every).policies == {(0, "p1"): None}


def test_prices_by_hand() -> None:
    """A strip of 4.5 mm2 is 3 mm long, twice its width; 9 mm2 is 6 mm, a third more than three times."""
    far = PRICES.sky * 4.5 + 0.01 * 3
    assert price_tie(_seen(4.5, crosses=((RED, 4.5),)), GREEN, PRICES) == pytest.approx(far)
    assert price_tie(_seen(9, crosses=((RED, 9),)), GREEN, PRICES) == pytest.approx(9 * 6 / 4.5 + 0.06)
    same = _seen(4.5, crosses=((GREEN, 4.5),))
    assert price_tie(same, GREEN, PRICES) == pytest.approx(PRICES.blending * 4.5 + 0.03)
    led = _seen(4.5, crosses=((RED, 4.5),), along=1.0)
    assert price_tie(led, GREEN, PRICES) == pytest.approx(PRICES.along * 4.5 + 0.03)
    assert price_tie(_seen(4.5, crosses=((RED, 4.5),)), SKY, PRICES) > price_tie(
        _seen(4.5, crosses=((RED, 4.5),), ends=(SKY, SKY)), SKY, PRICES
    )
    icicle = _seen(4.5, crosses=((RED, 4.5),), ends=(GREEN, None))
    assert price_tie(icicle, GREEN, PRICES) == pytest.approx(PRICES.frame * 4.5 + 0.03)
    assert price_tie(_seen(0.0), GREEN, PRICES) == 0.0
    assert price_behind(10, 2, PRICES) == pytest.approx(20 * PRICES.flat)
    assert price_out(10, PRICES) == pytest.approx(10 * PRICES.missing)
    assert price_loose(box(0, 0, 5, 5), 20, 1, PRICES) == pytest.approx(20 * PRICES.astray + 2 * PRICES.gluing)


def test_ties_have_the_colour_that_is_seen_least() -> None:
    looks = [_seen(4, ends=(GREEN, SKY)), _seen(4, ends=(GREEN, RED))]
    assert seen_least(looks, PRICES) == SKY
    assert seen_least([_seen(4, ends=(None, RED))], PRICES) == RED
    assert seen_least([_seen(4, ends=(None, None))], PRICES) is None
