"""Whether a sheet, as cut, shows what it should: known regions, known areas."""

import pytest
from read_sheets import FILE, PANEL, WINDOW, plan_with, planned, read_as
from shapely import Polygon, affinity, box

from layercut.proof.failures import ProofFailure
from layercut.proof.picture import PLACES, check_frame, check_picture, check_rim, visible_parts

HILL = box(10, 50, 90, 90)
SHEET = planned(HILL, WINDOW.difference(HILL))
WOOD = PANEL.difference(WINDOW.difference(HILL))
PLAN = plan_with(SHEET)


def told(wood: Polygon) -> list[ProofFailure]:
    return list(check_picture(SHEET, wood, PLAN))


def test_wood_as_planned_is_the_picture() -> None:
    assert told(WOOD) == []


def test_a_hole_in_what_is_seen_and_wood_before_what_is_deeper() -> None:
    (lost,) = told(WOOD.difference(box(30, 60, 34, 65)))
    assert (lost.code, lost.file, lost.size) == ("picture-differs", FILE, pytest.approx(20, abs=0.01))
    assert "lacks" in lost.message
    (stray,) = told(WOOD.union(box(30, 20, 34, 25)))
    assert stray.size == pytest.approx(20, abs=0.01)
    assert "covers" in stray.message
    assert stray.at_mm is not None
    assert 30 <= stray.at_mm[0] <= 34


def test_an_edge_within_the_tolerance_is_no_difference() -> None:
    assert told(WOOD.union(box(10, 49.995, 90, 50))) == []
    assert [one.code for one in told(WOOD.union(box(10, 49.9, 90, 50)))] == ["picture-differs"]


def test_many_places_are_told_one_by_one_and_then_together() -> None:
    holes = [box(12 + 9 * k, 60, 14 + 9 * k, 61 + 0.1 * k) for k in range(8)]
    wood = WOOD
    for hole in holes:
        wood = wood.difference(hole)
    problems = told(wood)
    assert len(problems) == PLACES + 1
    sizes = [one.size or 0.0 for one in problems]
    assert sizes[:PLACES] == sorted(sizes[:PLACES], reverse=True)
    assert sum(sizes) == pytest.approx(sum(hole.area for hole in holes), abs=0.05)
    assert f"{8 - PLACES} more places" in problems[-1].message


def test_what_is_narrower_than_the_tolerance_or_smaller_than_the_beam_is_not_seen() -> None:
    assert visible_parts(box(0, 0, 50, 0.009), PLAN) == []
    assert visible_parts(box(0, 0, 0.3, 0.3), plan_with(kerf_mm=0.4)) == []
    assert len(visible_parts(box(0, 0, 0.3, 0.3), plan_with(kerf_mm=0.2))) == 1


def test_the_rim_cuts_out_the_panel_once() -> None:
    assert list(check_rim(read_as(), FILE, PLAN)) == []
    assert [one.code for one in check_rim(read_as(rims=()), FILE, PLAN)] == ["rim-differs"]
    assert [one.code for one in check_rim(read_as(rims=(PANEL, PANEL)), FILE, PLAN)] == ["rim-differs"]
    moved = affinity.translate(PANEL, 1, 0)
    assert [one.size for one in check_rim(read_as(rims=(moved,)), FILE, PLAN)] == [pytest.approx(100)] * 2


def test_a_rim_lies_half_a_beam_outside_the_panel() -> None:
    plan = plan_with(kerf_mm=0.2)
    outside = PANEL.buffer(0.1, join_style="mitre")
    assert list(check_rim(read_as(rims=(outside,)), FILE, plan)) == []
    assert {one.code for one in check_rim(read_as(rims=(PANEL,)), FILE, plan)} == {"rim-differs"}


def test_the_frame_is_whole() -> None:
    assert list(check_frame(WOOD, FILE, PLAN)) == []
    (gone,) = check_frame(WOOD.difference(box(2, 20, 6, 30)), FILE, PLAN)
    assert (gone.code, gone.size) == ("frame-differs", pytest.approx(40, abs=0.01))
