"""One sheet in burning order: areas, lines, openings from the inside out, the rim last."""

import pytest
from scenes import Scenes
from shapely import LineString, Point, Polygon, box

from layercut.model import OrderedSheet
from layercut.sheets.kerf import CutLines
from layercut.sheets.marks import Marks
from layercut.sheets.toolpath import order_sheet, sheet_stem

PANEL = box(0, 0, 100, 80)


def _sheet(scenes: Scenes, marks: Marks | None = None, openings: tuple[Polygon, ...] = ()) -> OrderedSheet:
    return order_sheet(3, scenes.planned(PANEL), marks or Marks((), ()), CutLines(PANEL, openings, ()))


@pytest.mark.parametrize(
    ("number", "name", "stem"),
    [
        (1, "Back", "01-back"),
        (12, "Garden & fence", "12-garden-fence"),
        (2, "  ../../etc/passwd ", "02-etc-passwd"),
        (3, "Bäume", "03-baume"),
        (3, "Ba\u0308ume", "03-baume"),
        (46, "é", "46-e"),
        (3, "ﬁsh №2 ½", "03-fish-no2-12"),
        (3, "Łódź & Straße", "03-łodz-straße"),
        (4, "树", "04-树"),
        (4, "हिन्दी", "04-हिन्दी"),
        (4, "한글", "04-한글"),
        (4, "🌲 — tree", "04-tree"),
        (4, "ŧ" * 90, "04-" + "ŧ" * 40),
        (5, "", "05"),
        (6, "a" * 200, "06-" + "a" * 40),
        (7, "CON\0\n", "07-con"),
        (100, "x", "100-x"),
    ],
)
def test_a_file_name_is_one_that_every_system_takes(number: int, name: str, stem: str) -> None:
    assert sheet_stem(number, name) == stem
    assert len(stem.encode()) <= 200


def test_more_than_99_sheets_sort_by_name() -> None:
    stems = [sheet_stem(number, "leaf", 120) for number in range(1, 121)]
    assert stems == sorted(stems)
    assert stems[0] == "001-leaf"
    assert sheet_stem(1, "leaf", 99) == "01-leaf"


def test_a_plain_sheet_is_its_rim(scenes: Scenes) -> None:
    sheet = _sheet(scenes)
    assert (sheet.name, sheet.kind, sheet.file, sheet.copies) == ("leaf", "layer", "sheets/03-leaf.svg", 1)
    assert sheet.outline.equals(PANEL)


def test_inner_openings_come_before_outer_ones(scenes: Scenes) -> None:
    nested = tuple(Point(50, 40).buffer(r) for r in (30, 10, 20, 5))
    sheet = _sheet(scenes, None, nested)
    areas = [ring.area for ring in sheet.openings]
    assert areas == sorted(areas)


def test_areas_come_in_reading_order(scenes: Scenes) -> None:
    areas = (box(50, 50, 60, 60), box(10, 10, 20, 20), box(50, 10, 60, 20))
    sheet = _sheet(scenes, Marks(areas, ()))
    assert [area.bounds[:2] for area in sheet.mark_areas] == [(10, 10), (50, 10), (50, 50)]


def test_the_way_is_short(scenes: Scenes) -> None:
    marks = Marks((), (LineString([(10, 0), (20, 0)]), LineString([(40, 0), (30, 0)])))
    sheet = _sheet(scenes, marks, (box(50, 0, 60, 10),))
    assert [line.coords[0] for line in sheet.mark_lines] == [(10, 0), (30, 0)]


def test_marks_lose_vertices_that_say_nothing(scenes: Scenes) -> None:
    marks = Marks((), (LineString([(10, 10), (20, 10), (30, 10), (40, 10)]),))
    assert list(_sheet(scenes, marks).mark_lines[0].coords) == [(10, 10), (40, 10)]


def test_the_same_sheet_whatever_order_things_were_found_in(scenes: Scenes) -> None:
    openings = tuple(Point(12 + 15 * k, 20 + 5 * (k % 3)).buffer(4) for k in range(6))
    lines = tuple(LineString([(10 + 9 * k, 60), (10 + 9 * k, 70 - k)]) for k in range(8))
    assert _sheet(scenes, Marks((), lines), openings) == _sheet(scenes, Marks((), lines[::-1]), openings[::-1])
