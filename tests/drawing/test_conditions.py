"""What a `switch`, and an element's own tests, let through (SVG 2, 5.8)."""

import pytest
from lxml import etree

from layercut.drawing.conditions import chosen, passes

SVG = "http://www.w3.org/2000/svg"


def element(text: str) -> etree._Element:
    return etree.fromstring(f'<svg xmlns="{SVG}">{text}</svg>')[0]


@pytest.mark.parametrize(
    ("attributes", "through"),
    [
        ("", True),
        ('systemLanguage="en"', True),
        ('systemLanguage="de, EN-gb"', True),
        ('systemLanguage="de"', False),
        ('systemLanguage="english"', False),
        ('systemLanguage=""', False),
        ('requiredExtensions="urn:any"', False),
        ('requiredExtensions="" systemLanguage="en"', False),
        ('requiredFeatures="any"', True),
    ],
)
def test_tests_of_an_element(attributes: str, through: bool) -> None:
    """No extension is known, not even one without a name; tests for features are gone from SVG 2 and always hold."""
    assert passes(element(f"<g {attributes}/>")) == through


@pytest.mark.parametrize(
    ("children", "first"),
    [
        ('<g id="a"/><g id="b"/>', "a"),
        ('<g systemLanguage="de" id="a"/><g id="b"/>', "b"),
        ('<title id="t"/><!-- x --><defs id="d"/><rect id="b"/>', "b"),
        ('<g id="a" display="none"/><g id="b"/>', "a"),
        ('<foreignObject id="a"/><g id="b"/>', "a"),
        ('<foreignObject requiredExtensions="urn:x" id="a"/><g id="b"/>', "b"),
    ],
)
def test_a_switch_takes_the_first_that_may_be_drawn(children: str, first: str) -> None:
    found = chosen(element(f"<switch>{children}</switch>"))
    assert found is not None
    assert found.get("id") == first


def test_a_switch_without_any_takes_none() -> None:
    assert chosen(element('<switch><title/><g systemLanguage="fr"/></switch>')) is None
