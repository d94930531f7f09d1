"""Mixes of own paints: the best of all, in few whole drops, and only where it is worth it."""

from collections.abc import Sequence
from itertools import combinations, product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from layercut.colour.cielab import difference, lab_of, linear_of
from layercut.colour.reflectance import absorbed, colours_of, reflectances
from layercut.planning import mixing
from layercut.planning.mixing import MOST_DROPS, WORTH, Mixer
from layercut.planning.own_paints import Matcher, OwnPaints
from layercut.workplan import Drops

COLOURS = st.integers(0, 0xFFFFFF).map(lambda value: f"#{value:06x}")
PAINTS = st.lists(COLOURS, min_size=2, max_size=4, unique=True)


def mixed_colour(parts: Sequence[Drops]) -> str:
    """The colour `#rrggbb` that drops of some paints come to (colour/reflectance.py)."""
    parts = sorted(parts, key=lambda part: (part.colour, part.drops))
    counts = np.array([part.drops for part in parts], dtype=float)
    absorption = absorbed(reflectances(linear_of([part.colour for part in parts])))
    return colours_of((counts @ absorption / counts.sum())[None])[0]


def _own(colours: list[str]) -> OwnPaints:
    return OwnPaints("mine.csv", tuple((f"paint {place}", colour) for place, colour in enumerate(colours)))


def _off(one: str, other: str) -> float:
    labs = lab_of([one, other])
    return float(difference(labs[0], labs[1]))


@settings(max_examples=25)
@given(PAINTS, COLOURS)
def test_the_best_of_all_mixes(colours: list[str], wanted: str) -> None:
    own = _own(colours)
    nearest = Matcher(own).nearest(wanted).difference
    found = Mixer(own).best(wanted, nearest)
    every = [
        mixed_colour([Drops(*paint, count) for paint, count in zip(some, drops, strict=True)])
        for size in (2, 3)
        for some in combinations(own.paints, size)
        for drops in product(range(1, MOST_DROPS), repeat=size)
        if sum(drops) <= MOST_DROPS
    ]
    least = min(_off(colour, wanted) for colour in every)
    if nearest - least < WORTH - 0.01:
        assert found is None
    elif nearest - least > WORTH + 0.01:
        assert found is not None
        assert found.difference == pytest.approx(least, abs=0.011)
    if found:
        assert found.difference == pytest.approx(_off(found.colour, wanted))
        assert found.colour == mixed_colour(list(found.parts))
        assert 2 <= len(found.parts) <= 3
        assert sum(part.drops for part in found.parts) <= MOST_DROPS


def test_a_paint_mixed_with_itself_is_itself() -> None:
    assert mixed_colour([Drops("mine", "#8c2f24", 3), Drops("mine again", "#8c2f24", 5)]) == "#8c2f24"
    assert Mixer(_own(["#8c2f24"])).best("#ffffff", 50.0) is None
    twice = OwnPaints("mine.csv", (("one", "#8c2f24"), ("the same", "#8c2f24")))
    assert Mixer(twice).best("#aa4433", 10.0) is None


def test_a_grey_of_black_and_white() -> None:
    found = Mixer(_own(["#ffffff", "#101010", "#c02020"])).best("#808080", 30.0)
    assert found is not None
    assert {part.colour for part in found.parts} == {"#ffffff", "#101010"}
    assert found.parts[0].drops >= found.parts[-1].drops


def test_a_long_list_is_mixed_from_paints_that_lie_apart(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(mixing, "MOST_MIXED", 5)
    digits = np.random.default_rng(3).integers(0, 256, (40, 3), dtype=np.uint8)
    found = Mixer(_own([f"#{bytes(row).hex()}" for row in digits])).best("#777777", 40.0)
    assert found is not None
    assert found.difference <= 39.0
