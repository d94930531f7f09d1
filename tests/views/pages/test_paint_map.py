"""The paint maps: every paint where it is seen, bare wood where there is none, on the sheets' own page."""

import dataclasses
import io
import re

import numpy as np
import pytest
import resvg_py
import shapely
from blends import downwards
from builds import build_made
from elements import value
from lxml import etree
from PIL import Image
from scenes import Scenes
from shapely import Point, box

from layercut.colour.names import plain_name
from layercut.geometry.regions import polygons_of
from layercut.model import Made, PaintedRegion
from layercut.planning.own_paints import OwnPaints
from layercut.proof.maps import read_paint
from layercut.views.pages.paint_map import paint_files, paint_map

BLEND = downwards(0.0, 100.0)


@pytest.fixture
def build(scenes: Scenes) -> Made:
    """A bare back sheet with a pond, a hill in two greens before it, and an isle that is tied."""
    pond = scenes.shape(box(30, 60, 70, 70), colour="#3366cc")
    hill = [
        scenes.shape(box(0, 75, 100, 100), colour="#4c6c3b"),
        scenes.shape(box(20, 75, 40, 100), colour="#7a8f4e"),
    ]
    drawing = scenes.drawing([pond], hill, [scenes.shape(box(45, 30, 55, 40), colour="#c8502f")])
    made = scenes.make(drawing, "islands.policy=tie", "limits.slender=100")
    assert made.proof.stack_mismatch_mm2 == 0
    return build_made(drawing, made.stack, made.sheets, made.job, made.findings, proof=made.proof)


def groups(text: str) -> list[etree._Element]:
    """The groups of notes of a map, in order."""
    return [group for group in etree.fromstring(text) if group.get("data-part") == "notes"]


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


def test_the_files_are_named_as_the_sheets_are(build: Made) -> None:
    names = [sheet.file.replace("sheets/", "paint/") for sheet in build.sheets]
    assert list(paint_files(build)) == names
    assert paint_files(build)[names[1]] == paint_map(build, 1)


def test_the_page_is_the_sheets_own(build: Made) -> None:
    for index in range(3):
        read = read_paint(paint_map(build, index), "x")
        assert (read.width_mm, read.height_mm) == (100, 100)
        assert read.tolerance_mm == build.job.curves.tolerance
        assert read.frame.equals(build.stack.panel.frame)


def test_every_paint_lies_where_it_is_seen(build: Made) -> None:
    frame = build.job.panel.frame
    found = regions(paint_map(build, 1))
    assert set(found) == {"#4c6c3b", "#7a8f4e"}
    assert found["#7a8f4e"].equals(box(20, 75, 40, 100 - frame))
    both = box(frame, 75, 100 - frame, 100 - frame)
    assert found["#4c6c3b"].area == pytest.approx(both.area - found["#7a8f4e"].area)


def test_ties_are_painted_as_what_they_hold(build: Made) -> None:
    (tie, *_), layer = build.stack.layers[2].ties, build.stack.layers[2]
    found = regions(paint_map(build, 2))
    assert set(found) == {"#c8502f"}
    assert found["#c8502f"].area == pytest.approx(layer.visible.area, abs=0.01)
    assert found["#c8502f"].area > 100.1
    assert shapely.intersects(found["#c8502f"], tie.region)


def test_bare_ground_is_the_back_sheets(build: Made) -> None:
    found = [regions(paint_map(build, index)) for index in range(3)]
    assert ["bare" in paints for paints in found] == [True, False, False]
    assert found[0]["bare"].area == pytest.approx(build.stack.bare.area, abs=0.01)


def test_the_maps_together_fill_the_picture(build: Made) -> None:
    shown = [read_paint(text, "x").shown for text in paint_files(build).values()]
    interior = build.stack.panel.interior
    assert sum(region.area for region in shown) == pytest.approx(interior.area, abs=0.05)
    assert shapely.union_all(shown).symmetric_difference(interior).area < 0.05


def test_a_blend_tells_its_stops(scenes: Scenes) -> None:
    shape = scenes.shape(scenes.ground())
    made = scenes.make(scenes.drawing([type(shape)("wood", shape.geometry, BLEND, "path 'x'")]))
    assert made.stack.layers[0].painted == (PaintedRegion(BLEND, made.stack.layers[0].painted[0].region),)
    text = paint_map(build_made(made.drawing, made.stack, made.sheets, made.job), 0)
    (blend,) = re.findall(r'<path data-paint="#800080"[^>]* fill="url\(#([^)]+)\)"', text)
    assert f'<linearGradient id="{blend}" gradientUnits="userSpaceOnUse" x1="0" y1="0" x2="0" y2="100">' in text
    read_paint(text, "x")
    assert 'data-blend="0 #ff0000, 1 #0000ff"' in text


def test_the_same_build_gives_the_same_text(build: Made) -> None:
    assert paint_files(build) == paint_files(build)


def test_the_legend_lies_below_the_panel_and_names_every_colour(build: Made) -> None:
    text = paint_map(build, 1)
    root = etree.fromstring(text)
    height = float(value(root, "height").removesuffix("mm"))
    assert height == pytest.approx(100 + float(value(root, "data-legend-mm")))
    legend = groups(text)[-1]
    words = [element.text or "" for element in legend.iter("{*}text")]
    colours = ("#4c6c3b", "#7a8f4e")
    assert [line.partition(",")[0] for line in words[:2]] == [f"{plain_name(one)} {one}" for one in colours]
    assert any("Leave bare" in line for line in words)
    assert any("1 mm, under the sheet in front" in line for line in words)
    assert all(100 < float(value(element, "y")) < height for element in legend.iter("{*}text"))


def test_every_part_is_numbered_on_white_inside_it(build: Made) -> None:
    numbers = groups(paint_map(build, 1))[-2]
    spots = [
        tuple(map(float, re.findall(r"[-\d.]+", value(group, "transform"))))
        for group in numbers.iter("{*}g")
        if (group.get("transform") or "").startswith("translate") and group.find("{*}rect") is not None
    ]
    sheet = build.work.paint.sheets[1]
    for part in sheet.parts:
        for polygon in polygons_of(part.visible):
            assert sum(polygon.contains(Point(spot)) for spot in spots) == 1
    assert {rect.get("fill") for rect in numbers.iter("{*}rect")} == {"#ffffff"}


def test_glue_zones_are_hatched_where_the_plan_has_them(build: Made) -> None:
    """Rendered: hatch lines at a third or so of the points of the zone, and none on what is seen."""
    text = paint_map(build, 0)
    pixels = gray(text, build)
    dark = pixels < 100
    x, y = np.meshgrid((np.arange(1000) + 0.5) / 10, (np.arange(1000) + 0.5) / 10)
    inside = shapely.contains_xy(build.work.paint.sheets[0].glue.buffer(-0.5), x.ravel(), y.ravel())
    share = dark.ravel()[inside].mean()
    assert 0.1 < share < 0.6
    # Chromium prints a pattern as a picture, in a flat grey that looks like a paint: so lines must be lines.
    assert not any("<pattern" in paint_map(build, index) for index in range(3))


def test_the_legend_has_a_line_to_measure_on_the_print(build: Made) -> None:
    """At 100 % it is as long as it says; readers of inches have one of whole inches."""
    inches = build.job.model_copy(update={"page": build.job.page.model_copy(update={"units": "in"})})
    for job, words, length in ((build.job, "50 mm", "50"), (inches, "2 in", "50.8")):
        text = paint_map(build_made(build.drawing, build.stack, build.sheets, job), 1)
        legend = groups(text)[-1]
        (line,) = [path for path in legend.iter("{*}path") if f"h{length}m" in (path.get("d") or "")]
        assert line.get("fill") == "none"
        assert f"{words}: print at 100 %." in [element.text for element in legend.iter("{*}text")]
        root = etree.fromstring(text)
        assert value(root, "width") == "100mm"
        assert value(root, "viewBox").startswith("0 0 100 ")


def test_a_map_reads_in_black_and_white(build: Made) -> None:
    """Two greens of one lightness would be one grey: the edge between them is drawn, and each has its number."""
    pixels = gray(paint_map(build, 1), build)
    at_edge, beside = pixels[850:900, 195:206].min(axis=1), pixels[850:900, 150:160].min(axis=1)
    assert (at_edge + 15 < beside).mean() > 0.9


def gray(text: str, build: Made) -> np.ndarray:
    """A map's panel as grey levels, ten pixels a millimetre."""
    width = 10 * int(build.stack.panel.width_mm)
    png = resvg_py.svg_to_bytes(svg_string=text, width=width, dpi=96, background="white")
    return np.asarray(Image.open(io.BytesIO(bytes(png))).convert("L")).astype(int)[:width]


def test_the_legend_names_the_racks_paint_and_says_when_it_is_far(build: Made) -> None:
    own = OwnPaints("own.csv", (("fern", "#4c6c3b"), ("brick", "#b0483a")))
    text = paint_map(build_made(build.drawing, build.stack, build.sheets, build.job, own=own), 1)
    words = [element.text or "" for element in groups(text)[-1].iter("{*}text")]
    told = " ".join(words)
    assert "#4c6c3b = fern, paint, 2 coats" in told
    assert "#7a8f4e (nearest, far: fern)" in told


@pytest.mark.parametrize("hole", [box(59.95, 84.95, 60.06, 85.06), box(50, 80.5, 51.5, 80.53), box(44, 82, 52, 90)])
def test_what_lacks_paint_is_bare(build: Made, hole: shapely.Polygon) -> None:
    """As small as anyone can see, wherever it lies on the grid of squares that it is looked for with."""
    layer = build.stack.layers[1]
    painted = tuple(dataclasses.replace(part, region=shapely.difference(part.region, hole)) for part in layer.painted)
    layers = (build.stack.layers[0], dataclasses.replace(layer, painted=painted), build.stack.layers[2])
    stack = dataclasses.replace(build.stack, layers=layers)
    found = regions(paint_map(build_made(build.drawing, stack, build.sheets, build.job), 1))
    assert shapely.symmetric_difference(found["bare"], hole).area < 1e-6
    assert "bare" not in regions(paint_map(build, 1))
