"""Wood, glaze or nothing, by how opaque paint is."""

from pathlib import Path

import pytest
from drawn import codes, layer, read, roles, shapes

BOX = '<rect width="20" height="20" {}/>'


def test_what_a_name_says_is_not_lost_for_want_of_opacity(tmp_path: Path) -> None:
    assert roles(BOX.format('id="opening" opacity=".3"'), tmp_path) == ["opening"]
    assert roles(BOX.format('id="wood" opacity=".3"'), tmp_path) == ["wood"]
    assert codes(read(layer(BOX.format('id="box" opacity=".3"')), tmp_path)) == ["glaze", "layer-empty"]


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
    drawing = read(layer(BOX.format(attributes)), tmp_path)
    (shape,) = drawing.layers[0].shapes
    assert shape.role == ("wood" if wood else "glaze")
    assert ("glaze" in codes(drawing)) != wood


@pytest.mark.parametrize(
    "body",
    ['<path d="M0 5H50" stroke="#000" stroke-width=".2" opacity=".3"/>', '<text y="9" opacity=".3">a</text>'],
)
def test_faint_lines_and_text_are_left_out(body: str, tmp_path: Path) -> None:
    drawing = read(layer(body), tmp_path)
    assert drawing.layers[0].shapes == ()
    assert codes(drawing) == ["see-through", "layer-empty"]


def test_a_glaze_is_told_once_a_layer(tmp_path: Path) -> None:
    two = BOX.format('fill="#f00"') + BOX.format('opacity=".3"') + BOX.format('opacity=".2"')
    (finding,) = read(layer(two), tmp_path).findings
    assert (finding.code, finding.layer) == ("glaze", "a")
    assert "and 1 more" in finding.message


def test_a_line_that_fades_is_marked_as_far_as_half_of_it_shows(tmp_path: Path) -> None:
    """From opaque at 0 to clear at 80: half of it shows up to 40."""
    fade = '<linearGradient id="f" gradientUnits="userSpaceOnUse" x2="80"><stop/><stop offset="1" stop-opacity="0"/>'
    line = '<path d="M0 5H80" stroke="url(#f)" stroke-width=".2"/>'
    (mark,) = shapes(f"{fade}</linearGradient>{line}", tmp_path)
    assert mark.role == "mark-line"
    assert mark.geometry.bounds == pytest.approx((0, 5, 40, 5), abs=0.01)
