"""Rectangles on boards, against published sets whose least number of boards is known.

The sets are those of E. Hopper and B. Turton, "An empirical investigation of meta-heuristic and heuristic algorithms
for a 2D packing problem", European Journal of Operational Research 128 (2001): each was made by cutting one board up
without waste, so that it fits one board, and k of them fit k and no fewer. The data are those of the package
hyperpack (Apache-2.0); that each fills its board, as the paper says, is looked at here.
"""

import importlib
from itertools import combinations

import pytest
from shapely import box

from layercut.planning.boards.rectangles import Size, Spot, pack_rectangles

CLASSES = range(1, 8)
SETS = ("items_a", "items_b", "items_c")


def published(number: int) -> tuple[Size, list[list[Size]]]:
    """The board and the three sets of a class."""
    data = importlib.import_module(f"hyperpack.benchmarks.datasets.hopper_and_turton_2000.C{number}")
    board = data.containers["container_0"]
    sets = [[(float(one["w"]), float(one["l"])) for one in getattr(data, name).values()] for name in SETS]
    return (float(board["W"]), float(board["L"])), sets


def boards(spots: list[Spot] | None) -> int:
    assert spots is not None
    return 1 + max(spot.board for spot in spots)


@pytest.mark.parametrize("number", CLASSES)
def test_each_set_fills_its_board(number: int) -> None:
    (wide, high), sets = published(number)
    assert [sum(w * h for w, h in items) for items in sets] == [wide * high] * 3


@pytest.mark.parametrize("turn", [False, True])
@pytest.mark.parametrize("number", CLASSES)
def test_within_one_board_of_the_least(number: int, turn: bool) -> None:
    room, sets = published(number)
    for items in sets:
        assert boards(pack_rectangles(items, room, 0.0, turn=turn)) <= 2
    together = [one for items in sets for one in items]
    assert boards(pack_rectangles(together, room, 0.0, turn=turn)) <= 4
    if number <= 4:
        assert boards(pack_rectangles(together * 4, room, 0.0, turn=turn)) <= 13


@pytest.mark.parametrize("turn", [False, True])
def test_none_overlap_and_all_keep_the_gap(turn: bool) -> None:
    (wide, high), sets = published(2)
    spots = pack_rectangles(sets[0], (wide * 1.3, high * 1.3), 0.7, turn=turn)
    assert spots is not None
    placed = []
    for (w, h), spot in zip(sets[0], spots, strict=True):
        w, h = (h, w) if spot.turned else (w, h)  # noqa: PLW2901 - as it lies
        placed.append((spot.board, box(spot.x_mm, spot.y_mm, spot.x_mm + w, spot.y_mm + h)))
    assert all(box(0, 0, wide * 1.3, high * 1.3).buffer(1e-6).covers(one) for _, one in placed)
    for (board, one), (other_board, other) in combinations(placed, 2):
        assert board != other_board or one.distance(other) >= 0.7 - 1e-6
    assert any(spot.turned for spot in spots) == turn
