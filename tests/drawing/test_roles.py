"""What is wood, what is a mark: by width, by name, by attribute and by paint."""

import math
from pathlib import Path

import pytest

from layercut.drawing import read_drawing
from layercut.errors import DrawingError
from layercut.job import Job, load_job
from layercut.model import Drawing, Shape

HEAD = '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm" viewBox="0 0 100 100">'
HEAD += '<g id="a"><path d=""/>'  # not only groups, so that it isn't looked through


def read(body: str, folder: Path, job: Job | None = None) -> Drawing:
    path = folder / "picture.svg"
    path.write_text(f"{HEAD}{body}</g></svg>", encoding="utf-8")
    return read_drawing(path, job or Job())


def shapes(body: str, folder: Path, job: Job | None = None) -> tuple[Shape, ...]:
    return read(body, folder, job).layers[0].shapes


def roles(body: str, folder: Path, job: Job | None = None) -> list[str]:
    return [shape.role for shape in shapes(body, folder, job)]


BOX = '<rect width="20" height="20" {}/>'
PAINTED = 'fill="#080" stroke="#000" stroke-width="{}"'


@pytest.mark.parametrize(("width", "role"), [("0.79", "mark-line"), ("0.8", "wood"), ("3", "wood")])
def test_the_width_of_a_stroke_decides(width: str, role: str, tmp_path: Path) -> None:
    fill, stroke = shapes(BOX.format(PAINTED.format(width)), tmp_path)
    assert (fill.role, fill.paint.colour, fill.geometry.area) == ("wood", "#008800", 400)
    assert (stroke.role, stroke.paint.colour) == (role, "#000000")
    if role == "wood":
        assert stroke.geometry.area == pytest.approx(80 * float(width))
    else:
        assert stroke.geometry.length == pytest.approx(80)


@pytest.mark.parametrize(
    ("transform", "role"), [("scale(.5)", "mark-line"), ("scale(.9)", "wood"), ("scale(.25 4)", "wood")]
)
def test_the_width_counts_on_the_panel(transform: str, role: str, tmp_path: Path) -> None:
    line = f'<path transform="{transform}" d="M1 1H9" stroke="#000"/>'
    assert roles(line, tmp_path) == [role]


def test_a_stroke_that_does_not_scale(tmp_path: Path) -> None:
    line = (
        '<path transform="scale(9 2)" d="M1 9H9" stroke="#000" stroke-width="{}" vector-effect="non-scaling-stroke"/>'
    )
    assert roles(line.format(3), tmp_path) == ["mark-line"]  # 3px is 0.79375 mm
    (thick,) = shapes(line.format(4), tmp_path)
    assert thick.geometry.bounds == pytest.approx((9, 18 - 2 * 25.4 / 96, 81, 18 + 2 * 25.4 / 96))


def test_paint_order(tmp_path: Path) -> None:
    box = BOX.format(PAINTED.format(2) + ' paint-order="{}"')
    for order, first in {
        "normal": "#008800",
        "stroke": "#000000",
        "markers": "#008800",
        "markers stroke": "#000000",
    }.items():
        assert shapes(box.format(order), tmp_path)[0].paint.colour == first


def test_dashes_of_a_mark_stay_dashes(tmp_path: Path) -> None:
    (mark,) = shapes('<path d="M0 0H50" stroke="#000" stroke-width=".2" stroke-dasharray="4 6"/>', tmp_path)
    assert len(mark.geometry.geoms) == 5
    assert mark.geometry.length == pytest.approx(20)
    (mark,) = shapes(
        '<path d="M0 0H50" pathLength="5" stroke="#000" stroke-width=".2" stroke-dasharray="1"/>', tmp_path
    )
    assert [part.length for part in mark.geometry.geoms] == pytest.approx([10, 10, 10])


@pytest.mark.parametrize(
    "naming",
    [
        '<g data-layercut="{}">{{}}</g>',
        '<g id="{}">{{}}</g>',
        '<g id="{}-3">{{}}</g>',
        '<g label="{} of the door">{{}}</g>',
        "<g><title>{}: door</title>{{}}</g>",
        '<g id="{}_x0020_left"><g id="other">{{}}</g></g>',
        '<g id="opening"><g data-layercut="{}">{{}}</g></g>',
        '<g id="wood" data-layercut="{}">{{}}</g>',
        '<defs><g id="{}1_">{{}}</g></defs><use href="#{}1_"/>',
    ],
)
@pytest.mark.parametrize("word", ["wood", "mark-line", "mark-area", "opening"])
def test_names_decide_what_a_fill_is(naming: str, word: str, tmp_path: Path) -> None:
    body = naming.replace("{}1_", "{}-1").replace("{{}}", BOX.format("")).replace("{}", word)
    assert roles(body, tmp_path) == [word]


@pytest.mark.parametrize("name", ["woody", "openings", "mark-lines", "guided", "my opening", "Wooden"])
def test_names_that_only_look_like_words(name: str, tmp_path: Path) -> None:
    assert roles(f'<g id="{name}">{BOX.format("")}</g>', tmp_path) == ["wood"]


def test_the_innermost_name_wins(tmp_path: Path) -> None:
    box = BOX.format("")
    guide = f'<g id="guide">{box}<g data-layercut="wood">{box}</g></g>'
    body = f'<g id="mark-area"><g id="opening">{box}</g>{box}{guide}</g>'
    assert roles(body, tmp_path) == ["opening", "mark-area", "wood"]


def test_an_unknown_role_is_named(tmp_path: Path) -> None:
    with pytest.raises(DrawingError) as caught:
        read('<path id="leaf" data-layercut="engrave" d="M0 0h9v9z"/>', tmp_path)
    assert caught.value.code == "unknown-role"
    assert "engrave" in caught.value.message
    assert (caught.value.layer, caught.value.element) == ("a", "path 'leaf'")


def test_a_marked_line_is_the_outline_once(tmp_path: Path) -> None:
    (mark,) = shapes(BOX.format(f'id="mark-line" {PAINTED.format(5)}'), tmp_path)
    assert mark.geometry.length == pytest.approx(80)
    assert mark.paint.colour == "#000000"
    (mark,) = shapes('<path id="mark-line" d="M0 0H10V10"/>', tmp_path)
    assert mark.geometry.length == pytest.approx(20 + math.hypot(10, 10))
    assert roles('<path id="mark-line" fill="none" d="M0 0H10V10"/>', tmp_path) == []


def test_a_thin_stroke_named_wood_is_wood(tmp_path: Path) -> None:
    (line,) = shapes('<path id="wood" d="M0 5H10" stroke="#000" stroke-width=".3"/>', tmp_path)
    assert (line.role, round(line.geometry.area, 9)) == ("wood", 3)


def test_openings_and_their_outlines(tmp_path: Path) -> None:
    (filled,) = shapes(BOX.format(f'id="opening" {PAINTED.format(0.1)}'), tmp_path)
    (outlined,) = shapes(BOX.format('id="opening" fill="none" stroke="#f00" stroke-width=".1"'), tmp_path)
    assert filled.geometry.area == outlined.geometry.area == 400
    fill, stroke = shapes(BOX.format(f'id="opening" {PAINTED.format(2)}'), tmp_path)
    assert (fill.role, stroke.role) == ("opening", "opening")


def test_marked_areas_of_strokes(tmp_path: Path) -> None:
    (area,) = shapes('<path id="mark-area" d="M0 5H10" stroke="#000" stroke-width=".3"/>', tmp_path)
    assert (area.role, round(area.geometry.area, 9)) == ("mark-area", 3)


def test_the_job_gives_colours_roles(tmp_path: Path) -> None:
    job = load_job(
        None, ['paint.roles={"#ff0000"="mark-line","#00ff00"="guide","#0000ff"="opening","#ffff00"="mark-area"}']
    )
    body = BOX.format('fill="red"') + BOX.format('fill="lime"') + BOX.format('fill="#00f" stroke="#f00"')
    assert roles(body, tmp_path, job) == ["mark-line", "opening", "mark-line"]
    assert roles(BOX.format('fill="none" stroke="yellow" stroke-width=".2"'), tmp_path, job) == ["mark-area"]
    assert roles(BOX.format('id="wood" fill="red"'), tmp_path, job) == ["wood"]
    assert roles(BOX.format('data-layercut="opening" fill="lime"'), tmp_path, job) == ["opening"]


def test_what_a_name_says_is_not_lost_for_want_of_opacity(tmp_path: Path) -> None:
    assert roles(BOX.format('id="opening" opacity=".3"'), tmp_path) == ["opening"]
    assert roles(BOX.format('id="wood" opacity=".3"'), tmp_path) == ["wood"]
    drawing = read(BOX.format('id="box" opacity=".3"'), tmp_path)
    assert [finding.code for finding in drawing.findings] == ["glaze", "layer-empty"]


@pytest.mark.parametrize(
    ("attributes", "wood"),
    [
        ('opacity=".5"', True),
        ('opacity="49%"', False),
        ('fill-opacity=".49"', False),
        ('fill="rgba(0,0,0,.6)"', True),
        ('fill="#00000060"', False),
        ('fill="rgba(0,0,0,.8)" fill-opacity=".8" opacity=".7"', False),
        ('fill="rgba(0,0,0,.9)" fill-opacity=".9" opacity=".7"', True),
    ],
)
def test_paint_under_half_opacity_is_a_glaze(attributes: str, wood: bool, tmp_path: Path) -> None:
    drawing = read(BOX.format(attributes), tmp_path)
    (shape,) = drawing.layers[0].shapes
    assert shape.role == ("wood" if wood else "glaze")
    assert any(finding.code == "glaze" for finding in drawing.findings) != wood


def test_the_job_says_how_opaque_wood_is(tmp_path: Path) -> None:
    faint = BOX.format('opacity=".3"')
    assert roles(faint, tmp_path) == ["glaze"]
    assert roles(faint, tmp_path, load_job(None, ["paint.wood_opacity=0.3"])) == ["wood"]
    assert roles(BOX.format('opacity=".9"'), tmp_path, load_job(None, ["paint.wood_opacity=1"])) == ["glaze"]


@pytest.mark.parametrize(
    "body",
    ['<path d="M0 5H50" stroke="#000" stroke-width=".2" opacity=".3"/>', '<text y="9" opacity=".3">a</text>'],
)
def test_faint_lines_and_text_are_left_out(body: str, tmp_path: Path) -> None:
    drawing = read(body, tmp_path)
    assert drawing.layers[0].shapes == ()
    assert [finding.code for finding in drawing.findings] == ["see-through", "layer-empty"]


def test_marks_are_clipped(tmp_path: Path) -> None:
    clip = '<clipPath id="c"><rect x="5" width="5" height="50"/><rect x="15" width="5" height="50"/></clipPath>'
    (mark,) = shapes(f'{clip}<path clip-path="url(#c)" d="M0 5H50" stroke="#000" stroke-width=".2"/>', tmp_path)
    assert mark.geometry.length == pytest.approx(10)
    assert {part.geom_type for part in mark.geometry.geoms} == {"LineString"}
