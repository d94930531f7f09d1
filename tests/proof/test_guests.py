"""Pieces that are painted on a sheet behind their own: painted, and outlined where the job wants that."""

import pytest
from read_sheets import FILE, PANEL, WINDOW, plan_with, planned, read_as
from shapely import LineString, box

from layercut.proof.guests import check_guests
from layercut.proof.plan import PlannedGuest
from layercut.proof.reader import ReadSheet

BIRD = box(40, 40, 50, 50)
OUTLINE = LineString(BIRD.exterior)


def found(read: ReadSheet, guest: PlannedGuest) -> dict[str, float | None]:
    sheet = planned(WINDOW, PANEL, guests=(guest,))
    problems = list(check_guests(read, sheet, plan_with(sheet)))
    assert all(one.file == FILE and "bird" in one.message for one in problems)
    return {one.code: one.size for one in problems}


def test_a_piece_that_is_painted_and_outlined() -> None:
    assert found(read_as(lines=(OUTLINE,)), PlannedGuest("bird", BIRD, 0.0, True)) == {}


def test_what_has_no_paint_is_told() -> None:
    assert found(read_as(lines=(OUTLINE,)), PlannedGuest("bird", BIRD, 12.5, True)) == {"behind-unpainted": 12.5}


def test_what_of_the_outline_has_no_mark_is_told_unless_none_is_wanted() -> None:
    three_sides = LineString([(40, 40), (50, 40), (50, 50), (40, 50)])
    told = found(read_as(lines=(three_sides,)), PlannedGuest("bird", BIRD, 0.0, True))
    assert told == {"behind-unmarked": pytest.approx(10, abs=0.3)}
    assert found(read_as(), PlannedGuest("bird", BIRD, 0.0, False)) == {}


def test_a_cut_along_the_outline_is_a_line_too() -> None:
    assert found(read_as(BIRD), PlannedGuest("bird", BIRD, 0.0, True)) == {}


def test_where_another_sheet_ends_there_is_an_edge_to_see() -> None:
    """The sheet shows its left half only: a piece that reaches up to there needs no mark along that edge."""
    half, bird = box(10, 10, 50, 90), box(40, 40, 50, 50)
    three_sides = LineString([(50, 40), (40, 40), (40, 50), (50, 50)])
    sheet = planned(half, PANEL, guests=(PlannedGuest("bird", bird, 0.0, True),))
    assert list(check_guests(read_as(lines=(three_sides,)), sheet, plan_with(sheet))) == []
