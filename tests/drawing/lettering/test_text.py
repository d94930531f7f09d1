"""Live text: marked and never cut, in the font that was meant, and nothing missing without a word."""

from pathlib import Path

import pytest
from box_fonts import Read, marks, said
from builds import made_of

from layercut import compile_drawing
from layercut.drawing.lettering import text as text_module
from layercut.job import load_job


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
        (sheet,) = made_of(compile_drawing(tmp_path / "text.svg", job)).sheets
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


def test_the_shorthand_in_a_style_sheet(read: Read) -> None:
    drawing = read('<style>text{font: 20px Boxes}</style><text y="50">A</text>', family="Nowhere")
    assert marks(drawing)[0].geometry.area == pytest.approx(4 * 28)
    assert drawing.findings == ()


def test_the_same_text_gives_the_same_shapes(read: Read) -> None:
    body = '<text x="20" y="50">AB <tspan font-weight="bold">X</tspan></text>'
    first, second = (marks(read(body)) for _ in range(2))
    assert [shape.geometry.wkb for shape in first] == [shape.geometry.wkb for shape in second]
