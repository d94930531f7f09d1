"""References from one element to another inside the drawing.

Enters: the tree and addresses such as `#leaf`. Leaves: the elements they name. Nothing outside the file is
ever looked up.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from lxml import etree

from layercut.drawing.document import XLINK_HREF


@dataclass(frozen=True, slots=True)
class References:
    """Finds elements by id; of several with one id, the first in the drawing."""

    _by_id: Mapping[str, etree._Element]

    def find(self, address: str) -> etree._Element | None:
        """The element that `#id` names; None for a missing one or an address outside the file."""
        address = address.strip()
        return self._by_id.get(address[1:]) if address.startswith("#") else None

    def target(self, element: etree._Element) -> etree._Element | None:
        """What an element's href names; plain `href` wins over the older `xlink:href` (SVG 2, "Linking")."""
        return self.find(href(element))


def href(element: etree._Element) -> str:
    """An element's address, empty where it has none."""
    own = element.get("href")
    return own if own is not None else element.get(XLINK_HREF) or ""


def read_references(root: etree._Element) -> References:
    """The index of a drawing's ids."""
    found: dict[str, etree._Element] = {}
    for element in root.iter():
        name = element.get("id")
        if name:
            found.setdefault(name, element)
    return References(found)
