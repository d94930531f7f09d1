"""Masks: what they let through, in both kinds of units, by luminance and by opacity."""

from pathlib import Path

import pytest
import shapely
from shapely import box

from layercut.drawing import read_drawing
from layercut.job import Job
from layercut.model import Drawing, Shape

HEAD = '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm" viewBox="0 0 100 100">'
RED = '<rect x="20" y="10" width="40" height="40" fill="#f00" mask="url(#m)"/>'


def read(body: str, folder: Path) -> Drawing:
    path = folder / "picture.svg"
    path.write_text(f"{HEAD}{body}</svg>", encoding="utf-8")
    return read_drawing(path, Job())


def only(body: str, folder: Path) -> Shape:
    (shape,) = read(body, folder).layers[0].shapes
    return shape


@pytest.mark.parametrize(
    ("attributes", "content", "left"),
    [
        ("", '<rect x="20" y="10" width="10" height="99" fill="#fff"/>', (20, 10, 30, 50)),
        (
            'maskUnits="userSpaceOnUse" x="25" y="0" width="20" height="30"',
            '<path d="M0 0H99V99H0Z" fill="#fff"/>',
            (25, 10, 45, 30),
        ),
        ('x="0" y="0" width=".5" height=".5"', '<path d="M0 0H99V99H0Z" fill="#fff"/>', (20, 10, 40, 30)),
        (
            'maskContentUnits="objectBoundingBox"',
            '<rect x=".5" width=".5" height="1" fill="#fff"/>',
            (40, 10, 60, 50),
        ),
        ('mask-type="alpha"', '<rect x="20" y="10" width="10" height="9"/>', (20, 10, 30, 19)),
    ],
)
def test_hard_masks_are_clips(attributes: str, content: str, left: tuple[float, ...], tmp_path: Path) -> None:
    shape = only(f'<mask id="m" {attributes}>{content}</mask><g>{RED}</g>', tmp_path)
    assert shape.role == "wood"
    assert shape.coat is None
    assert shape.geometry.symmetric_difference(box(*left)).area < 0.01


def test_black_lets_nothing_through(tmp_path: Path) -> None:
    hole = '<rect width="100" height="100" fill="#fff"/><rect x="30" y="20" width="10" height="10"/>'
    shape = only(f'<mask id="m">{hole}</mask><g>{RED}</g>', tmp_path)
    assert shape.geometry.area == pytest.approx(1600 - 100)
    assert read(f'<mask id="m"/><g>{RED}</g>', tmp_path).layers[0].shapes == ()


def test_grey_lets_a_part_through(tmp_path: Path) -> None:
    grey = '<mask id="m"><rect width="100" height="100" fill="{}"/></mask><g>' + RED + "</g>"
    assert only(grey.format("#a0a0a0"), tmp_path).role == "wood"
    assert only(grey.format("#606060"), tmp_path).role == "glaze"
    assert only(grey.format("#0f0"), tmp_path).role == "wood"  # 0.7154
    assert only(grey.format("#f00"), tmp_path).role == "glaze"  # 0.2125


def test_a_soft_mask_is_wood_where_at_least_half_shows(tmp_path: Path) -> None:
    ramp = '<linearGradient id="r"><stop/><stop offset="1" stop-color="#fff"/></linearGradient>'
    mask = '<mask id="m"><rect x="20" y="0" width="40" height="99" fill="url(#r)"/></mask>'
    drawing = read(f"{ramp}{mask}<g>{RED}</g>", tmp_path)
    (shape,) = drawing.layers[0].shapes
    assert shape.role == "wood"
    assert shape.geometry.bounds == pytest.approx((40, 10, 60, 50))
    assert shape.coat is not None
    assert shape.coat.region.bounds == pytest.approx((20, 10, 60, 50))
    assert [finding.code for finding in drawing.findings] == ["blend", "glaze"]


def test_a_mask_on_a_mask(tmp_path: Path) -> None:
    inner = '<mask id="n"><rect x="0" y="0" width="99" height="30" fill="#fff"/></mask>'
    outer = (
        '<mask id="m" mask="url(#n)" maskContentUnits="objectBoundingBox"><path d="M0 0H1V1H0Z" fill="#fff"/></mask>'
    )
    shape = only(f"{inner}{outer}<g>{RED}</g>", tmp_path)
    assert shape.geometry.symmetric_difference(box(20, 10, 60, 30)).area < 0.01


def test_a_group_is_masked_as_one(tmp_path: Path) -> None:
    mask = '<mask id="m"><path d="M0 0H100V100H0Z" fill="#999"/></mask>'
    group = '<g mask="url(#m)"><path d="M10 10H50V50H10Z" fill="#f00"/><path d="M30 30H90V90H30Z" fill="#00f"/></g>'
    first, second = read(f"{mask}<g>{group}</g>", tmp_path).layers[0].shapes
    assert first.coat is not None
    assert second.coat is not None
    assert first.coat.veils == second.coat.veils
    assert len(first.coat.veils) == 1


def test_marks_lie_where_half_shows(tmp_path: Path) -> None:
    mask = '<mask id="m"><path d="M0 0H50V100H0Z" fill="#fff"/><path d="M50 0H100V100H50Z" fill="#333"/></mask>'
    line = '<path d="M10 20H90" stroke="#000" stroke-width=".2" fill="none"/>'
    masked = f'<g mask="url(#m)"><rect width="99" height="1"/>{line}</g>'
    body = f'{mask}<g><path d="M0 0H100V100H0Z" fill="#fc0"/>{masked}</g>'
    marks = [shape for shape in read(body, tmp_path).layers[0].shapes if shape.role == "mark-line"]
    assert shapely.union_all([mark.geometry for mark in marks]).bounds == pytest.approx((10, 20, 50, 20))
