"""Which letters a text has, and where the drawing puts each (SVG 2, 11.4; CSS Text 3, 4.1)."""

import pytest
from box_fonts import Read, marks
from shapely.geometry.base import BaseGeometry


def lefts(body: str, read: Read) -> list[float]:
    """The left edge of each letter, mm. An A is 6 mm wide and begins 1 mm from the pen; a space is 5 mm."""
    return sorted(round(part.bounds[0] - 1, 6) for mark in marks(read(body)) for part in _parts(mark.geometry))


def _parts(geometry: BaseGeometry) -> list[BaseGeometry]:
    return getattr(geometry, "geoms", [geometry])


@pytest.mark.parametrize(
    ("text", "places"),
    [
        ("A A", [0, 11]),
        ("  A \n\t A  ", [0, 11]),
        ("A<tspan> </tspan> A", [0, 11]),
        (" <tspan> A</tspan>", [0]),
        ("A<title>A</title>A", [0, 6]),
        ("A<a><tspan>A</tspan></a>A", [0, 6, 12]),
    ],
)
def test_runs_of_white_space_are_one_space_and_none_at_the_ends(text: str, places: list[float], read: Read) -> None:
    assert lefts(f'<text y="50">{text}</text>', read) == places


@pytest.mark.parametrize("attribute", ['xml:space="preserve"', 'style="white-space:pre"'])
def test_white_space_that_is_preserved(attribute: str, read: Read) -> None:
    assert lefts(f'<text y="50" {attribute}> A  A</text>', read) == [5, 21]
    assert lefts(f'<text y="50"><tspan {attribute}>  </tspan>A</text>', read) == [10]
    over = '<g xml:space="preserve"><text y="50" xml:space="default"> A  A</text></g>'
    assert lefts(over, read) == [0, 11]
    newer = '<text y="50" xml:space="preserve" style="white-space:normal"> A  A</text>'
    assert lefts(newer, read) == [0, 11]


@pytest.mark.parametrize(
    ("text", "places"),
    [
        ('<text x="10 30" y="50">AAA</text>', [10, 30, 36]),
        ('<text x="10,30 50%" y="50">AAA</text>', [10, 30, 50]),
        ('<text x="10 wide 70" y="50">AAA</text>', [10, 16, 22]),
        ('<text dx="1 2" y="50">AAA</text>', [1, 9, 15]),
        ('<text x="10 30" y="50">A<tspan x="60">AA</tspan></text>', [10, 60, 66]),
        ('<text y="50">A<tspan dx="4">A</tspan>A</text>', [0, 10, 16]),
        ('<text x="10 20 30" y="50">A <tspan>A</tspan></text>', [10, 30]),
        ('<text x="1em" y="50">A</text>', [10]),
    ],
)
def test_lists_of_positions_are_dealt_out_letter_by_letter(text: str, places: list[float], read: Read) -> None:
    """A space counts as a letter; what an inner element says wins; what is no length ends its list."""
    assert lefts(text, read) == places


def test_the_last_turn_holds_for_the_rest(read: Read) -> None:
    """By 90 degrees an A of 4 by 7 mm lies on its side."""
    (mark,) = marks(read('<text x="20 40 60" y="50" rotate="0 90">AAA</text>'))
    sizes = [(part.bounds[2] - part.bounds[0], part.bounds[3] - part.bounds[1]) for part in mark.geometry.geoms]
    assert sorted(sizes) == [pytest.approx(size) for size in ((4, 7), (7, 4), (7, 4))]


def test_an_element_that_no_text_has_is_told(read: Read) -> None:
    drawing = read('<text y="50">A<rect width="5" height="5"/>A</text>')
    assert len(marks(drawing)) == 1
    (finding,) = drawing.findings
    assert "'rect' within a text was left out" in finding.message
