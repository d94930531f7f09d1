"""Reading a written sheet back: what is not of the contract is refused with a sentence, never a traceback."""

import numpy as np
import pytest

from layercut.errors import DrawingError
from layercut.proof.reader import read_sheet

GROUPS = """<g data-role="mark-area"/><g data-role="mark-line"><path d="M1 2L3 4"/></g>
<g data-role="cut-opening"><path d="M10 10L20 10L20 20Z"/></g>
<g data-role="cut-outline"><path d="M0 0L100 0L100 80L0 80Z"/></g>"""


def _text(groups: str = GROUPS, size: str = 'width="100mm" height="80mm" viewBox="0 0 100 80"') -> str:
    return f'<svg xmlns="http://www.w3.org/2000/svg" {size}>{groups}</svg>'


def _cut(data: str) -> str:
    return GROUPS.replace("M10 10L20 10L20 20Z", data)


def test_a_sheet_is_read_by_role() -> None:
    sheet = read_sheet(_text(), "01.svg")
    assert (sheet.width_mm, sheet.height_mm) == (100, 80)
    assert sheet.roles_in_order == ("mark-area", "mark-line", "cut-opening", "cut-outline")
    assert sheet.paths["mark-area"] == ()
    np.testing.assert_array_equal(sheet.paths["mark-line"][0][0], [[1, 2], [3, 4]])
    np.testing.assert_array_equal(sheet.paths["cut-opening"][0][0], [[10, 10], [20, 10], [20, 20], [10, 10]])


def test_a_path_may_have_several_contours() -> None:
    sheet = read_sheet(_text(_cut("M0 0L1 0L1 1ZM5 5L6 5L6 6Z")), "01.svg")
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
        _text(_cut("M10 10C20 10 20 20 10 20Z")),
        _text(_cut("m10 10l20 10l20 20z")),
        _text(_cut("M10 10L20L20 20Z")),
        _text(_cut("M10 10L20 10L20 x20Z")),
        _text(_cut("")),
    ],
)
def test_what_is_not_a_sheet_is_refused(text: str) -> None:
    with pytest.raises(DrawingError) as caught:
        read_sheet(text, "01.svg")
    assert caught.value.code == "sheet-unreadable"
    assert caught.value.file == "01.svg"


@pytest.mark.parametrize(
    "groups",
    [
        GROUPS.replace('<g data-role="cut-opening">', '<g data-role="cut-opening" transform="translate(5)">'),
        GROUPS.replace('<path d="M10', '<path transform="translate(5)" d="M10'),
        f'<g transform="scale(2)">{GROUPS}</g>',
        GROUPS.replace('<path d="M10 10L20 10L20 20Z"/>', '<g><path d="M10 10L20 10L20 20Z"/></g>'),
        GROUPS.replace('<path d="M10 10L20 10L20 20Z"/>', '<rect x="10" y="10" width="9" height="9"/>'),
        GROUPS + '<path d="M50 50L60 50L60 60Z"/>',
        GROUPS + '<g data-role="cut-opening"><path d="M50 50L60 50L60 60Z"/></g>',
    ],
    ids=["moved group", "moved path", "scaled", "deeper group", "rect", "stray path", "role twice"],
)
def test_what_the_machine_would_cut_elsewhere_is_not_overlooked(groups: str) -> None:
    """A sheet that was moved or added to by hand must not read as the sheet that was written."""
    with pytest.raises(DrawingError):
        read_sheet(_text(groups), "01.svg")


def test_comments_and_white_space_are_no_matter() -> None:
    commented = _text("<!-- by hand -->" + GROUPS.replace('<path d="M10', '<!-- x -->\n <path d="M10'))
    assert len(read_sheet(commented, "01.svg").paths["cut-opening"]) == 1


def test_outside_entities_are_not_fetched() -> None:
    evil = '<!DOCTYPE svg [<!ENTITY x SYSTEM "file:///nowhere">]>' + _text(GROUPS + "&x;")
    read_sheet(evil, "01.svg")
