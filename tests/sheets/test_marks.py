"""Marks: clipped to what is seen, burnt once, none along a cut."""

import pytest
import shapely
from shapely import LineString, MultiLineString, Polygon, box

from layercut.geometry.precision import MARK_CLEARANCE_MM
from layercut.job import load_job
from layercut.model import Paint, PaintedRegion, Shape
from layercut.sheets.marks import Marks, colour_borders, drawn_marks, find_marks, mark_findings

GROUND = box(0, 0, 100, 100)
RED, BLUE = "#ff0000", "#0000ff"


def _marks(scenes, *shapes: Shape, visible: Polygon = GROUND, wood: Polygon = GROUND, settings: tuple = ()) -> Marks:
    layer = scenes.layer([scenes.shape(GROUND), *shapes])
    planned = scenes.planned(wood, visible)
    return find_marks(drawn_marks([layer], [planned])[0], planned, load_job(None, settings).marks)


def _line(scenes, *points: tuple[float, float]) -> Shape:
    return scenes.shape(LineString(points), "mark-line")


def _drawn(marks: Marks) -> MultiLineString:
    return MultiLineString(marks.lines)


def _burnt_once(marks: Marks) -> None:
    assert sum(line.length for line in marks.lines) == pytest.approx(shapely.union_all(marks.lines).length)


def test_a_line_on_the_visible_region_is_kept_as_it_is(scenes) -> None:
    marks = _marks(scenes, _line(scenes, (20, 20), (40, 60), (60, 20)))
    assert [line.wkt for line in marks.lines] == ["LINESTRING (20 20, 40 60, 60 20)"]
    assert marks.lost == ()


def test_a_line_is_clipped_to_what_is_seen(scenes) -> None:
    marks = _marks(scenes, _line(scenes, (10, 50), (90, 50)), visible=box(0, 0, 40, 100).union(box(60, 0, 100, 100)))
    assert sorted(line.bounds for line in marks.lines) == [(10, 50, 40, 50), (60, 50, 90, 50)]


def test_a_line_under_later_wood_of_its_layer_is_covered(scenes) -> None:
    line, patch = _line(scenes, (10, 50), (90, 50)), scenes.shape(box(30, 40, 50, 60))
    assert _drawn(_marks(scenes, line, patch)).length == pytest.approx(60)
    assert _drawn(_marks(scenes, patch, line)).length == pytest.approx(80)


def test_a_later_opening_takes_the_line_away(scenes) -> None:
    marks = _marks(scenes, _line(scenes, (10, 50), (90, 50)), scenes.shape(box(30, 40, 50, 60), "opening"))
    assert _drawn(marks).length == pytest.approx(60)


def test_no_line_runs_along_a_cut_edge(scenes) -> None:
    wood = GROUND.difference(box(40, 40, 60, 60))
    edge = scenes.shape(box(40, 40, 60, 60).exterior, "mark-line")
    near = _line(scenes, (35, 39.95), (65, 39.95))
    across = _line(scenes, (20, 50), (50, 50))
    assert _marks(scenes, edge, wood=wood, visible=wood).lines == ()
    assert _drawn(_marks(scenes, near, wood=wood, visible=wood)).length == pytest.approx(10, abs=0.4)
    left = _drawn(_marks(scenes, across, wood=wood, visible=wood))
    assert left.length == pytest.approx(20 - MARK_CLEARANCE_MM, abs=0.01)


def test_the_same_line_twice_is_burnt_once(scenes) -> None:
    marks = _marks(scenes, _line(scenes, (20, 20), (60, 40)), _line(scenes, (60, 40), (20, 20)))
    assert [line.length for line in marks.lines] == [pytest.approx(LineString([(20, 20), (60, 40)]).length)]


@pytest.mark.parametrize("slope", [0.0, 1.0, 27.2 / 30, 0.1234])
def test_lines_that_overlap_in_part_are_burnt_once(scenes, slope: float) -> None:
    """As two shapes with a common edge draw them, with coordinates that no binary number meets."""
    first = _line(scenes, (20, 20.1), (50, 20.1 + 30 * slope))
    second = _line(scenes, (23, 20.1 + 3 * slope), (53.3, 20.1 + 33.3 * slope))
    marks = _marks(scenes, first, second)
    whole = LineString([(20, 20.1), (53.3, 20.1 + 33.3 * slope)]).length
    assert _drawn(marks).length == pytest.approx(whole, abs=0.01)


@pytest.mark.parametrize("apart", [1e-6, 1e-3, 0.05])
def test_lines_nearer_than_the_clearance_are_one_line(scenes, apart: float) -> None:
    marks = _marks(scenes, _line(scenes, (20, 20), (60, 20)), _line(scenes, (20, 20 + apart), (60, 20 + apart)))
    assert _drawn(marks).length == pytest.approx(40, abs=0.5)


def test_lines_well_apart_are_two(scenes) -> None:
    marks = _marks(scenes, _line(scenes, (20, 20), (60, 20)), _line(scenes, (20, 21), (60, 21)))
    assert len(marks.lines) == 2


def test_pieces_that_meet_end_to_end_are_one_stroke(scenes) -> None:
    pieces = [_line(scenes, (20 + 5 * k, 30), (25 + 5 * k, 30)) for k in range(6)]
    assert [line.length for line in _marks(scenes, *pieces).lines] == [30]


def test_lines_that_cross_are_two_strokes(scenes) -> None:
    marks = _marks(scenes, _line(scenes, (20, 20), (60, 60)), _line(scenes, (20, 60), (60, 20)))
    _burnt_once(marks)
    assert len(marks.lines) == 2


def test_a_dot_is_left_out_and_counted(scenes) -> None:
    marks = _marks(scenes, _line(scenes, (20, 20), (20.2, 20)), _line(scenes, (30, 20), (30.4, 20)))
    assert (len(marks.lines), len(marks.lost)) == (1, 1)
    (finding,) = mark_findings("leaf", marks)
    assert (finding.code, finding.layer) == ("mark-lost", "leaf")
    assert mark_findings("leaf", Marks((), ())) == []


def test_a_line_that_only_touches_what_is_seen_leaves_nothing(scenes) -> None:
    marks = _marks(scenes, _line(scenes, (50, 20), (70, 30)), visible=box(0, 0, 50, 100))
    assert marks.lines == ()


def test_areas_are_clipped_and_specks_left_out(scenes) -> None:
    seen = box(0, 0, 50, 100)
    areas = [scenes.shape(box(40, 40, 60, 60), "mark-area"), scenes.shape(box(10, 10, 10.05, 10.05), "mark-area")]
    marks = _marks(scenes, *areas, visible=seen)
    assert [area.bounds for area in marks.areas] == [(40, 40, 50, 60)]


def test_areas_that_overlap_are_burnt_once(scenes) -> None:
    areas = [scenes.shape(box(x, 40, x + 20, 60), "mark-area") for x in (30, 40)]
    assert sum(area.area for area in _marks(scenes, *areas).areas) == pytest.approx(600)


def _painted(*parts: tuple[Polygon, str]) -> list[PaintedRegion]:
    return [PaintedRegion(Paint(colour), region) for region, colour in parts]


def test_the_border_of_two_colours_is_a_line_once() -> None:
    borders = colour_borders(_painted((box(0, 0, 50, 100), RED), (box(50, 0, 100, 100), BLUE)))
    assert borders.length == 100
    assert borders.bounds == (50, 0, 50, 100)


def test_one_colour_has_no_border() -> None:
    assert colour_borders([]).is_empty
    assert colour_borders(_painted((GROUND, RED))).is_empty
    apart = _painted((box(0, 0, 40, 100), RED), (box(60, 0, 100, 100), BLUE))
    assert colour_borders(apart).is_empty


@pytest.mark.parametrize("gap", [0.0, 1e-10, 1e-7, 1e-5, 4e-4])
def test_two_colours_that_meet_on_a_sheet_are_marked(scenes, gap: float) -> None:
    """Edges that meet but for rounding, as drawing programs write them, make a border too."""
    left, right = box(0, 0, 50.00003, 100), box(50.00003 + gap, 0, 100, 100)
    shapes = [scenes.shape(left, colour=RED), scenes.shape(right, colour=BLUE)]
    made = scenes.make(scenes.drawing(shapes))
    assert made.sheets[0].mark_mm == pytest.approx(87.3, abs=0.5)


def test_colour_borders_can_be_left_out(scenes) -> None:
    shapes = [scenes.shape(box(0, 0, 50, 100), colour=RED), scenes.shape(box(50, 0, 100, 100), colour=BLUE)]
    made = scenes.make(scenes.drawing(shapes), "marks.colour_boundaries=false")
    assert made.sheets[0].mark_lines == ()


def test_a_stroke_on_a_colour_border_is_one_line(scenes) -> None:
    patch = box(30, 30, 60, 60)
    shapes = [GROUND, scenes.shape(patch, colour=RED), scenes.shape(patch.exterior, "mark-line")]
    made = scenes.make(scenes.drawing(shapes))
    assert made.sheets[0].mark_mm == pytest.approx(120, abs=0.01)


def test_a_border_that_is_cut_anyway_is_no_mark(scenes) -> None:
    shapes = [scenes.shape(box(0, 0, 50, 100), colour=RED), scenes.shape(box(50, 0, 100, 40), colour=BLUE)]
    made = scenes.make(scenes.drawing([GROUND], shapes))
    assert made.sheets[1].mark_mm == pytest.approx(40 - 6.35, abs=0.3)


def test_three_colours_at_a_corner_are_marked_once(scenes) -> None:
    parts = [(box(0, 0, 50, 50), RED), (box(50, 0, 100, 50), BLUE), (box(0, 50, 100, 100), "#00ff00")]
    made = scenes.make(scenes.drawing([scenes.shape(region, colour=colour) for region, colour in parts]))
    assert made.sheets[0].mark_mm == pytest.approx(87.3 + 50 - 6.35, abs=0.3)


def test_two_colours_along_a_slope_are_marked_though_their_corners_differ(scenes) -> None:
    """A corner of the one on an edge of the other, where no binary number meets the edge."""
    third = (20.1 + (80.3 - 20.1) / 3, 20.1 + (70.7 - 20.1) / 3)
    under = Polygon([(20.1, 20.1), (80.3, 70.7), (20.1, 70.7)])
    over = Polygon([(20.1, 20.1), third, (80.3, 70.7), (80.3, 20.1)])
    made = scenes.make(scenes.drawing([GROUND, scenes.shape(under, colour=RED), scenes.shape(over, colour=BLUE)]))
    rims = 60.2 + 50.6 + 60.2 + 50.6
    assert made.sheets[0].mark_mm == pytest.approx(rims + LineString([(20.1, 20.1), (80.3, 70.7)]).length, abs=0.05)


def test_contours_of_areas_that_would_collapse_are_left_out_and_told(scenes) -> None:
    """Such threads come of letters that overlap: a curve fitted to one goes there and back."""
    thread, speck = box(30, 30, 50, 30.01), box(60, 60, 60.05, 60.05)
    letter = Polygon(box(10, 10, 20, 20).exterior, [box(12, 12, 18, 12.012).exterior, box(12, 14, 18, 16).exterior])
    marks = _marks(scenes, *(scenes.shape(area, "mark-area") for area in (letter, thread, speck)))
    assert [len(area.interiors) for area in marks.areas] == [1]
    assert marks.areas[0].area == pytest.approx(100 - 12)
    assert len(marks.slivers) == 3
    (finding,) = mark_findings("sign", marks)
    assert (finding.code, finding.severity, finding.layer) == ("mark-lost", "info", "sign")
    assert finding.message == "3 contours of marked areas left out: too fine to burn or see."
    assert finding.at_mm is not None
