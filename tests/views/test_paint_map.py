"""The paint maps: every paint where it is seen, bare wood where there is none, on the sheets' own page."""

import re

import pytest
import shapely
from shapely import box

from layercut.model import Build, Paint, PaintedRegion
from layercut.proof.reader import read_paint
from layercut.views.paint_map import paint_files, paint_map

BLEND = Paint("#ff0000", ((0.0, "#ff0000"), (1.0, "#0000ff")))


@pytest.fixture
def build(scenes) -> Build:
    """A bare back sheet with a pond, a hill in two greens before it, and an isle that is tied."""
    pond = scenes.shape(box(30, 60, 70, 70), colour="#3366cc")
    hill = [
        scenes.shape(box(0, 75, 100, 100), colour="#4c6c3b"),
        scenes.shape(box(20, 75, 40, 100), colour="#7a8f4e"),
    ]
    drawing = scenes.drawing([pond], hill, [scenes.shape(box(45, 30, 55, 40), colour="#c8502f")])
    made = scenes.make(drawing, "islands.policy=tie")
    assert made.proof.stack_mismatch_mm2 == 0
    return Build(made.drawing, made.job, made.stack, made.sheets, made.findings, made.proof)


def regions(text: str) -> dict[str, shapely.Geometry]:
    """Each paint of a map with its region."""
    frame = re.search(r'<path data-part="frame"[^>]*/>', text)
    assert frame is not None
    found = {}
    for path in re.findall(r'<path data-paint="[^>]*/>', text):
        only = re.sub(r"<path data-paint=[^>]*/>\n", "", text).replace(frame[0], path + frame[0])
        paint = path.partition('"')[2].partition('"')[0]
        assert paint not in found
        found[paint] = read_paint(only, "x").shown
    return found


def test_the_files_are_named_as_the_sheets_are(build: Build) -> None:
    names = [sheet.file.replace("sheets/", "paint/") for sheet in build.sheets]
    assert list(paint_files(build)) == names
    assert paint_files(build)[names[1]] == paint_map(build, 1)


def test_nothing_is_written_for_a_drawing_that_cannot_be_made(make_build) -> None:
    assert paint_files(make_build(cut=False)) == {}


def test_the_page_is_the_sheets_own(build: Build) -> None:
    for index in range(3):
        read = read_paint(paint_map(build, index), "x")
        assert (read.width_mm, read.height_mm) == (100, 100)
        assert read.tolerance_mm == build.job.curves.tolerance
        assert read.frame.equals(build.stack.panel.frame)


def test_every_paint_lies_where_it_is_seen(build: Build) -> None:
    frame = build.job.panel.frame
    found = regions(paint_map(build, 1))
    assert set(found) == {"#4c6c3b", "#7a8f4e"}
    assert found["#7a8f4e"].equals(box(20, 75, 40, 100 - frame))
    both = box(frame, 75, 100 - frame, 100 - frame)
    assert found["#4c6c3b"].area == pytest.approx(both.area - found["#7a8f4e"].area)


def test_ties_are_painted_as_what_they_hold(build: Build) -> None:
    (tie, *_), layer = build.stack.layers[2].ties, build.stack.layers[2]
    found = regions(paint_map(build, 2))
    assert set(found) == {"#c8502f"}
    assert found["#c8502f"].area == pytest.approx(layer.visible.area, abs=0.01)
    assert found["#c8502f"].area > 100.1
    assert shapely.intersects(found["#c8502f"], tie.region)


def test_bare_ground_is_the_back_sheets(build: Build) -> None:
    found = [regions(paint_map(build, index)) for index in range(3)]
    assert ["bare" in paints for paints in found] == [True, False, False]
    assert found[0]["bare"].area == pytest.approx(build.stack.bare.area, abs=0.01)


def test_the_maps_together_fill_the_picture(build: Build) -> None:
    shown = [read_paint(text, "x").shown for text in paint_files(build).values()]
    interior = build.stack.panel.interior
    assert sum(region.area for region in shown) == pytest.approx(interior.area, abs=0.05)
    assert shapely.union_all(shown).symmetric_difference(interior).area < 0.05


def test_a_blend_tells_its_stops(scenes) -> None:
    shape = scenes.shape(scenes.ground())
    made = scenes.make(scenes.drawing([type(shape)("wood", shape.geometry, BLEND, "path 'x'")]))
    build = Build(made.drawing, made.job, made.stack, made.sheets, made.findings)
    assert made.stack.layers[0].painted == (PaintedRegion(BLEND, made.stack.layers[0].painted[0].region),)
    text = paint_map(build, 0)
    assert 'data-paint="#ff0000" fill="#ff0000" data-blend="0 #ff0000, 1 #0000ff"' in text
    read_paint(text, "x")


def test_the_same_build_gives_the_same_text(build: Build) -> None:
    assert paint_files(build) == paint_files(build)
