"""The XML of a written file, as strictly as it was written.

Enters: a file's text. Leaves: its elements, and sentences about what doesn't belong there. Shares nothing with the
writers: an error there can't hide here. Whatever the writers never write is refused, since a machine or an editor may
follow what a lenient reader overlooks: a DOCTYPE's default attributes, styles, transforms, `use`.
"""

import re
from collections.abc import Iterator
from typing import NoReturn

from lxml import etree

from layercut.errors import DrawingError

SVG = "{http://www.w3.org/2000/svg}"

_SIZE = re.compile(r"(\d+(?:\.\d+)?)mm")
NUMBER = re.compile(r"\d+(?:\.\d+)?")


def open_document(text: str, file: str, known: set[str]) -> tuple[etree._Element, float, float]:
    """The root of a written SVG document, which has none but the `known` attributes, and its size, mm.

    Raises DrawingError, as everything here does, for what layercut never writes.
    """
    root = _parse(text, file)
    for node in (*root.itersiblings(preceding=True), *root.itersiblings()):
        if not isinstance(node, etree._Comment):
            refuse("has a processing instruction", file)
    check_element(root, "svg", known, file, "the document")
    foreign = sorted(str(name) for name in root.nsmap if name is not None)
    if foreign:
        refuse(f"declares a foreign namespace, '{foreign[0]}'", file)
    width, height = (_millimetres(root.get(name, ""), file) for name in ("width", "height"))
    box = root.get("viewBox", "").split()
    if not all(NUMBER.fullmatch(part) for part in box) or [float(part) for part in box] != [0, 0, width, height]:
        refuse("has a viewBox that isn't its size in mm", file)
    return root, width, height


def _parse(text: str, file: str) -> etree._Element:
    """The root element of a text that has no document type and no declaration."""
    if text.startswith("<?xml") and text[5:6].isspace():
        refuse("has an XML declaration, which can change how its letters are read", file)
    parser = etree.XMLParser(resolve_entities=False, no_network=True, load_dtd=False)
    try:
        root = etree.fromstring(text.encode(), parser)
    except (etree.XMLSyntaxError, ValueError) as error:
        refuse(f"is not a sheet: {getattr(error, 'msg', error)}", file)
    if root.getroottree().docinfo.internalDTD is not None:
        refuse("has a DOCTYPE, which can add attributes and entities that nobody sees", file)
    return root


def children(parent: etree._Element, file: str) -> Iterator[etree._Element]:
    """The elements inside an element that holds nothing else but comments and white space."""
    where = name_of(parent)
    _check_words(parent.text, where, file)
    for child in parent:
        _check_words(child.tail, where, file)
        if isinstance(child, etree._Comment):
            continue
        if not isinstance(child.tag, str):
            refuse(f"has an entity or a processing instruction in {where}", file)
        yield child


def _check_words(words: str | None, where: str, file: str) -> None:
    if words is not None and not words.isspace() and words:
        refuse(f"has the words '{words.strip()[:40]}' in {where}", file)


def check_title(title: etree._Element, file: str) -> None:
    """A title may hold any words, and nothing else."""
    if len(title) or title.attrib:
        refuse("has more than words in its <title>", file)


def check_element(element: etree._Element, name: str, known: set[str], file: str, where: str) -> None:
    """Whether an element is the one that belongs there, with none but known attributes."""
    if element.tag != f"{SVG}{name}" or element.prefix is not None:
        found = f"{element.prefix}:" * (element.prefix is not None) + str(etree.QName(element).localname)
        refuse(f"has <{found}> in {where}, where only <{name}> belongs", file)
    unknown = sorted(str(key) for key in element.attrib if key not in known)
    if unknown:
        what = f"'{etree.QName(unknown[0]).localname}' on the <{name}> of {where}"
        refuse(f"has {what}, which layercut doesn't write and a machine may follow", file)


def name_of(element: etree._Element) -> str:
    """How a message names an element: by its role or part, where it has one."""
    own = element.get("data-role") or element.get("data-part")
    return own or f"<{etree.QName(element).localname}>"


def _millimetres(text: str, file: str) -> float:
    match = _SIZE.fullmatch(text)
    if match is None:
        refuse("doesn't say its size in mm", file)
    return float(match[1])


def refuse(what: str, file: str) -> NoReturn:
    """Raise the DrawingError that says what is wrong about a file."""
    raise DrawingError("sheet-unreadable", f"{what}.", file=file)
