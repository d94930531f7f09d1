"""Letters with a font's outlines: ligatures, and letters and fonts that are missing."""

from pathlib import Path

import pytest
from box_fonts import Read, build_font, marks, said


def test_ligatures_unless_letters_are_spaced_or_moved(read: Read) -> None:
    def first_height(attributes: str) -> float:
        _, top, _, bottom = marks(read(f'<text y="50" {attributes}>fi</text>'))[0].geometry.bounds
        return bottom - top

    assert first_height("") == pytest.approx(3)
    assert first_height('letter-spacing="1"') == pytest.approx(7)
    assert first_height('dy="0 0.001"') == pytest.approx(7, abs=0.01)
    assert first_height('rotate="0 5"') == pytest.approx(7, abs=0.1)


def test_a_missing_letter_is_named_and_no_box_is_engraved(read: Read) -> None:
    drawing = read('<text id="t" y="50">A\u00e9A</text>')
    (mark,) = marks(drawing)
    assert mark.geometry.area == pytest.approx(56)
    (finding,) = drawing.findings
    assert (finding.code, finding.element) == ("letter-missing", "text 't'")
    assert "'\u00e9' (U+00E9) isn't in the font 'Boxes' and was left out" in finding.message


def test_a_letter_without_an_outline_is_missing_too(read: Read) -> None:
    drawing = read('<text y="50">A\u2605</text>')
    assert said(drawing) == ["letter-missing"]
    assert "U+2605" in drawing.findings[0].message


def test_a_letter_from_another_font_of_the_job(read: Read, tmp_path: Path) -> None:
    build_font(tmp_path / "few.ttf", "Few", letters="B")
    drawing = read('<text y="50" font-family="Few">BA</text>', 'marks.fonts=["few.ttf","boxes.ttf"]')
    assert marks(drawing)[0].geometry.area == pytest.approx(20 + 28)
    (finding,) = drawing.findings
    assert finding.code == "letter-missing"
    assert "'A' (U+0041) isn't in the font 'Few' and was taken from 'Boxes'" in finding.message


def test_many_missing_letters_are_one_finding(read: Read) -> None:
    drawing = read(f'<text y="50">A{"".join(chr(0x400 + n) for n in range(30))}</text>')
    (finding,) = drawing.findings
    assert "and 20 more" in finding.message


def test_a_missing_font_is_named_with_what_was_used(read: Read) -> None:
    drawing = read('<text id="t" y="50" font-family="\'Nowhere Grotesk\', Nothing">A</text>')
    assert len(marks(drawing)) == 1
    (finding,) = drawing.findings
    assert (finding.code, finding.element) == ("font-missing", "text 't'")
    assert "'Nowhere Grotesk' was not found; 'Boxes' was used instead" in finding.message


def test_the_next_family_of_a_list_is_used_with_a_word(read: Read, tmp_path: Path) -> None:
    build_font(tmp_path / "second.ttf", "Second", letters="B")
    settings = 'marks.fonts=["boxes.ttf","second.ttf"]'
    drawing = read('<text y="50" font-family="Nowhere, Second, Boxes">B</text>', settings)
    assert "'Second' was used instead" in drawing.findings[0].message
    assert read('<text y="50" font-family="Second, Nowhere">B</text>', settings).findings == ()


def test_without_any_font_the_text_is_left_out_with_a_word(read: Read) -> None:
    drawing = read('<text id="t" y="50">A</text>', "marks.fonts=[]")
    assert marks(drawing) == []
    (finding,) = drawing.findings
    assert finding.code == "font-missing"
    assert "'Boxes' was not found, nor any other, and its text was left out" in finding.message


def test_without_a_family_the_jobs_first_font_is_used(read: Read) -> None:
    drawing = read('<text y="50" style="font-family:initial">A</text>')
    assert len(marks(drawing)) == 1
    assert drawing.findings == ()


def test_a_face_that_the_family_lacks_is_said(read: Read) -> None:
    drawing = read('<text y="50" font-weight="bold" font-style="italic">A</text>')
    assert said(drawing) == ["font-missing"] * 2
    assert "no italic" in drawing.findings[0].message
    assert "no bold" in drawing.findings[1].message
    assert len(marks(drawing)) == 1
