"""Lines beside each other: told quickly, and never told wrongly."""

import numpy as np
import pytest
import shapely
from shapely import LineString, Point, affinity

from layercut.proof.beside import run_beside

REACH = 0.03


def beside(one: LineString, other: LineString) -> bool:
    (told,) = run_beside(np.array([one], dtype=object), np.array([other], dtype=object), REACH)
    return bool(told)


def serpentine(*, across: bool) -> LineString:
    """A square of 9 x 9 mm hatched up and down, or to and fro: the same length, all ends on the other."""
    points = [(float(k), 9.0 * ((k + j) % 2)) for k in range(10) for j in range(2)]
    return LineString([(y, x) for x, y in points] if across else points)


WAVE = LineString([(t / 10, np.sin(t / 10)) for t in range(300)])


@pytest.mark.parametrize(
    ("other", "near"),
    [
        (WAVE, True),
        (shapely.segmentize(WAVE, 0.02), True),
        (shapely.simplify(WAVE, 0.02), True),
        (affinity.translate(WAVE, 0.02, 0.01), True),
        (affinity.translate(WAVE, 0.05), False),
        (affinity.translate(WAVE, 0, 3), False),
        (shapely.simplify(WAVE, 0.2), False),
        (LineString(WAVE.coords[:-5]), False),
    ],
    ids=["itself", "more points", "fewer points", "a hair off", "off", "far off", "coarse", "shorter"],
)
def test_a_wave(other: LineString, near: bool) -> None:
    assert beside(WAVE, other) is near
    assert beside(other, WAVE) is near


def test_what_is_told_keeps_within_reach_all_along() -> None:
    """Against the exact distance, for many shifts around the reach."""
    told = 0
    for step in range(60):
        other = affinity.translate(WAVE, 0.0007 * step, 0.0003 * step)
        if beside(WAVE, other):
            told += 1
            assert shapely.hausdorff_distance(WAVE, other, densify=0.01) <= REACH
    assert 30 < told < 60


def test_hatchings_across_each_other_are_not_alike() -> None:
    one, other = serpentine(across=False), serpentine(across=True)
    assert one.length == other.length
    assert shapely.hausdorff_distance(one, other) == 0  # at vertices they are
    assert beside(one, one)
    assert not beside(one, other)


def test_each_pair_is_told_by_itself() -> None:
    ring, dot = Point(5, 5).buffer(3).exterior, LineString([(1, 1), (1, 1)])
    lines = np.array([WAVE, LineString(ring), dot, WAVE], dtype=object)
    others = np.array([WAVE, LineString(ring), dot, affinity.translate(WAVE, 1)], dtype=object)
    assert run_beside(lines, others, REACH).tolist() == [True, True, True, False]
    assert run_beside(lines[:0], others[:0], REACH).tolist() == []


def test_a_line_of_many_thousand_turns_is_no_matter() -> None:
    """A buffer of this one takes minutes."""
    x = np.arange(70_000) * 0.004
    zigzag = LineString(np.column_stack([x, np.where(np.arange(len(x)) % 2, 0.0, 10.0)]))
    assert beside(zigzag, affinity.translate(zigzag, 0.01, 0))
