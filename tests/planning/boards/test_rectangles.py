"""Rectangles on boards: what must fit does, and blocks are taken where rows need more."""

import pytest

from layercut.planning.boards.rectangles import pack_rectangles


@pytest.mark.parametrize(
    ("size", "room", "gap", "turn", "fits"),
    [
        ((100.0, 80.0), (100.0, 80.0), 2.0, False, True),
        ((100.0, 80.0), (99.99, 80.0), 2.0, False, False),
        ((100.0, 80.0), (80.0, 100.0), 2.0, False, False),
        ((100.0, 80.0), (80.0, 100.0), 2.0, True, True),
    ],
)
def test_a_rectangle_that_fits_exactly(
    size: tuple[float, float], room: tuple[float, float], gap: float, turn: bool, fits: bool
) -> None:
    assert (pack_rectangles([size], room, gap, turn=turn) is not None) == fits


def test_gaps_count_between_rectangles_only() -> None:
    spots = pack_rectangles([(100.15, 80.15)] * 2, (202.3, 80.15), 2.0, turn=False)
    assert spots is not None
    assert sorted((spot.board, round(spot.x_mm, 3), spot.y_mm) for spot in spots) == [(0, 0.0, 0.0), (0, 102.15, 0.0)]


def test_four_around_a_hole() -> None:
    """Four of 3 by 2 fill a square of 5 around a middle, which takes three in rows."""
    spots = pack_rectangles([(3.0, 2.0)] * 4, (5.0, 5.0), 0.0, turn=True)
    assert spots is not None
    assert {spot.board for spot in spots} == {0}


def test_none_for_none() -> None:
    assert pack_rectangles([], (10.0, 10.0), 1.0, turn=True) == []
