"""Conditional processing: which elements a `switch`, or their own tests, let through (SVG 2, 5.8).

Enters: elements. Leaves: yes or no. There is no person whose languages could be asked, so English counts.
"""

from lxml import etree

from layercut.drawing.document import local_name

LANGUAGE = "en"

DRAWN = {"g", "a", "svg", "switch", "use", "text", "image", "foreignObject"} | {
    *("path", "rect", "circle", "ellipse", "line", "polyline", "polygon")
}
"""Elements that may draw something where they stand."""


def passes(element: etree._Element) -> bool:
    """True when the element's own tests hold; without any, they do. No extension is known."""
    if element.get("requiredExtensions") is not None:
        return False
    languages = element.get("systemLanguage")
    if languages is None:
        return True
    return any(tag.strip().lower().split("-")[0] == LANGUAGE for tag in languages.split(","))


def chosen(switch: etree._Element) -> etree._Element | None:
    """The first child of a `switch` whose tests hold; whether it is displayed doesn't matter."""
    for child in switch:
        if local_name(child) in DRAWN and passes(child):
            return child
    return None
