"""The picture of the stack: colours, order, markers and bytes, seen through a renderer."""

import dataclasses
import io
import re
import time
from collections.abc import Callable

import numpy as np
import pytest
import shapely
import shapely.affinity
from blends import blended, downwards, straight
from lxml import etree
from numpy.typing import NDArray
from PIL import Image
from shapely import MultiPolygon, Polygon, box

from layercut.colour.bare import PLYWOOD
from layercut.findings import Finding
from layercut.model import Build, Paint, PaintedRegion
from layercut.views.picture.scene import SHADOW_BLUR, SHADOW_SHIFT, SHADOW_STRENGTH
from layercut.views.picture.stack_png import compose_png
from layercut.views.picture.stack_svg import HATCH, RING, compose_svg, numbered_errors, render_png
from layercut.views.svg_text import lines_path, number, plain, region_path, short_path, stroke_digits

MakeBuild = Callable[..., Build]
Pixels = NDArray[np.uint8]
SVG = "{http://www.w3.org/2000/svg}"

WIDTH_PX = 900


@dataclasses.dataclass(frozen=True)
class Picture:
    """A rendered picture, asked in panel mm."""

    pixels: Pixels
    x0: float
    y0: float
    px_per_mm: float

    def at(self, x: float, y: float) -> tuple[int, int, int]:
        row, column = int((y - self.y0) * self.px_per_mm), int((x - self.x0) * self.px_per_mm)
        red, green, blue = self.pixels[row, column].tolist()
        return red, green, blue


def rendered(svg: str) -> Picture:
    x0, y0, width, _ = map(float, etree.fromstring(svg.encode()).get("viewBox", "").split())
    pixels = np.asarray(Image.open(io.BytesIO(render_png(svg, WIDTH_PX))).convert("RGB"))
    return Picture(pixels, x0, y0, WIDTH_PX / width)


def rgb(colour: str) -> tuple[int, ...]:
    return tuple(bytes.fromhex(colour.removeprefix("#")))


def test_paints_show_as_drawn_on_the_sheet_in_front(make_build: MakeBuild) -> None:
    picture = rendered(compose_svg(make_build()))
    assert picture.at(100, 22) == rgb("#88aacc")  # sky
    assert picture.at(100, 68) == rgb("#4c7a34")  # the hill covers the sky
    assert picture.at(45, 70) == rgb("#b0483a")  # the house covers the hill
    assert picture.at(60, 70) == rgb("#e8c060")  # its door
    # Nothing shades the front sheet, not even close to its own frame.
    assert picture.at(42, 78.5) == rgb("#b0483a")


def test_a_sliver_of_blends_paints_nothing_around_it(make_build: MakeBuild) -> None:
    """It is too fine to be drawn, and its box must not be painted instead."""
    build = make_build()
    night = blended(straight((0, 0), (120, 0)), straight((0, 0), (0, 90), ((0, "#00ff00", 0.5), (1, "#00ff00", 0.2))))
    sliver = PaintedRegion(night, Polygon([(20, 20), (100, 45), (20, 20.002)]))
    sky, *others = build.stack.layers
    layers = (dataclasses.replace(sky, painted=(*sky.painted, sliver)), *others)
    svg = compose_svg(dataclasses.replace(build, stack=dataclasses.replace(build.stack, layers=layers)))
    assert set(re.findall(r"url\(#([^)]+)\)", svg)) <= set(re.findall(r' id="([^"]+)"', svg))
    assert rendered(svg).at(90, 22) == rgb("#88aacc")


def test_the_frame_is_bare_wood_even_where_a_face_lies_under_it(make_build: MakeBuild) -> None:
    picture = rendered(compose_svg(make_build()))
    # The grain only tints: every pixel of the frame is nearer to plywood than to any paint.
    for place in [(60.0, 3.0), (60.0, 87.0), (2.0, 20.0), (117.0, 70.0)]:
        off = np.abs(np.subtract(picture.at(*place), rgb(PLYWOOD))).max()
        assert off < 30, place
    # The paints that reach beyond the panel are nowhere on the wall.
    assert np.ptp(picture.at(60, 93)) < 30
    blue_excess = picture.pixels[:20, :, 2].astype(int) - picture.pixels[:20, :, 0]
    assert blue_excess.max() <= 0


def test_shadows_only_darken_what_lies_deeper(make_build: MakeBuild) -> None:
    picture = rendered(compose_svg(make_build()))
    sky = np.array(rgb("#88aacc"))
    right_of_house = np.array(picture.at(81.2, 40))
    below_frame = np.array(picture.at(60, 11.5))
    left_of_house = np.array(picture.at(36, 40))
    assert (right_of_house < sky - 20).all()
    assert (below_frame < sky - 20).all()
    assert np.array_equal(left_of_house, sky)  # the light comes from there


def test_a_deeper_sheet_gets_the_longer_shadow(make_build: MakeBuild) -> None:
    picture = rendered(compose_svg(make_build()))

    def reach(y: float, colour: str) -> float:
        steps = np.arange(81.0, 90.0, 0.1)
        dark = [x for x in steps if sum(picture.at(x, y)) < 0.9 * sum(rgb(colour))]
        return float(max(dark) - 80)

    # The house stands one sheet before the hill and two before the sky.
    assert reach(40, "#88aacc") > reach(70, "#4c7a34") + 0.8


def test_pin_holes_are_open_through_every_sheet(make_build: MakeBuild) -> None:
    picture = rendered(compose_svg(make_build()))
    assert max(picture.at(5, 45)) < 0.9 * min(210, *picture.at(-6, 45))


def test_meeting_paints_leave_no_light_hairline(make_build: MakeBuild) -> None:
    dark = make_build()
    front = dark.stack.layers[2]
    paints = tuple(
        dataclasses.replace(part, paint=Paint(c))
        for part, c in zip(front.painted, ("#101010", "#181818"), strict=True)
    )
    layers = (*dark.stack.layers[:2], dataclasses.replace(front, painted=paints))
    picture = rendered(compose_svg(dataclasses.replace(dark, stack=dataclasses.replace(dark.stack, layers=layers))))
    across = [max(picture.at(x, 70)) for x in np.arange(50.0, 60.0, 0.05)]
    assert max(across) <= 0x18 + 3


def test_a_blend_runs_as_drawn(make_build: MakeBuild) -> None:
    picture = rendered(compose_svg(make_build(sky=downwards(0, 90))))
    for y_mm in (20, 46):
        assert picture.at(100, y_mm) == pytest.approx((255 * (90 - y_mm) / 90, 0, 255 * y_mm / 90), abs=3)


def test_marks_darken_a_little(make_build: MakeBuild) -> None:
    picture = rendered(compose_svg(make_build()))
    column = [picture.at(60, y)[0] for y in np.arange(39.5, 40.5, 0.05)]
    assert min(column) < 0.85 * 0xB0
    assert max(column) == 0xB0


def test_size_view_box_and_title(make_build: MakeBuild) -> None:
    root = etree.fromstring(compose_svg(make_build()).encode())
    x, y, width, height = map(float, root.get("viewBox", "").split())
    assert root.get("width") == f"{width:g}mm"
    assert root.get("height") == f"{height:g}mm"
    assert x < 0
    assert y < 0
    assert (width, height) == pytest.approx((120 - 2 * x, 90 - 2 * y), abs=0.002)
    # Renderers round a picture's size to whole pixels of 1/96 inch, and would stretch what is in it.
    assert [round(side * 96 / 25.4) for side in (width, height)] == pytest.approx(
        [side * 96 / 25.4 for side in (width, height)], abs=0.01
    )
    assert root.findtext(f"{SVG}title") == "cottage, the finished stack"
    assert root.get("role") == "img"


def test_every_reference_has_its_target_once(make_build: MakeBuild) -> None:
    for exploded in (False, True):
        svg = compose_svg(make_build(sky=blended(straight((0, 0), (120, 90)))), exploded=exploded)
        ids = re.findall(r'\bid="([^"]+)"', svg)
        used = set(re.findall(r"url\(#([^)]+)\)", svg)) | set(re.findall(r'href="#([^"]+)"', svg))
        assert len(ids) == len(set(ids))
        assert used <= set(ids)
        assert "http" not in svg.replace("http://www.w3.org/2000/svg", "")


def test_same_build_same_bytes(make_build: MakeBuild) -> None:
    for exploded in (False, True):
        first, second = (compose_svg(make_build(), exploded=exploded) for _ in range(2))
        assert first == second
    assert render_png(first, 300) == render_png(second, 300)


def test_png_has_the_width_asked_for(make_build: MakeBuild) -> None:
    image = Image.open(io.BytesIO(render_png(compose_svg(make_build()), 640)))
    assert image.format == "PNG"
    assert image.width == 640
    # No row or column is left half transparent by rounding.
    assert image.convert("RGBA").getextrema()[3] == (255, 255)


def test_exploded_shows_every_sheet_with_its_name_in_order(make_build: MakeBuild) -> None:
    svg = compose_svg(make_build(), exploded=True)
    root = etree.fromstring(svg.encode())
    assert [text.text for text in root.iter(f"{SVG}text")] == ["1  sky", "2  hill", "3  house"]
    cards = [group for group in root.findall(f"{SVG}g") if group.find(f"{SVG}title") is not None]
    assert len(cards) == 3
    picture = rendered(svg)
    colours = {tuple(pixel) for pixel in picture.pixels.reshape(-1, 3).tolist()}
    assert {rgb("#88aacc"), rgb("#4c7a34"), rgb("#b0483a"), rgb("#e8c060")} <= colours


def test_exploded_keeps_everything_inside_the_picture(make_build: MakeBuild) -> None:
    build = make_build()
    many = dataclasses.replace(
        build,
        sheets=build.sheets * 5,
        stack=dataclasses.replace(build.stack, layers=build.stack.layers * 5),
    )
    svg = compose_svg(many, exploded=True)
    x0, y0, width, height = map(float, etree.fromstring(svg.encode()).get("viewBox", "").split())
    corners = [(0.0, 0.0), (120.0, 0.0), (0.0, 90.0), (120.0, 90.0)]
    matrices = [tuple(map(float, m.split())) for m in re.findall(r'matrix\(([^)]+)\)">\s*<g clip-path', svg)]
    assert len(matrices) == 15
    for a, b, c, d, e, f in matrices:
        for x, y in corners:
            assert x0 < a * x + c * y + e < x0 + width
            assert y0 < b * x + d * y + f < y0 + height
    for y in map(float, re.findall(r'<text x="[^"]+" y="([^"]+)"', svg)):
        assert y < y0 + height


def test_a_drawing_that_cannot_be_made_shows_where(make_build: MakeBuild) -> None:
    findings = (
        Finding("blend", "info", "a blend", at_mm=(20.0, 20.0)),
        Finding("island", "error", "falls <out>", "house", at_mm=(93.0, 22.0), size_mm=(6.0, 4.0)),
        Finding("neck", "error", "snaps", "hill", at_mm=(20.0, 60.0), size_mm=(0.4,)),
        Finding("island", "error", "no place", "house"),
    )
    build = make_build(findings=findings, cut=False)
    svg = compose_svg(build)
    root = etree.fromstring(svg.encode())
    rings = [group for group in root.iter(f"{SVG}g") if group.get("data-finding")]
    assert [group.get("transform") for group in rings] == [
        "translate(20 60)",
        "translate(93 22)",
    ]  # by layer, back first
    assert [ring for ring, _ in numbered_errors(build)] == [1, 2]
    assert root.findtext(f"{SVG}title") == "cottage, which can't be made as drawn"
    picture = rendered(svg)
    colours = {tuple(pixel) for pixel in picture.pixels.reshape(-1, 3).tolist()}
    assert rgb(RING) in colours
    assert rgb(HATCH) in colours
    assert rgb(RING) not in {tuple(p) for p in rendered(compose_svg(make_build())).pixels.reshape(-1, 3).tolist()}


def test_names_are_escaped_and_odd_characters_dropped(make_build: MakeBuild) -> None:
    names = ("<script>alert(1)</script>", 'a"b&c', "\x00\x1f\udc80 fern")
    build = make_build(names=names, file="<b>&\udcff.svg")
    for exploded in (False, True):
        svg = compose_svg(build, exploded=exploded)
        root = etree.fromstring(svg.encode())
        assert root.find(f".//{SVG}script") is None
        assert {"<script>alert(1)</script>", 'a"b&c', " fern"} <= {title.text for title in root.iter(f"{SVG}title")}
        assert render_png(svg, 200).startswith(b"\x89PNG")


def test_spacers_are_behind_and_not_seen(make_build: MakeBuild) -> None:
    build = make_build()
    spacer = dataclasses.replace(build.sheets[0], name="spacer", kind="spacer", copies=3)
    svg = compose_svg(dataclasses.replace(build, sheets=(*build.sheets, spacer)))
    assert svg.count('<path id="wood-') == 3
    assert svg != compose_svg(build)  # the piece stands further off the wall


def test_an_empty_layer_is_drawn_as_nothing(make_build: MakeBuild) -> None:
    build = make_build()
    empty = dataclasses.replace(build.stack.layers[1], painted=())
    layers = (build.stack.layers[0], empty, build.stack.layers[2])
    picture = rendered(compose_svg(dataclasses.replace(build, stack=dataclasses.replace(build.stack, layers=layers))))
    off = np.abs(np.subtract(picture.at(100, 68), rgb(PLYWOOD))).max()
    assert off < 30


def test_numbers_have_the_grid_s_digits_at_most(make_build: MakeBuild) -> None:
    wide = Polygon([(1 / 3, -1e-9), (1234.5678, 2.0), (1234.5, 99.99951)], [[(900, 2.5), (1000, 3), (1000, 20.10)]])
    path = region_path(MultiPolygon([wide, box(0, 0, 1, 1)]))
    assert path == "M0.333 0 1234.568 2 1234.5 100ZM900 2.5 1000 3 1000 20.1ZM1 0 1 1 0 1 0 0Z"
    svg = compose_svg(make_build())
    assert not re.search(r"\d\.\d{4,}", svg)
    assert not re.search(r"\d\.\d*0(?=[ \"MZL])", svg)


@pytest.mark.parametrize(("value", "text"), [(0.0, "0"), (-0.0001, "0"), (2.50, "2.5"), (-7.0, "-7"), (100.0, "100")])
def test_number(value: float, text: str) -> None:
    assert number(value) == text


def test_small_texts() -> None:
    assert region_path(Polygon()) == ""
    assert lines_path([shapely.LineString(), shapely.LineString([(0, 0), (1.5, 2)])]) == "M0 0 1.5 2"
    assert plain("<a href='x'>&\n") == "&lt;a href=&#x27;x&#x27;&gt;&amp;"
    assert stroke_digits(107, 3).count("<path") == 1


def test_a_large_stack_is_composed_quickly(make_build: MakeBuild) -> None:
    build = make_build()
    turn = np.linspace(0, 2 * np.pi, 61)[:-1]
    leaves = [
        Polygon(np.column_stack((15 + 2.2 * column + np.cos(turn), 15 + 2.4 * row + np.sin(turn))))
        for column in range(40)
        for row in range(25)
    ]
    foliage = MultiPolygon(leaves)
    assert len(shapely.get_coordinates(foliage)) > 60_000
    sheets = tuple(dataclasses.replace(sheet, wood=foliage) for sheet in build.sheets)
    large = dataclasses.replace(build, sheets=sheets)
    start = time.process_time()
    svg = compose_svg(large)
    assert time.process_time() - start < 2.0  # about 0.2 s; slow machines need room
    shapes = 3 * 1000
    assert svg.count("M") > shapes  # every leaf is there
    assert len(svg) < 15 * shapes * 60  # and once
    start = time.process_time()
    compose_png(large, 700)
    assert time.process_time() - start < 3.0  # about 0.3 s


PIXELS_OFF = 3
"""The pixels and a renderer's picture may differ so much in a channel where no edge is near: rounding, twice."""


def decoded(png: bytes) -> Pixels:
    with Image.open(io.BytesIO(png)) as image:
        return np.asarray(image.convert("RGB"))


def rendered_as(svg: str, like: Pixels) -> Pixels:
    """A renderer's picture of exactly the size of another, which its rounding of millimetres would miss by a row."""
    height, width, _ = like.shape
    root = etree.fromstring(svg.encode())
    root.set("width", str(width))
    root.set("height", str(height))
    root.set("preserveAspectRatio", "none")
    return decoded(render_png(etree.tostring(root, encoding="unicode"), width))


def flat_drawing(build: Build) -> str:
    """The drawing by itself in the picture's box: paints of each layer in order, without light."""
    box_of = etree.fromstring(compose_svg(build).encode()).get("viewBox", "")
    paths = "".join(
        f'<path fill="{part.paint.colour}" fill-rule="evenodd" d="{region_path(part.region)}"/>'
        for layer in build.stack.layers
        for part in layer.painted
    )
    return f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{box_of}">{paths}</svg>'


def near_edges(build: Build, picture: Picture) -> NDArray[np.bool_]:
    """Pixels within a millimetre of any paint's or sheet's edge, of a mark, or on the frame."""
    panel = build.stack.panel
    lines = [line for sheet in build.sheets for line in sheet.mark_lines]
    edges = [part.region.boundary for layer in build.stack.layers for part in layer.painted]
    edges += [sheet.wood.boundary for sheet in build.sheets]
    mask = shapely.union_all([edge.buffer(1.0) for edge in (*edges, *lines)])
    height, width, _ = picture.pixels.shape
    x = picture.x0 + (np.arange(width) + 0.5) / picture.px_per_mm
    y = picture.y0 + (np.arange(height) + 0.5) / picture.px_per_mm
    across, down = np.meshgrid(x, y)
    return np.asarray(
        shapely.contains_xy(mask, across, down) | ~shapely.contains_xy(panel.interior, across, down), dtype=bool
    )


def test_flat_colours_are_those_of_the_drawing(make_build: MakeBuild) -> None:
    build = make_build()
    pixels = decoded(compose_png(build, WIDTH_PX))
    x0, y0, width_mm, _ = map(float, etree.fromstring(compose_svg(build).encode()).get("viewBox", "").split())
    picture = Picture(pixels, x0, y0, WIDTH_PX / width_mm)
    drawing = rendered_as(flat_drawing(build), pixels)
    off = np.abs(pixels.astype(int) - drawing).max(axis=2)
    away = ~near_edges(build, picture)
    # The lamp stands at the top left: a shadow reaches right of and below what throws it, never further than this.
    thickness = build.job.material.thickness
    reach = (SHADOW_SHIFT + 3 * SHADOW_BLUR) * thickness * (len(build.sheets) - 1)
    shade = [
        shapely.affinity.translate(sheet.wood, d, d) for sheet in build.sheets[1:] for d in np.linspace(0, reach, 9)
    ]
    soft = shapely.union_all([wood.buffer(3 * SHADOW_BLUR * thickness) for wood in shade])
    height, width = off.shape
    across, down = np.meshgrid(
        picture.x0 + (np.arange(width) + 0.5) / picture.px_per_mm,
        picture.y0 + (np.arange(height) + 0.5) / picture.px_per_mm,
    )
    front = shapely.contains_xy(build.sheets[-1].wood, across, down)
    lit = away & (front | ~shapely.contains_xy(soft, across, down))
    assert lit.mean() > 0.15
    assert off[lit].max() <= PIXELS_OFF
    # In the shadows it is the same colour, darker.
    dark = away & ~lit
    assert (picture.pixels[dark].astype(int) <= drawing[dark].astype(int) + PIXELS_OFF).all()
    assert (picture.pixels[dark].astype(int) >= drawing[dark] * (1 - SHADOW_STRENGTH) - 1).all()


@pytest.mark.parametrize("exploded", [False, True])
def test_pixels_are_those_of_the_svg(make_build: MakeBuild, *, exploded: bool) -> None:
    build = make_build(sky=blended(straight((0, 90), (30, 0))))
    pixels = decoded(compose_png(build, WIDTH_PX, exploded=exploded))
    svg = rendered_as(compose_svg(build, exploded=exploded), pixels)
    off = np.abs(pixels.astype(int) - svg).max(axis=2)
    assert np.median(off) <= 1
    # Shadows are softer the deeper they fall in the one, and not in the other; edges are a pixel either way.
    assert (off > 12).mean() < 0.08
    assert off.mean() < 4


def test_pixels_show_faults_as_the_svg_does(make_build: MakeBuild) -> None:
    finding = Finding("island", "error", "falls out", "house", at_mm=(93.0, 22.0), size_mm=(6.0, 4.0))
    pixels = decoded(compose_png(make_build(findings=(finding,), cut=False), WIDTH_PX))
    assert {rgb(RING), rgb(HATCH)} <= {tuple(pixel) for pixel in pixels.reshape(-1, 3).tolist()}


@pytest.mark.parametrize("width", [16, 400, 1800])
def test_pixels_at_any_width(make_build: MakeBuild, width: int) -> None:
    for exploded in (False, True):
        first = compose_png(make_build(), width, exploded=exploded)
        assert decoded(first).shape[1] == width
        if width == 400:
            assert first == compose_png(make_build(), width, exploded=exploded)


@pytest.mark.parametrize("exploded", [False, True])
def test_too_many_pixels_are_left_to_the_renderer(
    make_build: MakeBuild, monkeypatch: pytest.MonkeyPatch, *, exploded: bool
) -> None:
    quick = compose_png(make_build(), 300, exploded=exploded)
    monkeypatch.setattr("layercut.views.picture.stack_png.MOST_PIXELS", 1000)
    rendered_one = compose_png(make_build(), 300, exploded=exploded)
    assert rendered_one == render_png(compose_svg(make_build(), exploded=exploded), 300)
    assert rendered_one != quick


def test_every_digit_is_a_path_that_browsers_read_to_its_end() -> None:
    # A path's data is drawn up to its first mistake only: S takes four numbers, C six, H and V one, the rest two.
    takes = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Z": 0}
    for path in re.findall(r'd="([^"]+)"', stroke_digits(1234567890, 3)):
        for command, numbers in re.findall(r"([A-Z])([^A-Z]*)", path):
            count = len(re.findall(r"-?(?:\d*\.\d+|\d+)", numbers))
            assert count == 0 if takes[command] == 0 else count % takes[command] == 0, path


def _read_short(path: str) -> list[np.ndarray]:
    """The lines of a path of moves and steps, each with its points, to the letter of SVG 2, 9.3."""
    lines = []
    for line in path.split("M")[1:]:
        start, _, steps = line.partition("l")
        numbers = [float(word) for word in re.findall(r"-?(?:\d+\.?\d*|\.\d+)", f"{start} {steps}")]
        points = np.cumsum(np.array(numbers).reshape(-1, 2), axis=0)
        lines.append(np.vstack([points, points[:1]]) if line.endswith("z") else points)
    return lines


def test_short_paths_lead_where_their_shapes_do() -> None:
    rng = np.random.default_rng(4)
    holes = shapely.union_all([shapely.Point(45, 35).buffer(5), box(60, 38, 65, 42)])
    wood = shapely.Point(50, 40).buffer(30, 40).difference(holes)
    lines = [shapely.LineString(rng.uniform(-20, 120, (9, 2))), shapely.LineString([(3, 4), (3.02, -4)])]
    for step, digits in ((0.01, 2), (0.1, 1), (0.002, 3)):
        path = short_path([wood, *lines, box(0, 0, 2, 2)], step)
        drawn = _read_short(path)
        shapes = [*shapely.get_rings(wood), *lines, box(0, 0, 2, 2).exterior]
        assert len(drawn) == len(shapes)
        for points, shape in zip(drawn, shapes, strict=True):
            assert shapely.hausdorff_distance(shapely.LineString(points), shape) < step + 10**-digits
            assert (points[0] == points[-1]).all() == shape.is_ring
    assert short_path([], 0.1) == short_path([Polygon()], 0.1) == ""
    assert short_path([box(0, -0.5, 1, 2)], 0.1) == "M1-.5l0 2.5-1 0 0-2.5z"
