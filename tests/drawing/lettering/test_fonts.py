"""Which file a font is taken from, and files that are none."""

from pathlib import Path

import pytest
from box_fonts import Read, build_font, marks, said

from layercut.drawing.lettering import fonts as fonts_module
from layercut.drawing.lettering.fonts import Fonts, Wish
from layercut.errors import JobError


def test_the_face_of_a_family_by_weight_and_slant(tmp_path: Path) -> None:
    for style, weight in {"Light": 300, "Regular": 400, "Bold": 700, "Italic": 400}.items():
        build_font(tmp_path / f"{style}.ttf", "Family", style, weight=weight)
    found = Fonts(tmp_path, ["."])

    def stem(family: str, weight: int, *, slanted: bool = False) -> str:
        face = found.find(family, Wish(weight, slanted))
        return "" if face is None else face.path.stem

    # CSS Fonts 4, "Font style matching".
    wanted = {100: "Light", 350: "Light", 400: "Regular", 500: "Regular", 600: "Bold", 900: "Bold"}
    assert {weight: stem("family", weight) for weight in wanted} == wanted
    assert stem("Family", 700, slanted=True) == "Italic"
    assert stem("Family-Bold", 400) == "Bold"  # editors write PostScript names too
    assert stem("Family Light", 400) == "Light"
    assert stem("Fam", 400) == ""


def test_generic_families_without_fontconfig(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    build_font(tmp_path / "plain.ttf", "Plain")
    monkeypatch.setattr(fonts_module, "_usual_folders", lambda: [tmp_path])
    found = Fonts(tmp_path)
    for word in ("serif", "sans-serif", "monospace", "cursive"):
        face = found.find(word, Wish())
        assert face is not None
        assert face.family == "Plain"
    assert found.find("plain", Wish()) == face


@pytest.mark.parametrize(
    ("listed", "what"), [("none.ttf", "isn't there"), ("text.svg", "is no font"), ("empty", "has no font in it")]
)
def test_a_listed_file_that_is_no_font(listed: str, what: str, read: Read, tmp_path: Path) -> None:
    (tmp_path / "empty").mkdir()
    with pytest.raises(JobError) as caught:
        read('<text y="50">A</text>', f'marks.fonts=["{listed}"]')
    assert caught.value.code == "job-font"
    assert what in caught.value.message
    with pytest.raises(JobError, match=r"marks\.fonts"):
        read('<text y="50" font-family="sans-serif">A</text>', f'marks.fonts=["{listed}"]')


def test_a_listed_path_that_leads_nowhere_is_told_without_any_text(read: Read) -> None:
    with pytest.raises(JobError, match="isn't there"):
        read('<rect width="9" height="9"/>', 'marks.fonts=["none.ttf"]')


@pytest.mark.parametrize("share", [0.02, 0.2, 0.4, 0.6, 0.8, 0.95])
def test_a_damaged_font_gives_a_word_and_no_traceback(share: float, read: Read, tmp_path: Path) -> None:
    data = (tmp_path / "boxes.ttf").read_bytes()
    (tmp_path / "cut.ttf").write_bytes(data[: int(len(data) * share)])
    drawn, codes = 0.0, set()
    try:
        drawing = read('<text y="50">A</text>', 'marks.fonts=["cut.ttf"]')
        drawn, codes = sum(mark.geometry.area for mark in marks(drawing)), set(said(drawing))
    except JobError as error:
        codes.add(error.code)
    assert codes & {"job-font", "font-missing", "letter-missing"} or drawn == pytest.approx(28)
    assert codes or share > 0.9
