"""An element's own transform: attribute or property, and about which point."""

import pytest
from lxml import etree

from layercut.drawing.css.styles import Style
from layercut.drawing.placement import own_transform
from layercut.drawing.transforms import IDENTITY
from layercut.drawing.units import Viewport

VIEWPORT = Viewport(200, 100)
HALF_TURN = "rotate(180)"


def placed(attribute: str = "", **properties: str) -> tuple[tuple[float, ...], str]:
    element = etree.Element("g", {"transform": attribute} if attribute else {})
    own = {name.replace("_", "-"): value for name, value in properties.items()}
    return own_transform(element, Style(own=own), VIEWPORT)


def test_the_property_wins_over_the_attribute() -> None:
    assert placed("translate(3)", transform="translate(5px)") == ((1, 0, 0, 1, 5, 0), "")
    assert placed("translate(3)") == ((1, 0, 0, 1, 3, 0), "")
    assert placed("translate(3)", transform="none") == (IDENTITY, "")


def test_a_malformed_list_does_not_count_at_all() -> None:
    assert placed("translate(3) rotate(10") == (IDENTITY, "a malformed 'transform'")


@pytest.mark.parametrize(
    ("origin", "point"),
    [
        ("10px 20px", (10, 20)),
        ("10px", (10, 50)),
        ("left top", (0, 0)),
        ("top left", (0, 0)),
        ("bottom", (100, 100)),
        ("right", (200, 50)),
        ("center 25%", (100, 25)),
        ("bottom right", (200, 100)),
        ("5 5 0", (5, 5)),
        ("1em 2em", (16, 32)),
    ],
)
def test_the_origin(origin: str, point: tuple[float, float]) -> None:
    """Half a turn about a point takes 0 to twice that point (CSS Transforms 1, 8)."""
    matrix, problem = placed(HALF_TURN, transform_origin=origin)
    assert (matrix, problem) == (pytest.approx((-1, 0, 0, -1, 2 * point[0], 2 * point[1])), "")


@pytest.mark.parametrize("origin", ["10px 20px 5px", "somewhere", "10px far"])
def test_an_origin_that_cannot_be_is_told(origin: str) -> None:
    assert placed(HALF_TURN, transform_origin=origin) == ((-1, 0, 0, -1, 0, 0), "this 'transform-origin'")


@pytest.mark.parametrize(("name", "value"), [("rotate", "10deg"), ("scale", "2"), ("transform_box", "fill-box")])
def test_properties_that_are_not_supported_are_told(name: str, value: str) -> None:
    _, problem = placed(**{name: value})
    assert problem == f"the CSS property '{name.replace('_', '-')}'"
