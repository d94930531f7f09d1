"""Letters side by side: where a run of them begins and ends (SVG 2, 11.5 and 11.9)."""

import math

import pytest
from box_fonts import Read, marks

from layercut.drawing.lettering.typeset import join_paths
from layercut.geometry.curves import PathBuilder


def span(body: str, read: Read) -> tuple[float, float]:
    """From the left edge of the first letter to the right edge of the last, mm."""
    boxes = [mark.geometry.bounds for mark in marks(read(body))]
    return min(box[0] for box in boxes), max(box[2] for box in boxes)


@pytest.mark.parametrize(
    ("attributes", "left"),
    [
        ("", 51),
        ('text-anchor="start"', 51),
        ('text-anchor="middle"', 45),  # of 12 mm
        ('text-anchor="end"', 39),
        ('text-anchor="end" direction="rtl"', 51),
        ('text-anchor="middle" dx="2"', 47),
    ],
)
def test_the_anchor_shifts_what_follows_each_other(attributes: str, left: float, read: Read) -> None:
    assert span(f'<text x="50" y="50" {attributes}>AA</text>', read)[0] == pytest.approx(left)


def test_each_absolute_position_begins_a_run_of_its_own(read: Read) -> None:
    (mark,) = marks(read('<text x="20 60" y="50" text-anchor="middle">AAA</text>'))
    assert sorted(part.bounds[0] for part in mark.geometry.geoms) == pytest.approx([18, 55, 61])


@pytest.mark.parametrize(
    ("attributes", "text", "end"),
    [
        ('letter-spacing="2"', "AA", 13),
        ('letter-spacing=".2em"', "AA", 13),
        ('letter-spacing="2" text-anchor="end"', "AA", -1),  # none behind the last letter
        ('word-spacing="3"', "A A", 19),
        ('word-spacing="3"', "A&#160;A", 19),
    ],
)
def test_extra_room(attributes: str, text: str, end: float, read: Read) -> None:
    """An A is 6 mm wide, 1 mm of it free on either side; a space is 5 mm."""
    assert span(f'<text y="50" {attributes}>{text}</text>', read)[1] == pytest.approx(end)


def test_no_room_is_left_behind_the_last_letter_of_a_run(read: Read) -> None:
    """A new `y` begins a run where the pen is."""
    (first, second) = marks(read('<text y="50" letter-spacing="2">AA<tspan y="70">A</tspan></text>'))
    assert (first.geometry.bounds[2], second.geometry.bounds[0]) == pytest.approx((13, 15))


def test_shifts_add_up_along_the_line(read: Read) -> None:
    (mark,) = marks(read('<text y="50" dy="0 5 5">AAA</text>'))
    feet = [part.bounds[3] for part in sorted(mark.geometry.geoms, key=lambda part: part.bounds[0])]
    assert feet == pytest.approx([50, 55, 60])


def test_letters_turn_about_their_own_foot(read: Read) -> None:
    """The right upper corner of an A, 5 mm over and 7 mm up, at 45 degrees."""
    (mark,) = marks(read('<text x="20" y="50" rotate="45">A</text>'))
    half = math.sqrt(0.5)
    assert mark.geometry.bounds[2] == pytest.approx(20 + 5 * half + 7 * half)
    assert mark.geometry.bounds[1] == pytest.approx(50 + 1 * half - 7 * half)


def test_joined_paths_keep_their_subpaths() -> None:
    pen = PathBuilder()
    pen.move(0, 0)
    pen.line(1, 0)
    pen.move(0, 2)
    pen.line(1, 2)
    pen.close()
    path = pen.build()
    joined = join_paths([(path, (1, 0, 0, 1, 0, 0)), (path, (2, 0, 0, 2, 5, 0))])
    assert joined.starts == (0, 1, 3, 4)
    assert joined.closed == (False, True, False, True)
    assert joined.segments[3].tolist() == [[5, 0], [5, 0], [7, 0], [7, 0]]
    assert join_paths([]).is_empty
