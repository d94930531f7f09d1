"""Basic shapes, where they begin and which way they go (SVG 2, 10), and the pens that draw them."""

import math

import pytest
from lxml import etree

from layercut.drawing.css.styles import Style
from layercut.drawing.pathdata import parse_path
from layercut.drawing.shapes import shape_path, stroke_pen
from layercut.drawing.units import Viewport
from layercut.geometry.curves import Path, path_box
from layercut.geometry.strokes import StrokeStyle

VIEWPORT = Viewport(300, 400)  # with a diagonal of 353.55


def drawn(text: str, **own: str) -> tuple[Path, bool]:
    element = etree.fromstring(text.replace(" ", ' xmlns="http://www.w3.org/2000/svg" ', 1))
    return shape_path(element, Style(own=own), VIEWPORT, parse_path)


def corners(path: Path) -> list[tuple[float, float]]:
    """Where each segment begins."""
    return [(round(x, 6), round(y, 6)) for x, y in path.segments[:, 0].tolist()]


def test_a_rect_goes_round_clockwise_from_its_left_upper_corner() -> None:
    path, good = drawn('<rect x="1" y="2" width="10" height="5"/>')
    assert good
    assert corners(path) == [(1, 2), (11, 2), (11, 7), (1, 7)]
    assert path.closed == (True,)


@pytest.mark.parametrize(
    ("radii", "begin", "end"),
    [
        ('rx="2"', (3, 0), (20, 2)),
        ('rx="2" ry="1"', (3, 0), (20, 1)),
        ('ry="1"', (2, 0), (20, 1)),
        ('rx="50" ry="1"', (11, 0), (20, 1)),
        ('rx="auto" ry="3"', (4, 0), (20, 3)),
        ('rx="1%"', (4, 0), (20, 3)),
    ],
)
def test_corners_of_a_rect(radii: str, begin: tuple[float, float], end: tuple[float, float]) -> None:
    """A radius that isn't given is the other, and none is more than half a side."""
    path, _ = drawn(f'<rect x="1" width="20" height="10" {radii}/>')
    across = next(n for n, start in enumerate(corners(path)) if n and start[0] == path.segments[:, 0, 0].max())
    assert corners(path)[0] == begin
    assert corners(path)[across] == (end[0] + 1, end[1])


def test_a_circle_goes_round_from_its_rightmost_point() -> None:
    path, _ = drawn('<circle cx="5" cy="6" r="1%"/>')
    radius = math.hypot(300, 400) / math.sqrt(2) / 100
    assert path.segments[0, 0] == pytest.approx((5 + radius, 6))
    assert path.segments[0, 3][1] > 6
    assert path_box(path) == pytest.approx((5 - radius, 6 - radius, 2 * radius, 2 * radius), rel=1e-6)


@pytest.mark.parametrize(
    ("text", "count", "good"),
    [
        ('<polyline points="0,0 5,0 5,5"/>', 2, True),
        ('<polygon points="0,0 5,0 5,5"/>', 3, True),
        ('<polygon points="0 0 5 0 5"/>', 2, False),  # the last number has no partner
        ('<polyline points="0,0 5,0 wrong 9,9"/>', 1, False),
        ('<polygon points=""/>', 0, True),
        ('<rect width="0" height="5"/>', 0, True),
        ('<rect width="-1" height="5"/>', 0, False),
        ('<circle r="-1"/>', 0, False),
        ('<ellipse rx="0" ry="5"/>', 0, True),
    ],
)
def test_what_cannot_be_drawn_to_its_end_is_told(text: str, count: int, good: bool) -> None:
    path, right = drawn(text)
    assert (len(path.segments), right) == (count, good)


def test_css_wins_over_attributes() -> None:
    path, _ = drawn('<rect width="5" height="5"/>', width="20px", x="3px")
    assert path_box(path) == (3, 0, 20, 5)
    path, _ = drawn('<path d="M0 0h1v1z"/>', d="path('M5 5h4v4z')")
    assert path_box(path) == (5, 5, 4, 4)
    assert drawn('<path d="M0 0h1v1z"/>', d="none")[0].is_empty


def test_the_pen_of_a_style() -> None:
    assert stroke_pen(Style(), VIEWPORT) == StrokeStyle(1.0, "butt", "miter", 4.0, (), 0.0)
    said = {
        "stroke-width": "10%",
        "stroke-linecap": "ROUND",
        "stroke-linejoin": "arcs",
        "stroke-miterlimit": "8",
        "stroke-dasharray": "3, 1em",
        "stroke-dashoffset": "-2",
    }
    pen = stroke_pen(Style(inherited={**Style().inherited, **said}), VIEWPORT)
    assert pen.width == pytest.approx(35.355339)
    assert pen == StrokeStyle(pen.width, "round", "miter", 8.0, (3.0, 16.0), -2.0)
