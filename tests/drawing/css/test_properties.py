"""Which values may stand for a property; any other doesn't count, so that a weaker rule does."""

import pytest

from layercut.drawing.css.properties import INHERITED, INITIAL, PRESENTATION, is_valid


@pytest.mark.parametrize(
    ("name", "good", "bad"),
    [
        (
            "fill",
            ["none", "#123", "url(#a) red", "currentColor", "Inherit"],
            ["red blue", "3", "", "url(#a) nonsense"],
        ),
        ("stroke-width", ["0", "2px", "5%", "1e1"], ["-1", "wide", "2 px px"]),
        ("stroke-dasharray", ["none", "3", "3,1 4%"], ["-3", "3 wide", ","]),
        ("stroke-dashoffset", ["-3", "5%"], ["far"]),
        ("stroke-miterlimit", ["1", "4.5"], ["0.9", "-4", "2px"]),
        ("fill-rule", ["nonzero", "EvenOdd"], ["both"]),
        ("stroke-linejoin", ["miter-clip", "arcs", "bevel"], ["sharp"]),
        ("opacity", ["0", "50%", "1.5"], ["half", "5px"]),
        ("font-weight", ["bold", "1", "1000"], ["0", "1001", "heavy"]),
        ("letter-spacing", ["normal", "-2px", "0.1em"], ["10%", "wide"]),
        ("transform", ["rotate(10deg)", "none"], ["rotate(10", "spin(3)"]),
        ("r", ["5", "5%"], ["-5"]),
        ("x", ["-5"], ["left"]),
        ("display", ["none", "whatever"], [""]),
    ],
)
def test_values(name: str, good: list[str], bad: list[str]) -> None:
    assert [is_valid(name, value) for value in good] == [True] * len(good)
    assert [is_valid(name, value) for value in bad] == [False] * len(bad)


def test_every_property_either_inherits_or_not_and_its_initial_value_is_valid() -> None:
    assert not INHERITED.keys() & INITIAL.keys()
    assert all(is_valid(name, value) for name, value in {**INHERITED, **INITIAL}.items() if value)


def test_geometry_and_transforms_are_no_presentation_attributes() -> None:
    """They are read where they are used; as presentation attributes they would be read twice."""
    assert {"fill", "clip-path", "stop-color", "transform-origin"} <= PRESENTATION
    assert not PRESENTATION & {"x", "width", "d", "transform", "rotate", "scale"}
