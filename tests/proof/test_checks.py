"""Size, order, pieces and ties of a sheet: each law kept, and broken in one way."""

from dataclasses import replace

import pytest
from read_sheets import FILE, PANEL, WINDOW, plan_with, planned, read_as
from shapely import MultiPolygon, Point, box

from layercut.proof.checks import check_order, check_size, check_ties, sort_pieces
from layercut.proof.looks import ROLES
from layercut.proof.plan import PlannedPiece, PlannedTie

LARGE, SMALL = box(20, 20, 60, 60), box(30, 30, 40, 40)
SHEET = planned(WINDOW, PANEL)


def test_a_sheet_is_as_large_as_the_panel_and_its_cuts_as_long_as_said() -> None:
    sheet = replace(SHEET, cut_mm=400.0 + 160.0)
    assert list(check_size(read_as(LARGE), sheet, plan_with())) == []
    (wrong,) = check_size(read_as(LARGE, size_mm=101.0), sheet, plan_with())
    assert wrong.code == "size-differs"
    (longer,) = check_size(read_as(LARGE, SMALL), sheet, plan_with())
    assert (longer.code, longer.size) == ("length-differs", 40.0)
    assert "longer" in longer.message


def test_marks_before_openings_before_the_rim() -> None:
    assert list(check_order(read_as(LARGE), FILE)) == []
    (wrong,) = check_order(read_as(roles=ROLES[::-1]), FILE)
    assert wrong.code == "order-roles"


def test_an_inner_contour_comes_before_the_one_around_it() -> None:
    assert list(check_order(read_as(SMALL, LARGE), FILE)) == []
    (wrong,) = check_order(read_as(LARGE, SMALL), FILE)
    assert (wrong.code, wrong.size) == ("order-inside", 1)


def test_a_contour_is_cut_once() -> None:
    (wrong,) = check_order(read_as(SMALL, SMALL), FILE)
    assert wrong.code == "sheet-damaged"


def test_a_tie_is_as_wide_as_it_should_be() -> None:
    sheet, plan = replace(SHEET, ties=(PlannedTie((50.0, 50.0), 3.0),)), plan_with()
    assert list(check_ties(sheet, box(48.5, 0, 51.5, 100), plan)) == []
    (narrow,) = check_ties(sheet, box(48.5, 0, 51, 100), plan)
    assert (narrow.code, narrow.at_mm) == ("tie-missing", (50.0, 50.0))
    (gone,) = check_ties(sheet, box(0, 0, 10, 100), plan)
    assert gone.size == pytest.approx(Point(0, 0).buffer(1.49).area, abs=0.1)


RING = PANEL.difference(WINDOW)
MOON = Point(50, 50).buffer(5)
PLANNED = PlannedPiece("moon", (50.0, 50.0), float(MOON.area))


def test_the_frame_s_piece_and_those_that_come_loose() -> None:
    sheet = replace(SHEET, pieces=(PLANNED,))
    verdict, problems = sort_pieces(read_as(), sheet, MultiPolygon([MOON, RING]), plan_with())
    assert problems == []
    assert verdict.pieces_on_frame == 1
    assert [piece.id for piece in verdict.loose] == ["moon"]


def test_a_piece_that_is_missing_one_that_nobody_named_and_one_of_another_size() -> None:
    sheet = replace(SHEET, pieces=(PLANNED,))
    _, missing = sort_pieces(read_as(), sheet, RING, plan_with())
    assert [one.code for one in missing] == ["piece-missing"]
    verdict, nameless = sort_pieces(read_as(), SHEET, MultiPolygon([MOON, RING]), plan_with())
    assert [one.code for one in nameless] == ["piece-loose"]
    assert [piece.id for piece in verdict.loose] == [""]
    _, smaller = sort_pieces(read_as(), sheet, MultiPolygon([MOON.buffer(-1), RING]), plan_with())
    assert [one.code for one in smaller] == ["piece-differs"]


def test_without_wood_at_the_rim_nothing_is_framed() -> None:
    verdict, _ = sort_pieces(read_as(), SHEET, MOON, plan_with())
    assert verdict.pieces_on_frame == 0
