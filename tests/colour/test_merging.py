"""Fewer pots: what is joined is alike, the larger keeps its colour, and a number is reached at least cost."""

from itertools import combinations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from layercut.colour import merging
from layercut.colour.cielab import difference, lab_of
from layercut.colour.merging import lower_to, merge_alike

COLOURS = st.integers(0, 0xFFFFFF).map(lambda value: f"#{value:06x}")
NEAR = st.integers(0, 12).flatmap(
    lambda base: st.tuples(*(st.integers(0, 3) for _ in range(3))).map(
        lambda off: "#" + "".join(f"{17 * base + part:02x}" for part in off)
    )
)
"""Colours in clusters, so that many are alike."""

AREAS = st.floats(0.1, 1000)
DRAWN = st.lists(st.tuples(NEAR | COLOURS, AREAS), min_size=1, max_size=40, unique_by=lambda one: one[0])


def _far(one: str, other: str) -> float:
    labs = lab_of([one, other])
    return float(difference(labs[0], labs[1]))


@settings(max_examples=60)
@given(DRAWN, st.floats(0.5, 6))
def test_what_is_joined_is_alike_and_what_is_kept_is_not(drawn: list[tuple[str, float]], limit: float) -> None:
    colours, areas = [one for one, _ in drawn], [area for _, area in drawn]
    stands = merge_alike(colours, areas, limit)
    assert (stands[stands] == stands).all()
    for one, other in enumerate(stands.tolist()):
        assert _far(colours[one], colours[other]) <= limit
        assert areas[other] >= areas[one]
    kept = [colours[k] for k in sorted(set(stands.tolist()))]
    for one, other in combinations(kept, 2):
        assert _far(one, other) > limit


@settings(max_examples=30)
@given(DRAWN, st.randoms(use_true_random=False))
def test_the_order_of_the_colours_says_nothing(drawn: list[tuple[str, float]], random: object) -> None:
    def told(some: list[tuple[str, float]]) -> dict[str, str]:
        colours = [one for one, _ in some]
        stands = merge_alike(colours, [area for _, area in some], 2.0)
        return {one: colours[k] for one, k in zip(colours, stands.tolist(), strict=True)}

    shuffled = list(drawn)
    random.shuffle(shuffled)  # type: ignore[attr-defined]
    assert told(shuffled) == told(drawn)


def test_no_limit_joins_nothing() -> None:
    assert merge_alike(["#808080", "#818181"], [1.0, 2.0], 0.0).tolist() == [0, 1]
    assert merge_alike(["#808080", "#818181"], [1.0, 2.0], 2.0).tolist() == [1, 1]


def _least(colours: list[str], areas: list[float], most: int) -> float:
    """The least cost over all choices, summed colour by colour."""
    return min(
        sum(area * min(_far(one, other) for other in some) ** 2 for one, area in zip(colours, areas, strict=True))
        for some in combinations(colours, most)
    )


SMALL = st.lists(st.tuples(COLOURS, AREAS), min_size=2, max_size=7, unique_by=lambda one: one[0])


@settings(max_examples=25)
@given(SMALL, st.integers(1, 4))
def test_few_colours_are_lowered_at_the_least_cost(drawn: list[tuple[str, float]], most: int) -> None:
    colours, areas = [one for one, _ in drawn], [area for _, area in drawn]
    most = min(most, len(colours))
    pots = lower_to(colours, areas, np.arange(len(colours)), most)
    assert len(set(pots.stands.tolist())) == most
    assert pots.cost == pytest.approx(_least(colours, areas, most), rel=1e-9, abs=1e-9)
    assert pots.bound == pytest.approx(pots.cost)


@settings(max_examples=60)
@given(SMALL, st.integers(1, 4))
def test_the_search_for_many_colours_keeps_its_bound(drawn: list[tuple[str, float]], most: int) -> None:
    """The way of many colours, taken with few, whose least cost is known."""
    colours, areas = [one for one, _ in drawn], [area for _, area in drawn]
    most = min(most, len(colours))
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(merging, "ALL_TRIED", 0)
        pots = lower_to(colours, areas, np.arange(len(colours)), most)
    least = _least(colours, areas, most)
    assert pots.bound <= least * (1 + 1e-9) + 1e-9
    assert pots.cost >= least * (1 - 1e-9) - 1e-9
    assert pots.cost <= 1.1 * least + 1e-6


def test_many_colours_come_near_the_bound() -> None:
    digits = np.random.default_rng(7).integers(0, 256, (94, 3), dtype=np.uint8)
    colours = [f"#{bytes(row).hex()}" for row in digits]
    areas = np.random.default_rng(8).uniform(1, 500, 94).tolist()
    pots = lower_to(colours, areas, np.arange(94), 20)
    assert pots.bound > 0
    assert pots.cost <= 1.03 * pots.bound
