"""Basic shapes and paths to path geometry.

Enters: an element, its style and the viewport. Leaves: a `Path` in the element's user units, built point by
point as SVG 2, chapter 10, lays down, so that dashes start where they should.
"""

from collections.abc import Callable
from dataclasses import dataclass

from lxml import etree

from layercut.drawing.css.styles import Style
from layercut.drawing.document import local_name
from layercut.drawing.units import Viewport, parse_length, parse_number, parse_numbers
from layercut.geometry.curves import Path, PathBuilder
from layercut.geometry.strokes import StrokeStyle

SHAPES = {"path", "rect", "circle", "ellipse", "line", "polyline", "polygon"}

ParsePath = Callable[[str], tuple[Path, bool]]
"""`parse_path`, or the like of it that keeps what it has read."""

_KAPPA_ARC = (False, True)  # a corner's arc: small, turning with the outline


@dataclass(frozen=True, slots=True)
class Lengths:
    """Reads an element's lengths: CSS first, then the attribute."""

    element: etree._Element
    style: Style
    viewport: Viewport

    def get(self, name: str, whole: float) -> float | None:
        """A length in user units; None where it isn't given, is `auto`, or isn't a length."""
        text = self.style.own.get(name) or self.element.get(name)
        return parse_length(text, whole, self.style.font_size)

    def x(self, name: str) -> float:
        """A horizontal length, 0 where not given."""
        return self.get(name, self.viewport.width) or 0.0

    def y(self, name: str) -> float:
        """A vertical length, 0 where not given."""
        return self.get(name, self.viewport.height) or 0.0


def shape_path(element: etree._Element, style: Style, viewport: Viewport, parse: ParsePath) -> tuple[Path, bool]:
    """The geometry of a basic shape or path, and False where its text is wrong from some point on.

    Empty where the standard says that nothing is drawn, such as a rect without width.
    """
    kind = local_name(element)
    if kind == "path":
        return parse(_path_text(element, style))
    if kind in ("polyline", "polygon"):
        return _poly(element.get("points") or "", parse, closed=kind == "polygon")
    pen = PathBuilder()
    lengths = Lengths(element, style, viewport)
    good = _plain_shape(kind, lengths, pen)
    return pen.build(), good


def _path_text(element: etree._Element, style: Style) -> str:
    css = style.own.get("d", "").strip()
    if css.startswith("path(") and css.endswith(")"):
        return css[5:-1].strip().strip("\"'")
    return "" if css == "none" else element.get("d") or ""


def _poly(text: str, parse: ParsePath, *, closed: bool) -> tuple[Path, bool]:
    numbers = parse_numbers(text)
    good = numbers is not None and len(numbers) % 2 == 0
    if numbers is None:
        return parse("M" + text + ("z" if closed else "")) if text.strip() else (PathBuilder().build(), True)
    pen = PathBuilder()
    for index, point in enumerate(zip(numbers[::2], numbers[1::2], strict=False)):
        (pen.line if index else pen.move)(*point)
    if closed and numbers:
        pen.close()
    return pen.build(), good


# Our own: svgelements 1.9.6 draws 14 of our tests' 421 shapes otherwise (sizes below 0, radii in percent) and takes
# 52 ms longer for those of the mill, 19 % of reading it (docs/design.md, "Reading").
def _plain_shape(kind: str, lengths: Lengths, pen: PathBuilder) -> bool:
    """Draw a rect, circle, ellipse or line; False where a size is negative or no number."""
    if kind == "line":
        pen.move(lengths.x("x1"), lengths.y("y1"))
        pen.line(lengths.x("x2"), lengths.y("y2"))
        return True
    if kind == "rect":
        return _rect(lengths, pen)
    if kind == "circle":
        rx = ry = lengths.get("r", lengths.viewport.diagonal) or 0.0
    else:
        across, down = lengths.get("rx", lengths.viewport.width), lengths.get("ry", lengths.viewport.height)
        # A negative radius counts as not given, and `auto` takes the other (SVG 2, 10.4).
        across, down = (value if value is not None and value >= 0 else None for value in (across, down))
        rx = (across if across is not None else down) or 0.0
        ry = (down if down is not None else across) or 0.0
    if rx > 0 and ry > 0:
        pen.ellipse(lengths.x("cx"), lengths.y("cy"), rx, ry)
    return rx >= 0 and ry >= 0


def _rect(lengths: Lengths, pen: PathBuilder) -> bool:
    x, y, width, height = lengths.x("x"), lengths.y("y"), lengths.x("width"), lengths.y("height")
    if width <= 0 or height <= 0:
        return width == 0 or height == 0
    across, down = lengths.get("rx", lengths.viewport.width), lengths.get("ry", lengths.viewport.height)
    across, down = (value if value is not None and value >= 0 else None for value in (across, down))
    rx = min((across if across is not None else down) or 0.0, width / 2)
    ry = min((down if down is not None else across) or 0.0, height / 2)
    if rx == 0 or ry == 0:
        rx = ry = 0.0
    # SVG 2, 10.2: a rect begins at the end of its top left corner and goes round clockwise.
    pen.move(x + rx, y)
    for corner, (to_x, to_y) in _rect_corners(x, y, width, height, rx=rx, ry=ry):
        if (to_x, to_y) != (pen.x, pen.y):
            pen.line(to_x, to_y)
        if rx:
            pen.arc(rx, ry, 0.0, *_KAPPA_ARC, *corner)
    pen.close()
    return True


def _rect_corners(
    x: float, y: float, width: float, height: float, *, rx: float, ry: float
) -> list[tuple[tuple[float, float], tuple[float, float]]]:
    """For each side in turn: where its corner's arc ends, and where the side itself ends."""
    right, bottom = x + width, y + height
    return [
        ((right, y + ry), (right - rx, y)),
        ((right - rx, bottom), (right, bottom - ry)),
        ((x, bottom - ry), (x + rx, bottom)),
        ((x + rx, y), (x, y + ry)),
    ]


def stroke_lengths(style: Style, viewport: Viewport) -> tuple[float, tuple[float, ...], float]:
    """Width, dashes and dash offset of a stroke in user units; dashes are () for `none` or an invalid list."""
    whole, size = viewport.diagonal, style.font_size
    width = parse_length(style.get("stroke-width"), whole, size)
    texts = style.get("stroke-dasharray").replace(",", " ").split()
    dashes = tuple(
        length for text in texts if (length := parse_length(text, whole, size)) is not None and length >= 0
    )
    offset = parse_length(style.get("stroke-dashoffset"), whole, size)
    return (
        1.0 if width is None or width < 0 else width,
        dashes if len(dashes) == len(texts) else (),
        offset or 0.0,
    )


def stroke_pen(style: Style, viewport: Viewport) -> StrokeStyle:
    """How strokes are drawn, in user units."""
    width, dashes, offset = stroke_lengths(style, viewport)
    cap, join = style.get("stroke-linecap").lower(), style.get("stroke-linejoin").lower()
    return StrokeStyle(
        width,
        "round" if cap == "round" else "square" if cap == "square" else "butt",
        "round" if join == "round" else "bevel" if join == "bevel" else "miter",
        miter_limit(style),
        dashes,
        offset,
    )


def miter_limit(style: Style) -> float:
    """The miter limit, at least 1."""
    limit = parse_number(style.get("stroke-miterlimit"))
    return limit if limit is not None and limit >= 1 else 4.0
