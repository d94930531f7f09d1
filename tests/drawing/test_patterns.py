"""Patterns as what they repeat: tiles that a maker would draw, at their true size and place."""

from pathlib import Path

import numpy as np
import pytest
import shapely
from shapely import Point, box
from shapely.geometry.base import BaseGeometry

from layercut.drawing import read_drawing
from layercut.job import Job, load_job
from layercut.model import Drawing, Shape

HEAD = '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm" viewBox="0 0 100 100">'
ROOM = 'patternUnits="userSpaceOnUse"'


def read(body: str, folder: Path, job: Job | None = None) -> Drawing:
    path = folder / "picture.svg"
    path.write_text(f"{HEAD}{body}</svg>", encoding="utf-8")
    return read_drawing(path, job or Job())


def shapes(body: str, folder: Path) -> tuple[Shape, ...]:
    return read(body, folder).layers[0].shapes


def parts(geometry: BaseGeometry) -> np.ndarray:
    return shapely.get_parts(geometry)


def test_bricks_are_paint_and_their_joints_marked_lines(tmp_path: Path) -> None:
    brick = f'<pattern id="brick" {ROOM} width="20" height="10"><rect width="20" height="10" fill="#a43"/>'
    brick += '<path d="M0 0H20M0 5H20M10 0V5M0 5V10" fill="none" stroke="#fff" stroke-width=".4"/></pattern>'
    wall, joints = shapes(f'{brick}<g><rect x="10" y="20" width="60" height="30" fill="url(#brick)"/></g>', tmp_path)
    assert (wall.role, wall.paint.colour) == ("wood", "#aa4433")
    assert wall.geometry.equals(box(10, 20, 70, 50))
    assert wall.coat is None
    assert joints.role == "mark-line"
    # Joints lie every 5 mm: from 20 to 50 seven level ones of 60 mm; upright ones end at each course.
    levels = [line for line in parts(joints.geometry) if line.bounds[1] == line.bounds[3]]
    assert sum(line.length for line in levels) == pytest.approx(7 * 60, abs=60.1)
    upright = joints.geometry.intersection(box(29.9, 20.1, 30.1, 24.9))
    assert upright.length == pytest.approx(4.8)
    assert joints.geometry.intersection(box(39, 25.1, 41, 29.9)).length == pytest.approx(4.8)


def test_shingles_keep_their_true_size_under_a_transform(tmp_path: Path) -> None:
    shingle = f'<pattern id="s" {ROOM} width="4" height="6" patternTransform="translate(3 1) rotate(30) scale(1.5)">'
    shingle += '<path d="M.5 0H3.5V4A1.5 1.5 0 0 1 .5 4Z" fill="#555"/></pattern>'
    (roof,) = shapes(f'{shingle}<g><rect width="60" height="60" fill="url(#s)"/></g>', tmp_path)
    whole = [part for part in parts(roof.geometry) if part.distance(box(0, 0, 60, 60).exterior) > 0.01]
    area = (3 * 4 + np.pi * 1.5**2 / 2) * 1.5**2
    assert len(whole) > 50
    assert [part.area for part in whole] == pytest.approx([area] * len(whole), rel=1e-3)
    # The first one's left upper corner: (0.5, 0) scaled, turned and moved.
    corner = Point(3 + 0.75 * np.cos(np.pi / 6), 1 + 0.75 * np.sin(np.pi / 6))
    assert roof.geometry.exterior.distance(corner) < 1e-3 if roof.geometry.geom_type == "Polygon" else True
    assert roof.geometry.distance(corner) < 1e-3


@pytest.mark.parametrize(
    ("attributes", "content", "first"),
    [
        ('width=".25" height=".5"', '<rect width="4" height="3"/>', (20, 10, 24, 13)),
        (f'{ROOM} x="2" y="3" width="25" height="25"', '<rect width="4" height="3"/>', (27, 28, 31, 31)),
        (
            'width=".5" height=".5" patternContentUnits="objectBoundingBox"',
            '<rect x=".125" width=".25" height=".25"/>',
            (25, 10, 35, 20),
        ),
        (f'{ROOM} width="20" height="10" viewBox="0 0 2 1"', '<rect width="1" height=".5"/>', (20, 10, 30, 15)),
    ],
)
def test_units(attributes: str, content: str, first: tuple[float, ...], tmp_path: Path) -> None:
    pattern = f'<pattern id="p" {attributes}>{content}</pattern>'
    (tiled,) = shapes(f'{pattern}<g><rect x="20" y="10" width="40" height="40" fill="url(#p)"/></g>', tmp_path)
    assert first in [tuple(round(value, 6) for value in part.bounds) for part in parts(tiled.geometry)]


def test_href_gives_content_and_what_is_missing(tmp_path: Path) -> None:
    base = f'<pattern id="b" {ROOM} width="50" height="40"><circle cx="5" cy="5" r="2"/></pattern>'
    body = f'{base}<pattern id="p" href="#b" width="10"/><g><rect width="30" height="30" fill="url(#p)"/></g>'
    (dots,) = shapes(body, tmp_path)
    assert [round(part.centroid.x) for part in parts(dots.geometry)] == [5, 15, 25]


def test_a_pattern_in_a_pattern_in_a_pattern_is_its_mean(tmp_path: Path) -> None:
    """Ten shapes in each of nine patterns would be a thousand million."""
    chain = "".join(
        f'<pattern id="p{n}" {ROOM} width="9" height="9">'
        + f'<rect width="9" height="9" fill="url(#p{n + 1})"/>' * 10
        + "</pattern>"
        for n in range(9)
    )
    inner = f'<pattern id="p9" {ROOM} width="9" height="9"><rect width="9" height="9" fill="#369"/></pattern>'
    drawing = read(f'{chain}{inner}<g><rect width="30" height="30" fill="url(#p7)"/></g>', tmp_path)
    assert {shape.paint.colour for shape in drawing.layers[0].shapes} == {"#336699"}
    assert [finding.code for finding in drawing.findings] == ["tiles-many"]
    # Further out the innermost has no plain colour: its mean is black, as that of any pattern without one.
    assert len(read(f'{chain}{inner}<g><rect width="30" height="30" fill="url(#p0)"/></g>', tmp_path).findings) == 1


def test_a_pattern_in_a_pattern(tmp_path: Path) -> None:
    fine = f'<pattern id="f" {ROOM} width="2" height="2"><rect width="1" height="2" fill="#080"/></pattern>'
    coarse = f'<pattern id="c" {ROOM} width="20" height="20"><rect width="10" height="10" fill="url(#f)"/></pattern>'
    (stripes,) = shapes(f'{fine}{coarse}<g><rect width="40" height="40" fill="url(#c)"/></g>', tmp_path)
    assert len(parts(stripes.geometry)) == 4 * 5
    assert stripes.geometry.area == pytest.approx(4 * 50, abs=0.01)


def test_wood_by_name_is_wood_between_the_tiles_too(tmp_path: Path) -> None:
    pattern = f'<pattern id="p" {ROOM} width="5" height="5"><circle cx="2" cy="2" r="1" fill="#f00"/></pattern>'
    ground, dots = shapes(
        f'{pattern}<g><rect id="wood" width="20" height="20" fill="url(#p)"/></g>',
        tmp_path,
    )
    assert ground.role == "wood"
    assert ground.geometry.area == pytest.approx(400)
    assert len(parts(dots.geometry)) == 16


def test_what_paints_nothing(tmp_path: Path) -> None:
    empty = '<pattern id="a"/><pattern id="b" width="0" height="5"><rect width="3" height="3"/></pattern>'
    itself = f'<pattern id="c" {ROOM} width="9" height="9"><rect width="5" height="5" fill="url(#c)"/></pattern>'
    rects = "".join(f'<rect width="9" height="9" fill="url(#{name})"/>' for name in "abc")
    assert shapes(f"{empty}{itself}<g>{rects}</g>", tmp_path) == ()


def test_thick_lines_of_a_tile_are_paint(tmp_path: Path) -> None:
    pattern = (
        f'<pattern id="p" {ROOM} width="5" height="5"><path d="M0 2H5" stroke="#00f" stroke-width="2"/></pattern>'
    )
    job = load_job(None, ["marks.line_below=0.8mm"])
    (stripes,) = (
        read(f'{pattern}<g><rect width="20" height="20" fill="url(#p)"/></g>', tmp_path, job).layers[0].shapes
    )
    assert (stripes.role, len(parts(stripes.geometry))) == ("wood", 4)
