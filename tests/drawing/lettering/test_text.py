"""Live text: marked and never cut, in the font that was meant, and nothing missing without a word.

Fonts are built here, so that every letter's shape and width is known; what the machine has is kept out.
"""

import importlib.metadata
from collections.abc import Callable
from pathlib import Path
from typing import get_args

import pytest
from fontTools.feaLib.builder import addOpenTypeFeaturesFromString
from fontTools.fontBuilder import FontBuilder
from fontTools.pens.ttGlyphPen import TTGlyphPen

from layercut import compile_drawing
from layercut.drawing import read_drawing
from layercut.drawing.css.fonts import font_families, font_shorthand, font_size, font_weight
from layercut.drawing.lettering import fonts as fonts_module
from layercut.drawing.lettering import text as text_module
from layercut.drawing.lettering.fonts import Fonts, Wish
from layercut.drawing.lettering.single_line import FACES, load_face
from layercut.errors import JobError
from layercut.job import SingleLineFace, load_job
from layercut.model import Drawing, Shape

HEAD = '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm" viewBox="0 0 100 100">'
UPEM = 1000

Box = tuple[float, float, float, float]
BOXES: dict[str, list[Box]] = {
    ".notdef": [(0, 0, 900, 900)],
    "space": [],
    "A": [(100, 0, 500, 700)],
    "B": [(0, 0, 400, 500)],
    "f": [(0, 0, 200, 700)],
    "i": [(0, 0, 100, 500)],
    "f_i": [(0, 0, 300, 300)],
    "X": [(0, 0, 400, 400), (200, 200, 600, 600)],  # contours that overlap, as those of variable fonts do
    "picture": [],
}
WIDTHS = {".notdef": 1000, "space": 500, "A": 600, "B": 500, "f": 300, "i": 200, "f_i": 400, "X": 700, "picture": 800}
LETTERS = {" ": "space", "A": "A", "B": "B", "f": "f", "i": "i", "X": "X", "\u2605": "picture"}
FEATURES = "languagesystem DFLT dflt; feature liga { sub f i by f_i; } liga; feature kern { pos A B -50; } kern;"


def build_font(path: Path, family: str, style: str = "Regular", *, weight: int = 400, letters: str = "") -> Path:
    """A font of boxes; `letters` limits which it has."""
    builder = FontBuilder(UPEM, isTTF=True)
    builder.setupGlyphOrder(list(BOXES))
    builder.setupCharacterMap({ord(k): v for k, v in LETTERS.items() if not letters or k in letters})
    builder.setupGlyf({name: _glyph(boxes) for name, boxes in BOXES.items()})
    builder.setupHorizontalMetrics(
        {name: (width, int(min((b[0] for b in BOXES[name]), default=0))) for name, width in WIDTHS.items()}
    )
    builder.setupHorizontalHeader(ascent=800, descent=-200)
    names = {"familyName": family, "styleName": style, "fullName": f"{family} {style}"}
    builder.setupNameTable({**names, "psName": f"{family.replace(' ', '')}-{style}"})
    builder.setupOS2(usWeightClass=weight, fsSelection=1 if style == "Italic" else 0)
    builder.setupPost()
    addOpenTypeFeaturesFromString(builder.font, FEATURES)
    builder.save(path)
    return path


def _glyph(boxes: list[Box]) -> object:
    pen = TTGlyphPen(None)
    for x0, y0, x1, y1 in boxes:
        pen.moveTo((x0, y0))
        for point in ((x0, y1), (x1, y1), (x1, y0)):
            pen.lineTo(point)
        pen.closePath()
    return pen.glyph()


@pytest.fixture(autouse=True)
def _no_system_fonts(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(fonts_module, "_fontconfig", lambda *_: "")
    monkeypatch.setattr(fonts_module, "_usual_folders", list)


Read = Callable[..., Drawing]


@pytest.fixture
def read(tmp_path: Path) -> Read:
    """Reads a body in a layer whose texts are 10 mm high in the font Boxes, which the job lists."""
    build_font(tmp_path / "boxes.ttf", "Boxes")

    def read_it(body: str, *settings: str, family: str = "Boxes") -> Drawing:
        path = tmp_path / "text.svg"
        wood = '<rect id="board" width="100" height="100" fill="#dcb"/>'
        path.write_text(f'{HEAD}<g id="a" font-family="{family}" font-size="10">{wood}{body}</g></svg>', "utf-8")
        return read_drawing(path, load_job(None, ['marks.fonts=["boxes.ttf"]', *settings]))

    return read_it


def marks(drawing: Drawing) -> list[Shape]:
    return [shape for shape in drawing.layers[0].shapes if shape.element != "rect 'board'"]


def said(drawing: Drawing) -> list[str]:
    return [finding.code for finding in drawing.findings]


def test_text_is_engraved_as_areas(read: Read) -> None:
    drawing = read('<text id="t" x="20" y="50" fill="#123456">AB A</text>')
    (mark,) = marks(drawing)
    assert (mark.role, mark.paint.colour, mark.element) == ("mark-area", "#123456", "text 't'")
    # A, B kerned by half a millimetre, a space, A.
    boxes = [part.bounds for part in sorted(mark.geometry.geoms, key=lambda part: part.bounds)]
    assert boxes == [pytest.approx(box) for box in ((21, 43, 25, 50), (25.5, 45, 29.5, 50), (36.5, 43, 40.5, 50))]
    assert drawing.findings == ()


def test_text_as_outlines_draws_each_edge_once(read: Read) -> None:
    (mark,) = marks(read('<text x="20" y="50">X</text>', "marks.text=outline"))
    assert mark.role == "mark-line"
    # Two squares of 4 mm that overlap by one of 2 mm: 32 - 8 mm of outline.
    assert mark.geometry.length == pytest.approx(24)


def test_text_is_never_cut(read: Read, tmp_path: Path) -> None:
    for style in ("area", "outline", "single-line"):
        read('<text x="20" y="50">AB</text>')
        job = load_job(None, ['marks.fonts=["boxes.ttf"]', f"marks.text={style}"])
        (sheet,) = compile_drawing(tmp_path / "text.svg", job).sheets
        assert sheet.openings == ()
        assert bool(sheet.mark_areas) == (style == "area")
        assert bool(sheet.mark_lines) == (style != "area")


@pytest.mark.parametrize("word", ["wood", "opening"])
def test_text_named_to_be_cut_is_marked_with_a_word(word: str, read: Read) -> None:
    drawing = read(f'<g id="{word}"><text x="20" y="50">A</text></g>')
    assert [mark.role for mark in marks(drawing)] == ["mark-area"]
    (finding,) = drawing.findings
    assert "never cut" in finding.message


@pytest.mark.parametrize(
    ("word", "style", "role"),
    [
        ("mark-line", "area", "mark-line"),
        ("mark-line", "single-line", "mark-line"),
        ("mark-area", "outline", "mark-area"),
        ("mark-area", "single-line", "mark-area"),
    ],
)
def test_names_say_how_a_text_is_marked(word: str, style: str, role: str, read: Read) -> None:
    drawing = read(f'<text data-layercut="{word}" x="20" y="50">A</text>', f"marks.text={style}")
    assert [mark.role for mark in marks(drawing)] == [role]
    assert drawing.findings == ()


def test_guides_are_left_out_in_silence(read: Read) -> None:
    body = '<g id="guide"><text font-family="Nowhere">A<textPath>B</textPath></text></g>'
    body += '<text y="20"><tspan data-layercut="guide">A</tspan></text><text y="20" fill="#f00">A</text>'
    drawing = read(body, 'paint.roles={"#ff0000"="guide"}')
    assert (marks(drawing), drawing.findings) == ([], ())


def test_hidden_text_needs_no_font(read: Read) -> None:
    body = '<g font-family="Nowhere"><text visibility="hidden">A</text><text display="none">A</text>'
    body += '<text fill="none">A</text><text> \n </text><text visibility="hidden"><textPath>A</textPath></text></g>'
    drawing = read(body)
    assert (marks(drawing), drawing.findings) == ([], ())


def test_a_hidden_span_takes_its_room(read: Read) -> None:
    drawing = read('<text y="50">A<tspan visibility="hidden">A</tspan><tspan display="none">A</tspan>A</text>')
    assert [mark.geometry.bounds[0] for mark in marks(drawing)] == pytest.approx([1, 13])


def test_strokes_of_letters(read: Read) -> None:
    thin = 'fill="none" stroke="#f00" stroke-width=".2"'
    (line,) = marks(read(f'<text x="20" y="50" {thin}>A</text>'))
    assert (line.role, line.geometry.length) == ("mark-line", pytest.approx(22))
    (area,) = marks(read('<text x="20" y="50" fill="none" stroke="#f00" stroke-width="1">A</text>'))
    assert (area.role, area.geometry.area) == ("mark-area", pytest.approx(22))
    both = marks(read(f'<text x="20" y="50" {thin.replace("none", "#000")}>A</text>'))
    assert [mark.role for mark in both] == ["mark-area", "mark-line"]


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


def test_a_face_that_the_family_lacks_is_said(read: Read) -> None:
    drawing = read('<text y="50" font-weight="bold" font-style="italic">A</text>')
    assert said(drawing) == ["font-missing"] * 2
    assert "no italic" in drawing.findings[0].message
    assert "no bold" in drawing.findings[1].message
    assert len(marks(drawing)) == 1


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


@pytest.mark.parametrize(
    ("body", "what"),
    [
        ('<text y="9">A<textPath href="#x">A</textPath></text>', "along a path"),
        ('<text y="9" style="writing-mode:vertical-rl">A</text>', "downwards"),
        ('<text y="9" writing-mode="tb">A</text>', "downwards"),
        ('<text y="9">A\u05d0</text>', "from right to left and from left to right"),
        ("<flowRoot><flowPara>A</flowPara></flowRoot>", "flows into a shape"),
    ],
)
def test_what_cannot_be_read_is_left_out_with_a_word(body: str, what: str, read: Read) -> None:
    drawing = read(body)
    assert marks(drawing) == []
    (finding,) = drawing.findings
    assert finding.code == "text-unread"
    assert what in finding.message


def test_too_many_letters(read: Read, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(text_module, "MAX_LETTERS", 5)
    drawing = read('<text y="20">AAA</text><text y="40">AAA</text>')
    assert len(marks(drawing)) == 1
    assert said(drawing) == ["text-unread"]


@pytest.mark.parametrize(
    ("attribute", "name"),
    [
        ('text-decoration="underline"', "text-decoration"),
        ('style="text-transform:uppercase"', "text-transform"),
        ('baseline-shift="super"', "baseline-shift"),
        ('dominant-baseline="middle"', "dominant-baseline"),
        ('font-variant="small-caps"', "font-variant"),
        ('textLength="80"', "textLength"),
        ('style="inline-size:40px"', "inline-size"),
    ],
)
def test_what_is_ignored_is_said(attribute: str, name: str, read: Read) -> None:
    drawing = read(f'<text y="50" {attribute}>A</text>')
    assert len(marks(drawing)) == 1
    (finding,) = drawing.findings
    assert finding.code == "unsupported"
    assert f"'{name}'" in finding.message


def test_sizes_and_weights_of_css() -> None:
    assert [font_size(text, 20) for text in ("larger", "150%", "2em", "small", "-1px", "x")] == pytest.approx(
        [24, 30, 40, 128 / 9, None, None]
    )
    steps = [font_weight("bolder", weight) for weight in (100, 349, 350, 549, 550, 899, 950)]
    assert steps == [400, 400, 700, 700, 900, 900, 950]
    steps = [font_weight("lighter", weight) for weight in (50, 549, 550, 749, 750)]
    assert steps == [50, 100, 400, 400, 700]
    assert [font_weight(text) for text in ("bold", "350", "0", "1001", "heavy")] == [700, 350, None, None, None]


def test_lists_of_families() -> None:
    assert font_families("'One, Two', Three  Four , sans-serif") == ("One, Two", "Three Four", "sans-serif")
    assert font_families(" , ") == ()


def test_the_font_shorthand() -> None:
    values = font_shorthand("italic 600 12px/1.5 'Some Name', serif")
    assert values is not None
    assert {key: values[key] for key in ("font-style", "font-weight", "font-size", "font-family")} == {
        "font-style": "italic",
        "font-weight": "600",
        "font-size": "12px",
        "font-family": "'Some Name', serif",
    }
    assert [font_shorthand(text) for text in ("caption", "12px", "bold Name", "odd 12px Name")] == [None] * 4


def test_the_shorthand_in_a_style_sheet(read: Read) -> None:
    drawing = read('<style>text{font: 20px Boxes}</style><text y="50">A</text>', family="Nowhere")
    assert marks(drawing)[0].geometry.area == pytest.approx(4 * 28)
    assert drawing.findings == ()


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
        assert all(strokes for letter, (_, _, strokes) in letters.items() if letter != " ")
        looks.add(tuple(letters.values()))
    assert len(looks) == len(FACES)


def test_the_letters_data_is_pointed_to_and_not_held() -> None:
    root = Path(fonts_module.__file__).parents[3]
    page = (root / "docs" / "single-line.md").read_text(encoding="utf-8")
    package = importlib.metadata.distribution("Hershey-Fonts")
    assert f"{package.metadata['Name']} ({package.metadata['License'].removesuffix(' License')} licence)" in page
    assert any(str(file) == "HersheyFonts/HersheyFonts.py" for file in package.files or ())
    assert "HersheyFonts/HersheyFonts.py" in page
    assert all(f"`{face}`" in page for face in FACES)


def test_the_same_text_gives_the_same_shapes(read: Read) -> None:
    body = '<text x="20" y="50">AB <tspan font-weight="bold">X</tspan></text>'
    first, second = (marks(read(body)) for _ in range(2))
    assert [shape.geometry.wkb for shape in first] == [shape.geometry.wkb for shape in second]
