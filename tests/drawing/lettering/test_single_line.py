"""Letters of single strokes: the published data as it is, and what it lacks."""

import importlib.metadata
from pathlib import Path
from typing import get_args

import pytest
from box_fonts import Read, marks

import layercut
from layercut.drawing.lettering.single_line import FACES, load_face
from layercut.job_values import SingleLineFace


def test_single_line_letters_are_the_published_ones(read: Read) -> None:
    """Of the data: "1247 Elm" has 14 strokes of 310.453328 units in a box of x 6 to 149, y -12 to 9."""
    drawing = read('<text x="0" y="50" font-size="30">1247 Elm</text>', "marks.text=single-line")
    (mark,) = marks(drawing)
    assert mark.role == "mark-line"
    assert len(mark.geometry.geoms) == 14
    assert mark.geometry.length == pytest.approx(310.453328, abs=1e-5)
    assert mark.geometry.bounds == pytest.approx((6, 50 - 21, 149, 50))
    assert drawing.findings == ()


def test_single_line_letters_that_are_missing_are_named(read: Read) -> None:
    drawing = read('<text y="50">\u00e9\u201cA\u2603\u00df</text>', "marks.text=single-line")
    messages = [finding.message for finding in drawing.findings]
    assert {finding.code for finding in drawing.findings} == {"letter-missing"}
    for letter, fate in {"\u00e9": "'e' was drawn", "\u201c": "'\"' was drawn", "\u2603": "left out"}.items():
        assert any(f"'{letter}'" in message and fate in message for message in messages)
    assert any("'ss' was drawn" in message for message in messages)


def test_every_single_line_face_has_all_of_ascii_and_letters_of_its_own() -> None:
    assert set(FACES) == set(get_args(SingleLineFace))
    looks = set()
    for face in FACES:
        letters = load_face(face)
        assert set(letters) == {chr(code) for code in range(32, 127)}
        assert all(glyph.strokes for letter, glyph in letters.items() if letter != " ")
        looks.add(tuple(letters.values()))
    assert len(looks) == len(FACES)


def test_the_letters_data_is_pointed_to_and_not_held() -> None:
    root = Path(layercut.__file__).parents[1]
    page = (root / "docs" / "single-line.md").read_text(encoding="utf-8")
    package = importlib.metadata.distribution("Hershey-Fonts")
    assert f"{package.metadata['Name']} ({package.metadata['License'].removesuffix(' License')} licence)" in page
    assert any(str(file) == "HersheyFonts/HersheyFonts.py" for file in package.files or ())
    assert "HersheyFonts/HersheyFonts.py" in page
    assert all(f"`{face}`" in page for face in FACES)
