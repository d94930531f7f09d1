"""Whether what is engraved is what was planned, each once, and on wood off the cuts."""

import pytest
from read_sheets import FILE, PANEL, WINDOW, plan_with, planned, read_as
from shapely import LineString, Polygon, affinity, box

from layercut.proof.marks import check_marks, check_marks_on_wood
from layercut.proof.plan import PlannedMarks
from layercut.proof.reader import ReadSheet

LINE = LineString([(20, 20), (50, 20), (50, 40)])
OTHER = LineString([(20, 60), (40, 60)])
AREA = box(60, 60, 70, 70)


def codes(read: ReadSheet, *lines: LineString, areas: tuple[Polygon, ...] = ()) -> dict[str, float | None]:
    """What is wrong with the marks, and how much of it."""
    sheet = planned(WINDOW, PANEL, marks=PlannedMarks(areas, lines))
    return {found.code: found.size for found in check_marks(read, sheet, plan_with(sheet))}


def test_marks_as_planned_in_any_order_and_direction() -> None:
    assert codes(read_as(lines=(OTHER, LINE.reverse()), areas=(AREA,)), LINE, OTHER, areas=(AREA,)) == {}


def test_what_lies_within_reach_is_the_same() -> None:
    assert codes(read_as(lines=(affinity.translate(LINE, 0.008, 0.008),)), LINE) == {}


def test_a_mark_that_is_missing_or_too_many_is_as_long_as_it_is() -> None:
    assert codes(read_as(lines=(LINE,)), LINE, OTHER) == {"mark-missing": 20.0}
    assert codes(read_as(lines=(LINE, OTHER)), LINE) == {"mark-added": 20.0}
    assert codes(read_as(areas=(AREA,))) == {"mark-added": 100.0}
    assert codes(read_as(), areas=(AREA,)) == {"mark-missing": 100.0}


def test_a_mark_elsewhere_is_missing_here_and_added_there() -> None:
    assert set(codes(read_as(lines=(affinity.translate(LINE, 0, 1),)), LINE)) == {"mark-missing", "mark-added"}


@pytest.mark.parametrize("again", [LINE, LINE.reverse()])
def test_a_line_burnt_twice_is_told(again: LineString) -> None:
    assert codes(read_as(lines=(LINE, again)), LINE) == {"mark-added": 50.0}


def test_a_line_that_runs_to_and_fro_is_told() -> None:
    there_and_back = LineString([(20, 60), (40, 60), (20, 60)])
    assert codes(read_as(lines=(there_and_back,)), OTHER) == {"mark-added": 20.0}


def on_wood(read: ReadSheet, wood: Polygon, kerf_mm: float = 0.2) -> dict[str, float | None]:
    return {one.code: one.size for one in check_marks_on_wood(read, wood, FILE, plan_with(kerf_mm=kerf_mm))}


OPENING = box(30, 30, 60, 60)
WOOD = PANEL.difference(OPENING)


def test_marks_on_wood_off_the_cuts() -> None:
    assert (
        on_wood(read_as(OPENING, lines=(LineString([(70, 20), (70, 80)]),), areas=(box(70, 70, 80, 80),)), WOOD) == {}
    )


def test_a_mark_along_a_cut_or_in_the_air_is_as_long_as_it_lies_there() -> None:
    along = LineString([(30, 35), (30, 55)])
    assert on_wood(read_as(OPENING, lines=(along,)), WOOD) == {"mark-on-cut": pytest.approx(20, abs=0.01)}
    across = LineString([(20, 45), (70, 45)])
    assert on_wood(read_as(OPENING, lines=(across,)), WOOD) == {"mark-in-air": pytest.approx(30, abs=0.5)}
    area = box(50, 40, 70, 50)
    assert on_wood(read_as(OPENING, areas=(area,)), WOOD) == {"mark-in-air": pytest.approx(100, abs=1)}
