"""What a fill comes out as where its paint server can't be drawn, is nested, or lets something through."""

from pathlib import Path

import pytest

from layercut.colour.washes import FlatWash, GradedWash
from layercut.drawing import read_drawing
from layercut.job import Job
from layercut.model import Drawing

HEAD = '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm" viewBox="0 0 100 100">'
DOT = '<rect width="5" height="5" fill="#f00"/>'
ROOM = 'width="10" height="10" patternUnits="userSpaceOnUse"'
STOPS = '<stop stop-color="#f00"/><stop offset="1" stop-color="#00f"/>'
SQUARE = '<rect width="50" height="50" fill="url(#p){}"/>'
LINE = '<path d="M0 20H90" stroke="url(#p){}" stroke-width="9"/>'


def read(body: str, folder: Path) -> Drawing:
    path = folder / "mill.svg"
    path.write_text(f"{HEAD}{body}</svg>", encoding="utf-8")
    return read_drawing(path, Job())


def colours(body: str, folder: Path) -> list[str]:
    return [shape.paint.colour for shape in read(body, folder).layers[0].shapes]


@pytest.mark.parametrize(
    ("server", "shape"),
    [
        (f'<pattern id="p">{DOT}</pattern>', SQUARE),
        (f'<pattern id="p" width="0" height="10" patternUnits="userSpaceOnUse">{DOT}</pattern>', SQUARE),
        (f'<pattern id="p" {ROOM}/>', SQUARE),
        (f'<pattern id="p" {ROOM} href="#gone"/>', SQUARE),
        (f'<pattern id="p" href="#gone">{DOT}</pattern>', SQUARE),
        (f'<pattern id="p" {ROOM} viewBox="0 0 0 10">{DOT}</pattern>', SQUARE),
        (f'<pattern id="p" {ROOM} patternTransform="scale(0)">{DOT}</pattern>', SQUARE),
        (f'<linearGradient id="p" gradientTransform="scale(0)">{STOPS}</linearGradient>', SQUARE),
        (f'<linearGradient id="p">{STOPS}</linearGradient>', LINE),
        (f'<pattern id="p" width=".1" height=".1">{DOT}</pattern>', LINE),
    ],
)
def test_what_cannot_be_drawn_gives_its_fallback_or_nothing(server: str, shape: str, tmp_path: Path) -> None:
    """SVG 2, 13.2. A line has no box to lay a pattern or gradient in (8.11)."""
    assert colours(f"{server}<g>{shape.format(' #080')}</g>", tmp_path) == ["#008800"]
    assert colours(f"{server}<g>{shape.format('')}</g>", tmp_path) == []


def test_what_is_drawn_needs_no_fallback(tmp_path: Path) -> None:
    dots = f'<pattern id="p" {ROOM}>{DOT}</pattern>'
    assert colours(f"{dots}<g>{SQUARE.format(' #080')}</g>", tmp_path) == ["#ff0000"]
    hidden = f'<pattern id="p" {ROOM}><rect width="5" height="5" display="none"/></pattern>'
    assert colours(f"{hidden}<g>{SQUARE.format(' #080')}</g>", tmp_path) == []


def test_a_pattern_within_itself_takes_the_fallback_there(tmp_path: Path) -> None:
    pattern = f'<pattern id="p" {ROOM}><rect width="10" height="10" fill="url(#p) #c60"/></pattern>'
    assert colours(f"{pattern}<g>{SQUARE.format(' #080')}</g>", tmp_path) == ["#cc6600"]


@pytest.mark.parametrize("address", ["url(#p)", "url(  #p  )", "url( '#p' )"])
def test_servers_are_found_wherever_they_stand(address: str, tmp_path: Path) -> None:
    gradient = '<linearGradient id="p"><stop stop-color="#369" stop-opacity="0.75"/></linearGradient>'
    nested = f"<g><defs><g><defs>{gradient}</defs></g></defs>"
    (shape,) = read(f'{nested}<rect width="50" height="50" fill="{address}"/></g>', tmp_path).layers[0].shapes
    assert shape.role == "wood"
    assert shape.coat is not None
    assert shape.coat.wash == FlatWash((0.2, 0.4, 0.6), 0.75)


@pytest.mark.parametrize(("opacity", "role"), [("0.5", "wood"), ("50%", "wood"), ("0.49", "glaze"), ("30%", "glaze")])
def test_opacity_of_stops_tells_wood_from_glaze(opacity: str, role: str, tmp_path: Path) -> None:
    stops = f'<stop stop-color="#f00" stop-opacity="{opacity}"/><stop offset="1" stop-color="#00f" stop-opacity="'
    gradient = f'<linearGradient id="p">{stops}{opacity}"/></linearGradient>'
    (shape,) = read(f"{gradient}<g>{SQUARE.format('')}</g>", tmp_path).layers[0].shapes
    assert shape.role == role


GREY = (
    '<mask id="m"{}><rect width="40" height="9" fill="{}"/></mask><g><rect width="9" height="9" mask="url(#m)"/></g>'
)


@pytest.mark.parametrize(
    ("body", "told"),
    [
        (f'<linearGradient id="p" color-interpolation="linearRGB">{STOPS}</linearGradient><g>{SQUARE}</g>', True),
        (
            f'<g style="color-interpolation:linearRGB"><linearGradient id="p">{STOPS}</linearGradient>{SQUARE}</g>',
            True,
        ),
        (f'<linearGradient id="p" color-interpolation="sRGB">{STOPS}</linearGradient><g>{SQUARE}</g>', False),
        (f'<g color-interpolation="linearRGB">{SQUARE}</g><linearGradient id="p">{STOPS}</linearGradient>', False),
        (GREY.format(' color-interpolation="linearRGB"', "#aaa"), True),
        (GREY.format(' color-interpolation="linearRGB" mask-type="alpha"', "#aaaa"), False),
        (GREY.format(' color-interpolation="linearRGB"', "#fff"), False),
        (GREY.format("", "#aaa"), False),
    ],
)
def test_mixing_in_linear_light_is_told(body: str, told: bool, tmp_path: Path) -> None:
    """Where it would look different: of gradients, and of masks that count by a luminance between black and white."""
    found = [finding.message for finding in read(body.replace("{}", ""), tmp_path).findings]
    assert any("'color-interpolation' is not supported" in message for message in found) == told


RIPPLE = (
    '<linearGradient id="p" gradientUnits="userSpaceOnUse" x2="{}" spreadMethod="{}"><stop stop-color="#f00" '
    'stop-opacity=".5"/><stop offset="1" stop-color="#00f"/></linearGradient>'
)


@pytest.mark.parametrize(
    ("length", "spread", "even"), [(0.2, "repeat", True), (0.3, "repeat", False), (0.2, "pad", False)]
)
def test_a_gradient_that_repeats_too_finely_is_its_mean(
    length: float, spread: str, even: bool, tmp_path: Path
) -> None:
    drawing = read(f"{RIPPLE.format(length, spread)}<g>{SQUARE.format('')}</g>", tmp_path)
    (shape,) = drawing.layers[0].shapes
    assert shape.coat is not None
    assert ("tiles-many" in [finding.code for finding in drawing.findings]) == even
    if even:
        # Opacity runs from 1/2 to 1, red from 1 to 0: the integral of (1 - t)(1 + t)/2 is 1/3, that of all 3/4.
        assert isinstance(shape.coat.wash, FlatWash)
        assert shape.coat.wash.colour == pytest.approx((4 / 9, 0.0, 5 / 9))
        assert shape.coat.wash.opacity == pytest.approx(0.75)
    else:
        assert isinstance(shape.coat.wash, GradedWash)
