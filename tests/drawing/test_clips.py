"""Clip paths: what of a shape is left within them (CSS Masking 1, 14)."""

from pathlib import Path

import pytest
from drawn import codes, layer, only, read, shapes
from shapely import box

SQUARE = '<rect x="10" y="10" width="40" height="40" {}/>'
CLIPPED = SQUARE.format('clip-path="url(#c)"')


@pytest.mark.parametrize(
    ("clip", "left"),
    [
        ('<clipPath id="c"><rect width="30" height="99"/></clipPath>', (10, 10, 30, 50)),
        ('<clipPath id="c" transform="translate(5)"><rect width="30" height="99"/></clipPath>', (10, 10, 35, 50)),
        (
            '<clipPath id="c" clipPathUnits="objectBoundingBox"><rect width=".5" height=".25"/></clipPath>',
            (10, 10, 30, 20),
        ),
        (
            '<clipPath id="c"><rect width="30" height="99" display="none"/><rect width="20" height="20"/></clipPath>',
            (10, 10, 20, 20),
        ),
        ('<clipPath id="c"><rect width="20" height="20" fill="none" opacity="0"/></clipPath>', (10, 10, 20, 20)),
        (
            '<clipPath id="d"><rect width="99" height="15"/></clipPath>'
            '<clipPath id="c" clip-path="url(#d)"><rect width="30" height="99"/></clipPath>',
            (10, 10, 30, 15),
        ),
        (
            '<clipPath id="d"><rect width="99" height="15"/></clipPath>'
            '<clipPath id="c"><rect width="30" height="99" clip-path="url(#d)"/></clipPath>',
            (10, 10, 30, 15),
        ),
        (
            '<defs><rect id="r" width="20" height="20"/></defs><clipPath id="c"><use href="#r" x="5"/></clipPath>',
            (10, 10, 25, 20),
        ),
    ],
)
def test_what_is_left(clip: str, left: tuple[float, ...], tmp_path: Path) -> None:
    """Only the geometry of what a clip path holds counts, whatever its paint."""
    shape = only(clip + CLIPPED, tmp_path)
    assert shape.geometry.symmetric_difference(box(*left)).area < 1e-6


@pytest.mark.parametrize(("rule", "area"), [("nonzero", 400), ("evenodd", 300)])
def test_the_clip_rule_counts_and_not_the_fill_rule(rule: str, area: float, tmp_path: Path) -> None:
    path = f'<path clip-rule="{rule}" fill-rule="evenodd" d="M10 10h20v20h-20zM15 15h10v10h-10z"/>'
    shape = only(f'<clipPath id="c">{path}</clipPath>{CLIPPED}', tmp_path)
    assert shape.geometry.area == pytest.approx(area)


def test_the_box_is_that_of_the_whole_group_and_a_flat_one_leaves_nothing(tmp_path: Path) -> None:
    half = '<clipPath id="c" clipPathUnits="objectBoundingBox"><rect width=".5" height="1"/></clipPath>'
    group = '<g clip-path="url(#c)"><rect width="10" height="10"/><rect x="20" width="20" height="10"/></g>'
    assert [shape.geometry.bounds for shape in shapes(half + group, tmp_path)] == [(0, 0, 10, 10)]
    flat = '<path d="M10 20H50" stroke="#000" stroke-width=".2" clip-path="url(#c)"/>'
    assert shapes(half + flat, tmp_path) == ()


def test_an_empty_clip_path_leaves_nothing(tmp_path: Path) -> None:
    assert shapes(f'<clipPath id="c"/>{CLIPPED}', tmp_path) == ()


def test_a_clip_path_is_made_for_each_place_that_it_is_used_at(tmp_path: Path) -> None:
    clip = '<clipPath id="c"><rect width="10" height="10"/></clipPath>'
    one = '<rect width="30" height="30" transform="translate({})" clip-path="url(#c)"/>'
    drawn = shapes(clip + one.format(0) + one.format(50) + one.format(0), tmp_path)
    assert [shape.geometry.bounds for shape in drawn] == [(0, 0, 10, 10), (50, 0, 60, 10), (0, 0, 10, 10)]


@pytest.mark.parametrize("address", ["url(#gone)", "url(#r)", "circle(5px)"])
def test_what_is_no_clip_path_clips_nothing_with_a_word(address: str, tmp_path: Path) -> None:
    body = (
        f'<defs><rect id="r" width="5" height="5"/></defs>{SQUARE.format(f"clip-path={chr(34)}{address}{chr(34)}")}'
    )
    drawing = read(layer(body), tmp_path)
    assert drawing.layers[0].shapes[0].geometry.area == pytest.approx(1600)
    assert codes(drawing) == ["unsupported"]


def test_marks_are_clipped(tmp_path: Path) -> None:
    clip = '<clipPath id="c"><rect x="5" width="5" height="50"/><rect x="15" width="5" height="50"/></clipPath>'
    (mark,) = shapes(f'{clip}<path clip-path="url(#c)" d="M0 5H50" stroke="#000" stroke-width=".2"/>', tmp_path)
    assert mark.geometry.length == pytest.approx(10)
    assert {part.geom_type for part in mark.geometry.geoms} == {"LineString"}
