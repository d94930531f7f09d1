"""What an item comes out as: wood or a mark by its width, lines and dashes, openings, and the job's roles."""

import math
from pathlib import Path

import pytest
from drawn import roles, shapes

from layercut.job import load_job

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


def test_the_job_says_how_opaque_wood_is(tmp_path: Path) -> None:
    faint = BOX.format('opacity=".3"')
    assert roles(faint, tmp_path) == ["glaze"]
    assert roles(faint, tmp_path, load_job(None, ["paint.wood_opacity=0.3"])) == ["wood"]
    assert roles(BOX.format('opacity=".9"'), tmp_path, load_job(None, ["paint.wood_opacity=1"])) == ["glaze"]
