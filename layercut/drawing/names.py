"""What things are called: labels, layer names, overriding words, and how messages name an element.

Enters: elements. Leaves: text. Editors' own attributes are read by their local name only.
"""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Literal, get_args

from lxml import etree

from layercut.drawing.document import local_name
from layercut.errors import DrawingError
from layercut.model import Called

Word = Literal["wood", "mark-line", "mark-area", "opening", "guide"]

WORDS: tuple[Word, ...] = get_args(Word)

_ESCAPE = re.compile(r"_x([0-9A-Fa-f]{4,6})_")
_MAX_SHOWN = 60


def decode_id(text: str) -> str:
    """An id with `_xHHHH_` escapes, which editors write for characters that an id can't hold, undone."""
    return _ESCAPE.sub(lambda match: chr(int(match[1], 16)) if int(match[1], 16) < 0x110000 else match[0], text)


def label_of(element: etree._Element) -> str:
    """The value of any attribute whose local name is `label`; empty where there is none."""
    for name, value in element.attrib.items():
        if str(name).rpartition("}")[2] == "label" and value.strip():
            return _tidy(str(value))
    return ""


def title_of(element: etree._Element) -> str:
    """The text of the first title child; empty where there is none."""
    for child in element:
        if local_name(child) == "title":
            return _tidy("".join(map(str, child.itertext())))
    return ""


def id_of(element: etree._Element) -> str:
    """The element's id, decoded; empty where it has none."""
    return _tidy(decode_id(element.get("id") or ""))


def called(element: etree._Element, around: tuple[str, ...]) -> Called:
    """What the artist calls an element; `around` are the names of what is around it, and its own."""
    return Called(local_name(element), label_of(element)[:_MAX_SHOWN], id_of(element)[:_MAX_SHOWN], around)


def own_names(element: etree._Element) -> tuple[str, ...]:
    """Everything that an element is called: its label, its title, its id."""
    return tuple(name for name in (label_of(element), title_of(element), id_of(element)) if name)


def layer_name(element: etree._Element, number: int) -> str:
    """A layer's name: its label, else its title, else its id decoded, else `layer` and its number."""
    return label_of(element) or title_of(element) or id_of(element) or f"layer {number}"


def is_guide_name(name: str) -> bool:
    """True for the names of reference layers."""
    return name.lower().startswith("guide")


def word_of(element: etree._Element, file: str, layer: str, shown: str, *, by_name: bool = True) -> Word | None:
    """What the maker says an element is, by `data-layercut` or by a name that begins with the word; or None.

    Raises DrawingError `unknown-role` for a `data-layercut` that is none of the words.
    """
    data = element.get("data-layercut")
    if data is not None:
        for word in WORDS:
            if data.strip().lower() == word:
                return word
        hint = f"Use one of {', '.join(WORDS)}."
        message = f"data-layercut='{_tidy(data)[:_MAX_SHOWN]}' is not a role."
        raise DrawingError("unknown-role", message, hint, file=file, layer=layer, element=shown)
    if not by_name:
        return None
    for name in (label_of(element), title_of(element), decode_id(element.get("id") or "")):
        for word in WORDS:
            if name and name.lower().startswith(word) and not name[len(word) : len(word) + 1].isalpha():
                return word
    return None


def drawn_in_lines(element: etree._Element, file: str, layer: str) -> bool:
    """Whether a layer's group says by `data-layercut-face` that its lines enclose its wood.

    Raises DrawingError `unknown-face` for a value that is neither `lines` nor `fills`.
    """
    said = (element.get("data-layercut-face") or "fills").strip().lower()
    if said not in ("lines", "fills"):
        message = f"data-layercut-face='{_tidy(said)[:_MAX_SHOWN]}' is no way to make a face."
        raise DrawingError("unknown-face", message, "Use lines or fills.", file=file, layer=layer)
    return said == "lines"


@dataclass(slots=True)
class Places:
    """Names elements in messages: by label or id, else by their place among their like in a layer."""

    _ordinals: dict[etree._Element, int] = field(default_factory=dict)

    def enter(self, layer: etree._Element) -> None:
        """Count the elements of a layer, each kind for itself."""
        self._count(layer.iter())

    def name(self, element: etree._Element) -> str:
        """Such as `path 'leaf-3'`, or `the 4th path`."""
        kind = local_name(element) or "element"
        own = label_of(element) or id_of(element)
        if own:
            return f"{kind} '{own[:_MAX_SHOWN]}'"
        if element not in self._ordinals:
            parent = element.getparent()
            self._count(iter([element]) if parent is None else iter(parent))
        return f"the {ordinal(self._ordinals[element])} {kind}"

    def _count(self, elements: Iterator[etree._Element]) -> None:
        counts: dict[object, int] = {}
        for element in elements:
            counts[element.tag] = counts.get(element.tag, 0) + 1
            self._ordinals[element] = counts[element.tag]


def ordinal(number: int) -> str:
    """1st, 2nd, 3rd, 4th, 11th, 21st."""
    ending: Mapping[int, str] = {1: "st", 2: "nd", 3: "rd"}
    return f"{number}{'th' if number % 100 in (11, 12, 13) else ending.get(number % 10, 'th')}"


def _tidy(text: str) -> str:
    """One line without control characters."""
    return " ".join("".join(char if char.isprintable() else " " for char in text).split())
