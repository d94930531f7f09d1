"""Reading a written sheet back: what is not of the contract is refused with a sentence, never a traceback."""

import numpy as np
import pytest

from layercut.errors import DrawingError
from layercut.job import Job
from layercut.proof.maps import read_paint
from layercut.proof.paths import flatten_cubics, read_path, read_paths
from layercut.proof.plan import colours_of
from layercut.proof.reader import ReadSheet, read_sheet

COLOURS = colours_of(Job())
LINES = 'fill="none" stroke-width="0.1" stroke='
GROUPS = f"""<g data-role="mark-area" fill="#56B4E9" stroke="none" fill-rule="evenodd"/>
<g data-role="mark-line" {LINES}"#CC79A7"><path d="M1 2L3 4"/></g>
<g data-role="cut-opening" {LINES}"#009E73"><path d="M10 10L20 10L20 20Z"/></g>
<g data-role="cut-outline" {LINES}"#E69F00"><path d="M0 0L100 0L100 80L0 80Z"/></g>"""
SIZE = 'width="100mm" height="80mm" viewBox="0 0 100 80" overflow="visible"'


def _text(groups: str = GROUPS, size: str = SIZE) -> str:
    return f'<svg xmlns="http://www.w3.org/2000/svg" {size}>{groups}</svg>'


def _read(text: str) -> ReadSheet:
    return read_sheet(text, "01.svg", COLOURS)


def _cut(data: str) -> str:
    return GROUPS.replace("M10 10L20 10L20 20Z", data)


def test_a_sheet_is_read_by_role() -> None:
    sheet = _read(_text())
    assert (sheet.width_mm, sheet.height_mm) == (100, 80)
    assert sheet.roles_in_order == ("mark-area", "mark-line", "cut-opening", "cut-outline")
    assert sheet.paths["mark-area"] == ()
    np.testing.assert_array_equal(sheet.paths["mark-line"][0][0], [[1, 2], [3, 4]])
    np.testing.assert_array_equal(sheet.paths["cut-opening"][0][0], [[10, 10], [20, 10], [20, 20], [10, 10]])


def test_a_path_may_have_several_contours() -> None:
    sheet = _read(_text(_cut("M0 0L1 0L1 1ZM5 5L6 5L6 6Z")))
    assert [len(contour) for contour in sheet.paths["cut-opening"][0]] == [4, 4]


@pytest.mark.parametrize(
    "text",
    [
        "",
        "not xml",
        "<svg",
        _text(size='width="100" height="80" viewBox="0 0 100 80"'),
        _text(size='width="10in" height="80mm" viewBox="0 0 100 80"'),
        _text(size='width="1.2.3mm" height="80mm" viewBox="0 0 100 80"'),
        _text(size='height="80mm" viewBox="0 0 100 80"'),
        _text(size='width="100mm" height="80mm"'),
        _text(size='width="100mm" height="80mm" viewBox="0 0 200 80"'),
        _text(size='width="100mm" height="80mm" viewBox="a b c d"'),
        _text(_cut("M10 10C20 10 20 20Z")),
        _text(_cut("M10 10Q20 10 20 20Z")),
        _text(_cut("M10 10L20 10L20 20")),
        _text(_cut("M10 10L20 10Z")),
        _text(_cut("M10 10L20 10L20 1e999Z")),
        _text(_cut("M10 10L20 10L20 20ZL1 1Z")),
        _text(_cut("m10 10l20 10l20 20z")),
        _text(_cut("M10 10L20L20 20Z")),
        _text(_cut("M10 10L20 10L20 x20Z")),
        _text(_cut("")),
    ],
)
def test_what_is_not_a_sheet_is_refused(text: str) -> None:
    with pytest.raises(DrawingError) as caught:
        _read(text)
    assert caught.value.code == "sheet-unreadable"
    assert caught.value.file == "01.svg"


@pytest.mark.parametrize(
    "groups",
    [
        GROUPS.replace('<g data-role="cut-opening"', '<g data-role="cut-opening" transform="translate(5)"'),
        GROUPS.replace('<path d="M10', '<path transform="translate(5)" d="M10'),
        f'<g transform="scale(2)">{GROUPS}</g>',
        GROUPS.replace('<path d="M10 10L20 10L20 20Z"/>', '<g><path d="M10 10L20 10L20 20Z"/></g>'),
        GROUPS.replace('<path d="M10 10L20 10L20 20Z"/>', '<rect x="10" y="10" width="9" height="9"/>'),
        GROUPS + '<path d="M50 50L60 50L60 60Z"/>',
        GROUPS + f'<g data-role="cut-opening" {LINES}"#009E73"><path d="M50 50L60 50L60 60Z"/></g>',
        GROUPS.partition("\n")[2],
        GROUPS.replace("cut-outline", "cut-rim"),
        GROUPS.replace('<g data-role="cut-opening"', '<g data-role="cut-opening" style="display:none"'),
        GROUPS.replace('<g data-role="cut-opening"', '<g data-role="cut-opening" display="none"'),
        GROUPS.replace("20 20Z", '20 20Z"><animate/></path><path d="M1 1L2 1L2 2Z'),
        GROUPS.replace("#009E73", "#cc79a7"),
        GROUPS + "<?cut twice?>",
    ],
    ids=[
        "moved group",
        "moved path",
        "scaled",
        "deeper group",
        "rect",
        "stray path",
        "role twice",
        "role missing",
        "role unknown",
        "styled",
        "hidden",
        "child of a path",
        "two roles of one colour",
        "instruction",
    ],
)
def test_what_the_machine_would_cut_elsewhere_is_not_overlooked(groups: str) -> None:
    """A sheet that was moved or added to by hand must not read as the sheet that was written."""
    with pytest.raises(DrawingError):
        _read(_text(groups))


def test_comments_and_white_space_are_no_matter() -> None:
    commented = _text("<!-- by hand -->" + GROUPS.replace('<path d="M10', '<!-- x -->\n <path d="M10'))
    assert len(_read(commented).paths["cut-opening"]) == 1


def test_outside_entities_are_not_fetched() -> None:
    """What they would bring is unknown, so that a sheet with one is none."""
    evil = '<!DOCTYPE svg [<!ENTITY x SYSTEM "file:///nowhere">]>' + _text(GROUPS + "&x;")
    with pytest.raises(DrawingError, match="DOCTYPE"):
        _read(evil)


def test_a_style_sheet_beside_the_root_is_refused() -> None:
    with pytest.raises(DrawingError, match="processing instruction"):
        _read('<?xml-stylesheet href="x.css"?>' + _text())


def test_roles_in_another_order_are_read_as_they_stand() -> None:
    """That they are out of order is for the verdict to say."""
    first, rest = GROUPS.split("\n", 1)
    assert _read(_text(rest + first)).roles_in_order == ("mark-line", "cut-opening", "cut-outline", "mark-area")


def test_curves_are_followed_closely() -> None:
    """A circle of four cubics (the usual 0.5522847, off by 0.03 % of the radius) against the circle."""
    h = 0.5522847498 * 10
    circle = (
        f"M60 50C60 {50 + h} {50 + h} 60 50 60C{50 - h} 60 40 {50 + h} 40 50"
        f"C40 {50 - h} {50 - h} 40 50 40 {50 + h} 40 60 {50 - h} 60 50Z"
    )
    (points,) = _read(_text(_cut(circle))).contours("cut-opening")
    radii = np.hypot(*(points - 50).T)
    assert 9.999 < radii.min() <= radii.max() < 10.003
    chords = np.hypot(*((points[1:] + points[:-1]) / 2 - 50).T)
    assert chords.min() > 9.998
    assert np.allclose(points[0], points[-1])


def test_paths_are_read_together_as_each_by_itself() -> None:
    """Moves after a closing and without one, curves after lines, numbers in every form."""
    data = [
        "M1 2 3,4",
        " M0 0L1 1 2 -3Z ",
        "M5 5C5 6 6 7 7 7 8 7 9 6 9 5L5 5M1e1 .5L-2. +3Z M0 0 4 0 4 4Z",
    ]
    together = read_paths(data)
    assert [[contour.closed for contour in contours] for contours in together] == [
        [False],
        [True],
        [False, True, True],
    ]
    for path, contours in zip(data, together, strict=True):
        for contour, alone in zip(contours, read_path(path), strict=True):
            assert contour.points.tolist() == alone.points.tolist()
    assert together[0][0].points.tolist() == [[1, 2], [3, 4]]
    assert together[1][0].points.tolist() == [[0, 0], [1, 1], [2, -3], [0, 0]]
    curved, numbers, square = (contour.points for contour in together[2])
    assert {(5, 5), (7, 7), (9, 5)} <= set(map(tuple, curved.tolist()))
    assert numbers.tolist() == [[10, 0.5], [-2, 3], [10, 0.5]]
    assert len(square) == 4
    assert read_paths([]) == []


@pytest.mark.parametrize(
    "data", ["M0 0L1e999 0Z", "M0 0L1000001 0Z", "M0 0Lnan 0Z", "M0 0LInfinity 0Z", "M0 0L\u0663 0Z"]
)
def test_what_is_no_place_is_refused(data: str) -> None:
    with pytest.raises(ValueError, match=r"no place|isn't made of"):
        read_path(data)


@pytest.mark.parametrize("steps", [1, 7, 1000])
def test_a_flat_cubic_keeps_its_ends(steps: int) -> None:
    across = 3.0 * np.arange(steps)[:, None] + np.arange(4.0)
    flat, counts = flatten_cubics(np.stack([across, np.zeros_like(across)], axis=2))
    assert counts.sum() == len(flat)
    assert flat[-1].tolist() == [3 * steps, 0]
    assert (np.diff(flat[:, 0]) > 0).all()


def test_a_long_path_is_refused_as_quickly_as_it_is_read() -> None:
    """The grammar is one pattern; it must not try again and again."""
    data = "M0 0" + "L1.234 5.678" * 50_000
    with pytest.raises(ValueError, match="isn't made of"):
        read_path(data + "x")
    assert len(read_path(data + "Z")[0].points) == 50_002


PAINT = """<title>sky</title>
<path data-paint="#aabbcc" fill="#aabbcc" fill-rule="evenodd" d="M10 10 90 10 90 70 10 70Z"/>
<path data-part="frame" fill="none" stroke="#000000" stroke-width="0.2" fill-rule="evenodd"
 d="M0 0 100 0 100 80 0 80ZM10 10 90 10 90 70 10 70Z"/>"""


def _map(paths: str = PAINT, tolerance: str = ' data-tolerance-mm="0.02"') -> str:
    return _text(paths, f'width="100mm" height="80mm" viewBox="0 0 100 80"{tolerance}')


def test_a_paint_map_is_read() -> None:
    read = read_paint(_map(), "p.svg")
    assert (read.width_mm, read.height_mm, read.tolerance_mm) == (100, 80, 0.02)
    assert read.shown.area == 80 * 60
    assert read.frame.area == 100 * 80 - 80 * 60


NOTES = '<g data-part="notes" stroke="#000000"><rect width="4" height="4"/><text x="1">2</text></g>'


def test_notes_and_legend_of_a_map_say_nothing_about_wood() -> None:
    head = 'width="100mm" height="95.5mm" viewBox="0 0 100 95.5" data-tolerance-mm="0.02" data-legend-mm="15.5"'
    read, plain = read_paint(_text(NOTES + PAINT + NOTES, head), "p.svg"), read_paint(_map(), "p.svg")
    assert (read.width_mm, read.height_mm) == (plain.width_mm, plain.height_mm)
    assert read.shown.equals(plain.shown)
    assert read.frame.equals(plain.frame)


@pytest.mark.parametrize(
    "text",
    [
        _map(NOTES.replace("notes", "other") + PAINT),
        _map(tolerance=' data-tolerance-mm="0.02" data-legend-mm="80"'),
        _map(tolerance=' data-tolerance-mm="0.02" data-legend-mm="-5"'),
        _map(tolerance=""),
        _map(PAINT.replace('data-paint="#aabbcc"', "")),
        _map(PAINT.replace("data-paint", 'transform="scale(2)" data-paint')),
        _map(PAINT.replace('90 70 10 70Z"/>', '90 70"/>', 1)),
        _map(f"<g>{PAINT}</g>"),
    ],
)
def test_what_is_not_a_paint_map_is_refused(text: str) -> None:
    with pytest.raises(DrawingError) as caught:
        read_paint(text, "p.svg")
    assert caught.value.code == "sheet-unreadable"
