"""Gradients: where they run, which stops they have, and what they take over by href (SVG 2, 13.2)."""

from pathlib import Path

import pytest
from drawn import only, read, shapes

from layercut.colour.washes import GradedWash, Gradient
from layercut.model import Paint

STOPS = '<stop stop-color="#f00"/><stop offset="1" stop-color="#00f"/>'
BOX = '<rect x="20" y="10" width="40" height="20" fill="url(#p)"/>'


def gradient(servers: str, folder: Path, shape: str = BOX) -> Gradient:
    (wash,) = only(servers + shape, folder).paint.washes
    assert isinstance(wash, GradedWash)
    return wash.gradient


def ends(found: Gradient) -> tuple[float, ...]:
    """Where a linear gradient begins and ends, mm."""
    x1, y1, x2, y2 = found.points
    a, b, c, d, e, f = found.to_mm
    return (a * x1 + c * y1 + e, b * x1 + d * y1 + f, a * x2 + c * y2 + e, b * x2 + d * y2 + f)


def test_a_gradient_is_a_blend(tmp_path: Path) -> None:
    stops = '<stop stop-color="#f00"/><stop offset="50%" style="stop-color:#00f"/>'
    gradients = f'<linearGradient id="s">{stops}</linearGradient><radialGradient id="g" href="#s"/>'
    body = f'{gradients}<g><rect width="10" height="10" fill="url(#g)"/></g>'
    drawing = read(body, tmp_path)
    (shape,) = drawing.layers[0].shapes
    assert shape.role == "wood"
    (wash,) = shape.paint.washes
    assert isinstance(wash, GradedWash)
    assert [(stop.offset, stop.colour) for stop in wash.gradient.stops] == [(0, (1, 0, 0)), (0.5, (0, 0, 1))]
    assert shape.paint.colour == "#4000bf"  # a quarter of red on the whole: half of the first half
    assert [finding.code for finding in drawing.findings] == ["blend"]


def test_gradients_of_no_or_one_colour(tmp_path: Path) -> None:
    gradients = '<linearGradient id="n"/><linearGradient id="o"><stop stop-color="#0f0"/></linearGradient>'
    body = gradients + '<g><rect width="5" height="5" fill="url(#n)"/><rect width="5" height="5" fill="url(#o)"/></g>'
    drawing = read(body, tmp_path)
    assert [shape.paint for shape in drawing.layers[0].shapes] == [Paint("#00ff00")]
    assert drawing.findings == ()


def test_a_gradient_is_wood_where_it_is_opaque_enough(tmp_path: Path) -> None:
    gradient = '<linearGradient id="g"><stop stop-opacity=".8"/><stop offset="1" stop-opacity="0"/></linearGradient>'
    drawing = read(f'{gradient}<g><rect width="8" height="5" fill="url(#g)"/></g>', tmp_path)
    (shape,) = drawing.layers[0].shapes
    assert shape.role == "wood"
    assert shape.geometry.bounds == pytest.approx((0, 0, 3, 5))  # 0.8 - 0.1 x is 0.5 at 3
    assert shape.coat is not None
    assert shape.coat.region.bounds == pytest.approx((0, 0, 8, 5))
    assert "glaze" in [finding.code for finding in drawing.findings]


def test_a_gradient_without_stops_is_none(tmp_path: Path) -> None:
    """SVG 2, 13.2.4: as if `none` were the paint, whatever stands behind it."""
    assert shapes('<linearGradient id="p"/><rect width="50" height="50" fill="url(#p) #080"/>', tmp_path) == ()


@pytest.mark.parametrize(
    ("attributes", "where"),
    [
        ("", (20, 10, 60, 10)),
        ('x1="25%" x2=".75" y2="1"', (30, 10, 50, 30)),
        ('gradientUnits="userSpaceOnUse" x1="10%" x2="50" y2="20%"', (10, 0, 50, 20)),
        ('gradientUnits="userSpaceOnUse" x2="10" gradientTransform="translate(5 1) scale(2)"', (5, 1, 25, 1)),
        ('gradientTransform="scale(.5)"', (20, 10, 40, 10)),
        ('gradientUnits="nonsense"', (20, 10, 60, 10)),
    ],
)
def test_where_a_linear_gradient_runs(attributes: str, where: tuple[float, ...], tmp_path: Path) -> None:
    found = gradient(f'<linearGradient id="p" {attributes}>{STOPS}</linearGradient>', tmp_path)
    assert ends(found) == pytest.approx(where)


def test_a_shape_takes_its_gradient_along(tmp_path: Path) -> None:
    found = gradient(
        f'<linearGradient id="p">{STOPS}</linearGradient>',
        tmp_path,
        BOX.replace("<rect", '<rect transform="scale(.5)"'),
    )
    assert ends(found) == pytest.approx((10, 5, 30, 5))


@pytest.mark.parametrize(
    ("attributes", "circles"),
    [
        ("", (0.5, 0.5, 0, 0.5, 0.5, 0.5)),
        ('cx="20%" r="1"', (0.2, 0.5, 0, 0.2, 0.5, 1)),
        ('fx=".3" fr="-1"', (0.3, 0.5, 0, 0.5, 0.5, 0.5)),
        ('gradientUnits="userSpaceOnUse" cx="40" cy="20" r="10%" fy="18"', (40, 18, 0, 40, 20, 10)),
    ],
)
def test_the_circles_of_a_radial_gradient(attributes: str, circles: tuple[float, ...], tmp_path: Path) -> None:
    """The focus lies in the middle unless said otherwise."""
    found = gradient(f'<radialGradient id="p" {attributes}>{STOPS}</radialGradient>', tmp_path)
    assert (found.kind, found.points) == ("radial", pytest.approx(circles))


def test_what_is_taken_over_by_href(tmp_path: Path) -> None:
    """Stops, units and spread from any gradient; where it runs only from those of its own kind."""
    base = f'<linearGradient id="b" x1=".25" x2=".5" cx=".9" spreadMethod="reflect">{STOPS}</linearGradient>'
    found = gradient(f'{base}<linearGradient id="p" href="#b" x2="1"/>', tmp_path)
    assert (ends(found), found.spread) == (pytest.approx((30, 10, 60, 10)), "reflect")
    other = gradient(f'{base}<radialGradient id="p" href="#b" r=".4"/>', tmp_path)
    assert (other.points, other.spread) == (pytest.approx((0.5, 0.5, 0, 0.5, 0.5, 0.4)), "reflect")
    circle = f'<linearGradient id="b" href="#p"/><linearGradient id="p" href="#b" x1=".5">{STOPS}</linearGradient>'
    assert ends(gradient(circle, tmp_path)) == pytest.approx((40, 10, 60, 10))


def test_stops_never_go_back(tmp_path: Path) -> None:
    said = {".2": "#f00", ".6": "#0f0", ".4": "#00f", "150%": "#fff"}
    stops = "".join(f'<stop offset="{at}" stop-color="{colour}"/>' for at, colour in said.items())
    found = gradient(f'<linearGradient id="p">{stops}</linearGradient>', tmp_path)
    assert [stop.offset for stop in found.stops] == [0.2, 0.6, 0.6, 1]


@pytest.mark.parametrize(
    "server",
    [
        f'<linearGradient id="p" x2="0">{STOPS}</linearGradient>',
        f'<radialGradient id="p" r="0">{STOPS}</radialGradient>',
    ],
)
def test_without_a_way_to_run_the_last_stop_is_all(server: str, tmp_path: Path) -> None:
    assert only(server + BOX, tmp_path).paint == Paint("#0000ff")
