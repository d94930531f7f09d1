"""Which layers are drawn in lines, what of them encloses wood, and what paint it has."""

from pathlib import Path

import pytest
import shapely
from line_work import SQUARE, area, read, wood

from layercut import compile_drawing
from layercut.errors import DrawingError, JobError
from layercut.job import load_job


def test_without_the_word_lines_are_only_marks(tmp_path: Path) -> None:
    assert wood(read(SQUARE, tmp_path, attributes="")) == []
    assert wood(read(SQUARE, tmp_path, attributes='data-layercut-face="fills"')) == []


def test_the_job_says_it_too_and_wins(tmp_path: Path) -> None:
    assert area(read(SQUARE, tmp_path, "layers.hill.face=lines", attributes="")) == pytest.approx(1600)
    assert wood(read(SQUARE, tmp_path, "layers.hill.face=fills")) == []
    # A job that only says how wide a gap may be leaves it to the drawing.
    assert area(read(SQUARE, tmp_path, "layers.hill.gap=1mm")) == pytest.approx(1600)


def test_thick_lines_count_by_their_centre(tmp_path: Path) -> None:
    drawing = read(SQUARE, tmp_path, attributes='data-layercut-face="lines" style="stroke-width:4"')
    assert area(drawing) == pytest.approx(1600)
    assert [shape.role for shape in drawing.layers[1].shapes] == ["wood", "mark-line"]


def test_paint(tmp_path: Path) -> None:
    filled = f'{SQUARE}<path d="M30 30H40V40Z" fill="#c8502f"/>'
    assert wood(read(SQUARE, tmp_path))[0].paint.colour == "#dcbc8c"
    assert {shape.paint.colour for shape in wood(read(filled, tmp_path))} == {"#c8502f"}
    own = wood(read(filled, tmp_path, 'layers.hill.paint="#00ff00"'))
    assert [shape.paint.colour for shape in own] == ["#00ff00", "#c8502f"]


def test_dashed_and_named_lines_enclose_nothing(tmp_path: Path) -> None:
    for attributes in (
        'stroke-dasharray="3"',
        'stroke-dasharray="3 .3"',
        'data-layercut="mark-line"',
        'stroke="#f00"',
    ):
        body = f'{SQUARE}<path d="M70 70H90V90H70Z" {attributes}/>'
        drawing = read(body, tmp_path, 'paint.roles={"#ff0000"="mark-line"}')
        assert area(drawing) == pytest.approx(1600)


def test_an_opening_in_a_layer_of_lines(tmp_path: Path) -> None:
    body = f'{SQUARE}<path data-layercut="opening" d="M30 30H40V40H30Z"/>'
    drawing = read(body, tmp_path)
    assert [shape.role for shape in drawing.layers[1].shapes] == ["wood", "mark-line", "opening"]
    build = compile_drawing(tmp_path / "lines.svg", load_job(None, ["islands.policy=loose"]))
    assert not build.stack.layers[1].face.covers(shapely.Point(35, 35))


def test_a_wrong_word_and_a_wrong_key(tmp_path: Path) -> None:
    with pytest.raises(DrawingError) as wrong_word:
        read(SQUARE, tmp_path, attributes='data-layercut-face="outline"')
    assert (wrong_word.value.code, wrong_word.value.layer) == ("unknown-face", "hill")
    with pytest.raises(JobError) as wrong_key:
        load_job(None, ["layers.hill.gaps=1mm"])
    assert wrong_key.value.code == "job-unknown-key"
