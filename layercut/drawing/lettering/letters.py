"""The letters of a text element, each with its style and where the drawing says that it goes.

Enters: a text element. Leaves: `Letter`s in reading order, white space collapsed as `xml:space` and `white-space`
say, and `x`, `y`, `dx`, `dy` and `rotate` dealt out to them (SVG 2, 11.4 and 11.5).
"""

import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass, field

from lxml import etree

from layercut.drawing.display_list import Context
from layercut.drawing.document import local_name
from layercut.drawing.traversal import Traversal
from layercut.drawing.units import parse_length, parse_numbers

_XML_SPACE = "{http://www.w3.org/XML/1998/namespace}space"
_SILENT = {"title", "desc", "metadata", "style", "script", "defs"}
_SPACES = " \t\n\r"
_POSITIONS = ("x", "y", "dx", "dy")


@dataclass(slots=True)
class Letter:
    """One character. `x` and `y` are None where it follows the one before; `span` counts the elements of the text."""

    text: str
    here: Context
    span: int
    x: float | None = None
    y: float | None = None
    dx: float = 0.0
    dy: float = 0.0
    turn_deg: float = 0.0

    @property
    def combines(self) -> bool:
        """True for accents and joiners, which belong to the letter before."""
        return unicodedata.category(self.text) in ("Mn", "Mc", "Me") or self.text in "\u200c\u200d"

    @property
    def moved(self) -> bool:
        """True where it is shifted or turned, so that it can't be part of a ligature."""
        return bool(self.dx or self.dy or self.turn_deg)


@dataclass(slots=True)
class _Span:
    """An element of the text and the raw characters in it, from `begin` up to `end`."""

    element: etree._Element
    here: Context
    begin: int
    end: int = 0


@dataclass(slots=True)
class _Gathered:
    """All characters before white space is collapsed; `kept` says of each whether its white space is preserved."""

    letters: list[Letter] = field(default_factory=list)
    preserved: list[bool] = field(default_factory=list)
    spans: list[_Span] = field(default_factory=list)

    def add(self, text: str | None, here: Context, span: int, *, preserve: bool) -> None:
        for char in text or "":
            self.letters.append(Letter(char, here, span))
            self.preserved.append(preserve)


def read_letters(traversal: Traversal, element: etree._Element, here: Context) -> list[Letter]:
    """The letters of a text; empty where there is nothing but white space to collapse."""
    gathered = _Gathered()
    _gather(traversal, element, here, preserve=_ancestors_preserve(element), into=gathered)
    kept = _collapse(gathered)
    _deal_positions(gathered, kept)
    return [gathered.letters[index] for index in kept]


def text_path_in(element: etree._Element) -> etree._Element | None:
    """The first element in a text that sets it along a path."""
    return next((inner for inner in element.iter() if local_name(inner) == "textPath"), None)


def _ancestors_preserve(element: etree._Element) -> bool:
    parent = element.getparent()
    spaces = [parent, *parent.iterancestors()] if parent is not None else []
    said = next((node.get(_XML_SPACE) for node in spaces if node.get(_XML_SPACE)), "default")
    return said == "preserve"


def _gather(traversal: Traversal, element: etree._Element, here: Context, *, preserve: bool, into: _Gathered) -> None:
    space = here.style.get("white-space").lower()
    own = element.get(_XML_SPACE)
    # `white-space` is the newer way to say it and wins (SVG 2, 11.7.2.1).
    preserve = own == "preserve" if own in ("preserve", "default") else preserve
    keeps = space in ("pre", "pre-wrap", "break-spaces") if space else preserve
    number = len(into.spans)
    span = _Span(element, here, len(into.letters))
    into.spans.append(span)
    into.add(element.text, here, number, preserve=keeps)
    for child in element:
        kind = local_name(child)
        if kind in ("tspan", "a"):
            inner = traversal.enter_span(child, here)
            if inner is not None:
                _gather(traversal, child, inner, preserve=preserve, into=into)
        elif kind and kind not in _SILENT:
            traversal.note(child, here, f"'{kind}' within a text was left out", "Write it as plain text.")
        into.add(child.tail, here, number, preserve=keeps)
    span.end = len(into.letters)


def _collapse(gathered: _Gathered) -> list[int]:
    """Which characters stay: of a run of spaces the first, and none at the text's two ends, unless preserved."""
    kept: list[int] = []
    # A text begins as if after a space; a run of spaces may go across the borders of spans (CSS Text 3, 4.1.1).
    at_space = True
    for index, letter in enumerate(gathered.letters):
        if letter.text in _SPACES:
            letter.text = " "
        elif not letter.text.isprintable() and unicodedata.category(letter.text) == "Cc":
            continue
        is_space = letter.text == " " and not gathered.preserved[index]
        if is_space and at_space:
            continue
        kept.append(index)
        at_space = is_space
    if kept and at_space:
        kept.pop()
    return kept


def _deal_positions(gathered: _Gathered, kept: list[int]) -> None:
    """Each element's lists go to its own letters in turn; those of an inner element win."""
    for span in gathered.spans:
        members = [gathered.letters[index] for index in kept if span.begin <= index < span.end]
        for name in _POSITIONS:
            for letter, value in zip(members, _lengths(span, name), strict=False):
                setattr(letter, name, value)
        turns = parse_numbers(span.element.get("rotate") or "") or ()
        for index, letter in enumerate(members if turns else ()):
            letter.turn_deg = turns[min(index, len(turns) - 1)]  # the last one holds for the rest


def _lengths(span: _Span, name: str) -> Iterator[float]:
    """The lengths of a list, up to the first that is none."""
    viewport = span.here.viewport
    whole = viewport.width if name.endswith("x") else viewport.height
    for text in (span.element.get(name) or "").replace(",", " ").split():
        length = parse_length(text, whole, span.here.style.font_size)
        if length is None:
            return
        yield length
