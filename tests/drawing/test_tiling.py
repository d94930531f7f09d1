"""What a pattern repeats over a shape: how tiles join, what they come to, and how many there may be."""

from pathlib import Path

import pytest
import shapely
from drawn import read

from layercut.colour.washes import GradedWash
from layercut.drawing import tiling
from layercut.model import Shape

ROOM = 'patternUnits="userSpaceOnUse"'


def shapes(body: str, folder: Path) -> tuple[Shape, ...]:
    return read(body, folder).layers[0].shapes


def test_siding_joins_where_tiles_meet(tmp_path: Path) -> None:
    siding = f'<pattern id="s" {ROOM} width="7" height="9"><rect width="7" height="6" fill="#bcd"/></pattern>'
    (boards,) = shapes(f'{siding}<g><rect width="63" height="45" fill="url(#s)"/></g>', tmp_path)
    found = sorted(part.bounds for part in shapely.get_parts(boards.geometry))
    assert found == [(0, 9 * n, 63, 9 * n + 6) for n in range(5)]


def test_opacity_counts_for_all_tiles_together(tmp_path: Path) -> None:
    tile = '<rect width="5" height="5" fill="#f00"/><rect x="2" width="3" height="5" fill="#00f" fill-opacity=".5"/>'
    pattern = f'<pattern id="p" {ROOM} width="5" height="5">{tile}</pattern>'
    body = f'{pattern}<g><rect width="20" height="20" fill="url(#p)" fill-opacity=".8"/></g>'
    red, blue = shapes(body, tmp_path)
    assert (red.role, blue.role) == ("wood", "glaze")  # 0.8, and 0.5 of that
    assert red.coat is not None
    assert blue.coat is not None
    assert [veil.opacity for veil in red.coat.veils] == [0.8]
    assert red.coat.veils == blue.coat.veils


def test_too_many_tiles_come_out_as_their_mean(tmp_path: Path) -> None:
    tile = '<rect width=".3" height=".3" fill="#000"/><rect width=".3" height=".15" fill="#fff"/>'
    pattern = f'<pattern id="p" {ROOM} width=".3" height=".3">{tile}</pattern>'
    drawing = read(f'{pattern}<g><rect id="roof" width="60" height="60" fill="url(#p)"/></g>', tmp_path)
    (roof,) = drawing.layers[0].shapes
    assert roof.paint.colour == "#808080"
    (finding,) = drawing.findings
    assert finding.code == "tiles-many"
    assert "roof" in finding.message


def test_the_limit_is_what_it_says(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    pattern = f'<pattern id="p" {ROOM} width="1" height="1"><rect width="1" height=".8"/></pattern>'
    body = f'{pattern}<g><rect width="10" height="10" fill="url(#p)"/></g>'
    monkeypatch.setattr(tiling, "MAX_REPEATS", 121)  # tiles that only touch the edge count too
    assert read(body, tmp_path).findings == ()
    monkeypatch.setattr(tiling, "MAX_REPEATS", 99)
    assert [finding.code for finding in read(body, tmp_path).findings] == ["tiles-many"]


def test_roles_by_name_take_the_shape_as_a_whole(tmp_path: Path) -> None:
    pattern = f'<pattern id="p" {ROOM} width="5" height="5"><circle cx="2" cy="2" r="1" fill="#f00"/></pattern>'
    body = (
        f'{pattern}<g><rect width="50" height="50"/><rect id="mark-area" width="20" height="20" fill="url(#p)"/></g>'
    )
    _, area = shapes(body, tmp_path)
    assert (area.role, area.geometry.area) == ("mark-area", pytest.approx(400))


def test_a_gradient_in_a_tile_has_a_place_in_each(tmp_path: Path) -> None:
    """Each of four tiles has a shape of its own, whose gradient lies where the tile lies."""
    blend = '<linearGradient id="b"><stop stop-color="#f00"/><stop offset="1" stop-color="#00f"/></linearGradient>'
    pattern = f'<pattern id="p" {ROOM} width="10" height="20"><rect width="8" height="20" fill="url(#b)"/></pattern>'
    drawn = shapes(f'{blend}{pattern}<g><rect width="40" height="20" fill="url(#p)"/></g>', tmp_path)
    assert [shape.geometry.bounds for shape in drawn] == [(10 * n, 0, 10 * n + 8, 20) for n in range(4)]
    blends = [wash for shape in drawn for wash in shape.paint.washes if isinstance(wash, GradedWash)]
    assert [wash.gradient.to_mm[4] for wash in blends] == pytest.approx([0, 10, 20, 30])


def test_lines_of_tiles_are_cut_off_at_the_shape(tmp_path: Path) -> None:
    pattern = (
        f'<pattern id="p" {ROOM} width="10" height="10"><path d="M0 5H10" stroke="#000" stroke-width=".2"/></pattern>'
    )
    (lines,) = shapes(f'{pattern}<g><circle cx="50" cy="45" r="20" fill="url(#p)"/></g>', tmp_path)
    assert lines.role == "mark-line"
    chords = {20.0: 40, 10.0: 2 * (20**2 - 10**2) ** 0.5}  # at the middle, and 10 mm from it on either side
    assert lines.geometry.length == pytest.approx(chords[20.0] + 2 * chords[10.0], abs=0.02)
