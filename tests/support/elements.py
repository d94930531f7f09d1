"""Elements of a written file and what they hold, with a type: lxml's own say that an XPath may give anything at all.

Whatever isn't there, or isn't of that kind, fails the test that asks for it.
"""

from lxml import etree

Tree = etree._Element | etree._ElementTree
NAMES = {"s": "http://www.w3.org/2000/svg"}
"""What XPaths here may call SVG's elements: `s:path`."""


def elements(tree: Tree, path: str) -> list[etree._Element]:
    """The elements at an XPath, in the order of the file."""
    found = tree.xpath(path, namespaces=NAMES)
    assert isinstance(found, list)
    made = [element for element in found if isinstance(element, etree._Element)]
    assert len(made) == len(found), path
    return made


def only(tree: Tree, path: str) -> etree._Element:
    """The one element at an XPath."""
    (element,) = elements(tree, path)
    return element


def strings(tree: Tree, path: str) -> list[str]:
    """The attributes or texts at an XPath, in the order of the file."""
    found = tree.xpath(path, namespaces=NAMES)
    assert isinstance(found, list)
    assert all(isinstance(word, str) for word in found), path
    return [str(word) for word in found]


def string(tree: Tree, path: str) -> str:
    """What an XPath of kind `string(...)` says, or its one attribute or text."""
    found = tree.xpath(path, namespaces=NAMES)
    if isinstance(found, str):
        return str(found)
    (only_one,) = strings(tree, path)
    return only_one


def value(element: etree._Element, name: str) -> str:
    """An attribute that is there."""
    held = element.get(name)
    assert held is not None, f"{element.tag} has no {name}"
    return held


def parent(element: etree._Element) -> etree._Element:
    """The element around one that isn't the outermost."""
    around = element.getparent()
    assert around is not None
    return around


def all_text(element: etree._Element) -> str:
    """All the words within an element."""
    return "".join(str(text) for text in element.itertext())
