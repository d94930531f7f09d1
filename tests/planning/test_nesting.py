"""Layouts against brute force, and small parts in the waste of openings."""

import itertools
from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import box

from layercut.planning.nesting import lay_out


def brute_force(w: int, h: int, wide: int, high: int) -> int:
    """The most rectangles of w by h, upright or turned, on a small board of whole numbers: every cell is tried in
    turn.

    Fill the first free cell with a rectangle or leave it waste; the best of all ways. Exact (it is known that whole
    positions are enough when all sides are whole).
    """
    shapes = {(w, h), (h, w)}

    @cache
    def best(skyline: tuple[int, ...]) -> int:
        low = min(skyline)
        if low >= high:
            return 0
        x = skyline.index(low)
        waste = list(skyline)
        waste[x] += 1
        found = best(tuple(waste))
        for a, b in shapes:
            if x + a <= wide and low + b <= high and all(level == low for level in skyline[x : x + a]):
                found = max(found, 1 + best((*skyline[:x], *[low + b] * a, *skyline[x + a :])))
        return found

    return best((0,) * wide)


SMALL = [(2, 3), (1, 3), (2, 5), (3, 4)]
BOARDS = [(5, 5), (6, 4), (7, 5), (8, 3), (4, 9), (7, 7)]


@pytest.mark.parametrize(("size", "board"), list(itertools.product(SMALL, BOARDS)), ids=str)
def test_counts_against_brute_force(size: tuple[int, int], board: tuple[int, int]) -> None:
    """Among them pinwheels, which no rows have: 2 by 3 on 5 by 5, 3 by 4 on 7 by 7."""
    assert lay_out(size, board, 0.0, 0.0, 10).each == brute_force(*size, *board)


@settings(max_examples=60)
@given(
    st.tuples(st.floats(20, 90), st.floats(20, 90)),
    st.tuples(st.floats(60, 400), st.floats(60, 400)),
    st.floats(0, 5),
)
def test_what_is_laid_out_does_fit(size: tuple[float, float], board: tuple[float, float], gap: float) -> None:
    (w, h), (wide, high), edge = size, board, 1.5 * gap
    found = lay_out((w, h), (wide, high), gap, edge, 7)
    boxes = [box(x, y, x + (h if turned else w), y + (w if turned else h)) for x, y, turned in found.spots]
    assert len(boxes) == found.each
    for one in boxes:
        assert box(edge, edge, wide - edge, high - edge).buffer(0.002).contains(one)
    for one, other in itertools.combinations(boxes[:12], 2):
        assert one.distance(other) >= gap - 0.003
    assert found.boards * found.each >= 7 or found.each == 0


@pytest.mark.parametrize(("count", "boards"), [(0, 0), (1, 1), (6, 1), (7, 2), (13, 3)])
def test_the_least_boards(count: int, boards: int) -> None:
    found = lay_out((100, 100), (300, 200), 0.0, 0.0, count)
    assert (found.each, found.boards) == (6, boards)


def test_a_panel_that_fits_turned_only_and_one_that_doesnt() -> None:
    assert lay_out((300, 200), (210, 310), 2.0, 0.0, 1).spots == ((0.0, 0.0, True),)
    assert lay_out((300, 200), (250, 250), 2.0, 0.0, 3) == lay_out((300, 200), (250, 250), 0.0, 0.0, 9)
    assert lay_out((300, 200), (250, 250), 0.0, 0.0, 9).boards == 0
