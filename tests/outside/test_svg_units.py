"""Published numbers of SVG and CSS that the reader must arrive at."""

import math
from pathlib import Path

import pytest
import shapely
import svgelements

from layercut.drawing import read_drawing
from layercut.drawing.page import viewbox_map
from layercut.drawing.transforms import IDENTITY, compose, parse_transform
from layercut.drawing.units import Viewport, parse_length
from layercut.errors import DrawingError
from layercut.job import Job
from layercut.model import Drawing


def read(text: str, folder: Path) -> Drawing:
    path = folder / "case.svg"
    path.write_text(text, encoding="utf-8")
    return read_drawing(path, Job())


# CSS Values and Units 3, "Absolute lengths": 1in = 2.54cm = 96px, 1Q = 1/40 cm, 1pc = 1/6 in, 1pt = 1/72 in.
PX_IN_UNIT = [
    ("in", 96),
    ("cm", 37.795276),
    ("mm", 3.779528),
    ("Q", 0.944882),
    ("pt", 1.333333),
    ("pc", 16),
    ("px", 1),
]


@pytest.mark.parametrize(("unit", "px"), PX_IN_UNIT)
def test_px_in_a_unit(unit: str, px: float) -> None:
    for written in (unit, unit.upper(), unit.lower()):
        assert parse_length(f"1{written}", None) == pytest.approx(px, abs=5e-7)


# The same source: half an inch in every unit.
@pytest.mark.parametrize("text", ["0.5in", "48px", "12.7mm", "36pt", "3pc", "50.8Q", "48", "1.27cm", " .5IN "])
def test_half_an_inch(text: str, tmp_path: Path) -> None:
    assert parse_length(text, None) == pytest.approx(48, abs=1e-9)
    drawing = read(f'<svg xmlns="http://www.w3.org/2000/svg" width="{text}" height="{text}"><g/></svg>', tmp_path)
    assert drawing.width_mm == drawing.height_mm == pytest.approx(12.7, abs=1e-6)


# SVG 2, "Units": a percentage that is neither x nor y is of sqrt((w^2 + h^2) / 2); for 4000 x 2000, 1 % = 31.622777.
def test_percent_of_the_diagonal() -> None:
    assert Viewport(4000, 2000).diagonal / 100 == pytest.approx(31.622777, abs=5e-7)


def test_percent_lengths_of_shapes(tmp_path: Path) -> None:
    head = '<svg xmlns="http://www.w3.org/2000/svg" width="4000mm" height="2000mm" viewBox="0 0 4000 2000"><g>'
    drawing = read(
        f'{head}<circle cx="25%" cy="25%" r="1%"/><rect x="50%" width="10%" height="10%"/></g></svg>', tmp_path
    )
    circle, rect = drawing.layers[0].shapes
    assert circle.geometry.bounds == pytest.approx((968.377, 468.377, 1031.623, 531.623), abs=0.002)
    assert rect.geometry.bounds == pytest.approx((2000, 0, 2400, 200), abs=1e-9)


# SVG 1.1, chapter 7, "Nested transformations", at full precision (the text rounds cos 45 to .707).
def test_nested_transformations(tmp_path: Path) -> None:
    matrix = IDENTITY
    for step in ("translate(50,90)", "rotate(-45)", "translate(130,160)"):
        parsed = parse_transform(step)
        assert parsed is not None
        matrix = compose(matrix, parsed)
    assert matrix == pytest.approx((0.707107, -0.707107, 0.707107, 0.707107, 255.060967, 111.213203), abs=5e-7)
    head = '<svg xmlns="http://www.w3.org/2000/svg" width="500mm" height="500mm" viewBox="0 0 500 500"><g>'
    groups = '<g transform="translate(50,90)"><g transform="rotate(-45)"><g transform="translate(130,160)">'
    drawing = read(f'{head}{groups}<rect width="10" height="10"/></g></g></g><path d="M0 0"/></g></svg>', tmp_path)
    corner = drawing.layers[0].shapes[0].geometry.exterior.coords[0]
    assert corner == pytest.approx((255.060967, 111.213203), abs=5e-7)


# SVG 2 8.2, "Computing the equivalent transform of an SVG viewport", with the boxes of Example PreserveAspectRatio.
VIEWBOX_TABLE = [
    (50, 30, "xMin", "meet", (0.75, 0, 0)),
    (50, 30, "xMid", "meet", (0.75, 13.75, 0)),
    (50, 30, "xMax", "meet", (0.75, 27.5, 0)),
    (30, 60, "YMin", "meet", (1, 0, 0)),
    (30, 60, "YMid", "meet", (1, 0, 10)),
    (30, 60, "YMax", "meet", (1, 0, 20)),
    (30, 60, "xMin", "slice", (1.5, 0, 0)),
    (30, 60, "xMid", "slice", (1.5, -7.5, 0)),
    (30, 60, "xMax", "slice", (1.5, -15, 0)),
    (50, 30, "YMin", "slice", (1.666667, 0, 0)),
    (50, 30, "YMid", "slice", (1.666667, 0, -18.333333)),
    (50, 30, "YMax", "slice", (1.666667, 0, -36.666667)),
]


@pytest.mark.parametrize(("width", "height", "align", "how", "expected"), VIEWBOX_TABLE)
def test_equivalent_transform(width: float, height: float, align: str, how: str, expected: tuple[float, ...]) -> None:
    scale, tx, ty = expected
    across = align.startswith("x")
    for end in ("Min", "Mid", "Max"):  # the other axis fits exactly, so its word makes no difference
        word = f"{align}Y{end}" if across else f"x{end}{align}"
        a, b, c, d, e, f = viewbox_map((0, 0, 30, 40), f"{word} {how}", width, height)
        assert (a, b, c, d) == pytest.approx((scale, 0, 0, scale), abs=5e-7)
        assert (e, f)[0 if across else 1] == pytest.approx(tx if across else ty, abs=5e-7)
        text = svgelements.Viewbox.viewbox_transform(0, 0, width, height, 0, 0, 30, 40, f"{word} {how}")
        other = svgelements.Matrix(text)
        assert (e, f) == pytest.approx((other.e, other.f), abs=1e-5)


# The transform list's grammar against another reader of it.
@pytest.mark.parametrize(
    "text",
    [
        "translate(3)",
        "translate(3 -4)scale(2)",
        "matrix(1 .5-.25 2 10,20)",
        "rotate(30) , skewX(10)",
        "rotate(90 5 7)",
        "skewY(-20) scale(2,3)",
        "rotate(.5turn) translate(1in, 2)",
        "scale(1e-1 -1E1)",
    ],
)
def test_transform_lists(text: str) -> None:
    other = svgelements.Matrix(text.replace("1in", "96"))
    assert parse_transform(text) == pytest.approx((other.a, other.b, other.c, other.d, other.e, other.f), abs=1e-9)


@pytest.mark.parametrize(
    "text", ["foo(3)", "scale(2)bad", "matrix(1 2 3)", "translate(1e999)", "rotate(1 2)", "scale(,1)", "scale(1"]
)
def test_malformed_transform_lists(text: str) -> None:
    assert parse_transform(text) is None


# SVG 2, "The viewBox attribute", Example ViewBox; and an origin away from zero.
def test_viewbox_without_proportion_and_with_an_origin() -> None:
    assert viewbox_map((0, 0, 1500, 1000), "none", 300, 200) == pytest.approx((0.2, 0, 0, 0.2, 0, 0))
    assert viewbox_map((0, 0, 1500, 1000), "none", 150, 200) == pytest.approx((0.1, 0, 0, 0.2, 0, 0))
    assert viewbox_map((10, 20, 100, 50), None, 400, 300) == pytest.approx((4, 0, 0, 4, -40, -30))


# Areas of SVG 2's "Winding rule" figures: the star's by three polygon libraries, the circles' pi (107^2 - 49^2) etc.
STAR = "M250,75 L323,301 131,161 369,161 177,301 z"
OUTER = "M143 107a107 107 0 1 {sweep} 214 0a107 107 0 1 {sweep} -214 0z"
INNER = "M201 107a49 49 0 1 {sweep} 98 0a49 49 0 1 {sweep} -98 0z"
SAME = OUTER.format(sweep=1) + INNER.format(sweep=1)
OPPOSITE = OUTER.format(sweep=1) + INNER.format(sweep=0)
FULL, RING = math.pi * 107**2, math.pi * (107**2 - 49**2)


@pytest.mark.parametrize(
    ("path", "rule", "area", "within"),
    [
        (STAR, "nonzero", 17523.231, 0.001),
        (STAR, "evenodd", 12108.462, 0.001),
        (SAME, "nonzero", FULL, FULL * 5e-5),
        (SAME, "evenodd", RING, RING * 5e-5),
        (OPPOSITE, "nonzero", RING, RING * 5e-5),
        (OPPOSITE, "evenodd", RING, RING * 5e-5),
    ],
)
def test_fill_rule_figures(path: str, rule: str, area: float, within: float, tmp_path: Path) -> None:
    head = '<svg xmlns="http://www.w3.org/2000/svg" width="500mm" height="400mm" viewBox="0 0 500 400"><g>'
    drawing = read(f'{head}<path d="{path}" fill-rule="{rule}"/></g></svg>', tmp_path)
    region = drawing.layers[0].shapes[0].geometry
    assert region.is_valid
    assert region.area == pytest.approx(area, abs=within)


def test_circles_are_as_true_as_the_flattening(tmp_path: Path) -> None:
    head = '<svg xmlns="http://www.w3.org/2000/svg" width="500mm" height="400mm" viewBox="0 0 500 400"><g>'
    drawing = read(f'{head}<circle cx="200" cy="200" r="150"/></g></svg>', tmp_path)
    points = shapely.get_coordinates(drawing.layers[0].shapes[0].geometry)
    middles = (points[1:] + points[:-1]) / 2
    for distance in (
        *(math.dist(point, (200, 200)) for point in points),
        *(math.dist(m, (200, 200)) for m in middles),
    ):
        assert abs(distance - 150) <= 0.002


PAGES = [
    ('width="297mm" height="210mm"', 297, 210),
    ('width="297MM" viewBox="0 0 594 420"', 297, 210),
    ('height="210mm" viewBox="0 0 594 420"', 297, 210),
    ('viewBox="0 0 96 192"', 25.4, 50.8),
    ('width="100%" height="100%" viewBox="5 5 96 192"', 25.4, 50.8),
    ('width="auto" height="2in" viewBox="0 0 96 192"', 25.4, 50.8),
    ('width="400Q" height="10cm"', 100, 100),
]


@pytest.mark.parametrize(("attributes", "width", "height"), PAGES)
def test_page_size(attributes: str, width: float, height: float, tmp_path: Path) -> None:
    drawing = read(f'<svg xmlns="http://www.w3.org/2000/svg" {attributes}><g/></svg>', tmp_path)
    assert (drawing.width_mm, drawing.height_mm) == pytest.approx((width, height), abs=1e-6)


@pytest.mark.parametrize(
    "attributes", ["", 'width="50%"', 'width="0" height="5"', 'width="5mm"', 'viewBox="0 0 0 5"', 'viewBox="1 2 3"']
)
def test_no_size(attributes: str, tmp_path: Path) -> None:
    with pytest.raises(DrawingError) as caught:
        read(f'<svg xmlns="http://www.w3.org/2000/svg" {attributes}><g/></svg>', tmp_path)
    assert caught.value.code == "no-size"
