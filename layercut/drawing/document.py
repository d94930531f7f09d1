"""A file's bytes to a safe tree.

Enters: a path. Leaves: `Document`, whose tree has no comments, no processing instructions and no reference that
leads out of the file; every SVG element's tag carries the SVG namespace. Refused: what is no SVG, and what is
built to exhaust the reader (size, depth, entities).
"""

import hashlib
import os
import re
import stat
import zlib
from dataclasses import dataclass
from pathlib import Path

from lxml import etree

from layercut.errors import DrawingError
from layercut.reading import TooLargeError, read_plain

SVG = "{http://www.w3.org/2000/svg}"
XLINK_HREF = "{http://www.w3.org/1999/xlink}href"

MAX_BYTES = 64 * 1024 * 1024
"""A drawing larger than this isn't read; one of 16,000 leaves has 4 MB."""

MAX_DEPTH = 200
"""Elements within elements. Editors write ten or twenty; libxml2 itself stops at 256."""

MAX_TAGS = 1_000_000
"""Elements that a file may hold, drawn or not. They are counted before the tree is made, of 350 bytes for each."""

_RESOURCE_LIMIT = 114  # libxml2's XML_ERR_RESOURCE_LIMIT
_GZIP = b"\x1f\x8b"


@dataclass(frozen=True, slots=True)
class Document:
    """A drawing's tree, its file name and the SHA-256 of the file's bytes."""

    file: str
    sha256: str
    root: etree._Element
    outside_sheets: int = 0


def load_document(path: Path) -> Document:
    """Read and parse a drawing.

    Raises DrawingError (`not-found`, `not-a-file`, `unreadable`, `empty-file`, `too-large`, `not-xml`,
    `not-svg`, `too-deep`, `too-many-elements`, `entities`) with a sentence for the maker.
    """
    data = _read(path)
    text = _inflate(data, path.name) if data.startswith(_GZIP) else data
    if not text.strip():
        raise DrawingError("empty-file", "the file is empty.", "Save the drawing again.", file=path.name)
    _check_tags(text, path.name)
    root = _parse(text, path.name)
    _check_depth(root, path.name)
    sheets = sum(1 for node in root.itersiblings(preceding=True) if _is_stylesheet_link(node))
    etree.strip_elements(root, etree.Comment, etree.ProcessingInstruction, with_tail=False)
    _check_root(root, path.name)
    return Document(path.name, hashlib.sha256(data).hexdigest(), root, sheets)


def local_name(element: etree._Element) -> str:
    """The tag of an SVG element without its namespace; empty for elements of other namespaces."""
    tag = str(element.tag)
    return tag[len(SVG) :] if tag.startswith(SVG) else ""


def _read(path: Path) -> bytes:
    try:
        status = path.stat()
        if stat.S_ISDIR(status.st_mode):
            raise DrawingError("not-a-file", "is a folder, not a drawing.", "Name the SVG file.", file=path.name)
        if not stat.S_ISREG(status.st_mode):
            raise DrawingError("not-a-file", "is not a file.", "Name the SVG file.", file=path.name)
        return read_plain(path, MAX_BYTES)
    except TooLargeError:
        raise _too_large(path.name) from None
    except (FileNotFoundError, NotADirectoryError):
        raise DrawingError(
            "not-found", "there is no such drawing.", "Check the name and the folder.", file=str(path)
        ) from None
    except (OSError, ValueError) as error:
        reason = os.strerror(error.errno) if isinstance(error, OSError) and error.errno else str(error)
        raise DrawingError("unreadable", f"the file can't be read ({reason}).", file=str(path)) from None


def _too_large(file: str) -> DrawingError:
    hint = "Take embedded pictures out of it, or simplify its paths."
    return DrawingError("too-large", "the drawing is larger than 64 MB.", hint, file=file)


def _inflate(data: bytes, file: str) -> bytes:
    stream = zlib.decompressobj(wbits=31)
    try:
        text = stream.decompress(data, MAX_BYTES)
        if stream.unconsumed_tail:
            raise _too_large(file)
    except zlib.error:
        text = b""
    if not stream.eof:
        hint = "Save the drawing as plain SVG."
        raise DrawingError("unreadable", "is compressed, and the compressed data is damaged.", hint, file=file)
    return text


def _check_tags(text: bytes, file: str) -> None:
    """Hold that the tree won't fill the memory; a comment or a declaration counts as an element here."""
    count = text.count(b"<") - text.count(b"</")
    if count > MAX_TAGS:
        message = f"the file holds {count} elements; the most is {MAX_TAGS}."
        raise DrawingError("too-many-elements", message, "Simplify it, or split it into several drawings.", file=file)


def _parse(text: bytes, file: str) -> etree._Element:
    try:
        return etree.fromstring(text, _parser(huge=False))
    except etree.XMLSyntaxError as error:
        if getattr(error, "code", 0) != _RESOURCE_LIMIT:
            raise _syntax_error(error, text, file) from None
    # An embedded photo of more than 10 MB goes over libxml2's usual limits. They can be lifted safely
    # where no entity is declared, as nothing can then grow; depth is checked here.
    if b"<!ENTITY" in text.replace(b"\0", b""):
        hint = "Save it from your editor as plain SVG."
        raise DrawingError("entities", "its entities expand without bound.", hint, file=file)
    try:
        return etree.fromstring(text, _parser(huge=True))
    except etree.XMLSyntaxError as error:
        if getattr(error, "code", 0) == _RESOURCE_LIMIT or "depth" in str(error).lower():
            raise _too_deep(file) from None
        raise _syntax_error(error, text, file) from None


def _parser(*, huge: bool) -> etree.XMLParser:
    return etree.XMLParser(
        # Editors declare namespaces as entities inside the file; those are harmless. Others stay unread.
        resolve_entities="internal",  # type: ignore[arg-type]  # newer than the stubs
        no_network=True,
        load_dtd=False,
        dtd_validation=False,
        attribute_defaults=False,
        huge_tree=huge,
    )


def _syntax_error(error: etree.XMLSyntaxError, text: bytes, file: str) -> DrawingError:
    reason = re.sub(r"\s+", " ", error.msg or "it can't be parsed").strip().rstrip(".")
    if "Entity" in reason and re.search(rb"<!ENTITY\s+%?\s*\S+\s+(SYSTEM|PUBLIC)", text):
        return DrawingError(
            "entities",
            f"it refers to something outside the file, which is never fetched ({reason}).",
            "Save it from your editor as plain SVG.",
            file=file,
        )
    hint = "Save the drawing as plain SVG."
    return DrawingError("not-xml", f"is not an SVG drawing: {reason}.", hint, file=file)


def _too_deep(file: str) -> DrawingError:
    hint = "Ungroup some of it in your editor."
    return DrawingError("too-deep", f"groups are nested more than {MAX_DEPTH} deep.", hint, file=file)


def _check_depth(root: etree._Element, file: str) -> None:
    depth = 0
    for event, _ in etree.iterwalk(root, events=("start", "end")):
        depth += 1 if event == "start" else -1
        if depth > MAX_DEPTH:
            raise _too_deep(file)


def _is_stylesheet_link(node: etree._Element) -> bool:
    return getattr(node, "target", "") == "xml-stylesheet"


def _check_root(root: etree._Element, file: str) -> None:
    if root.tag == "svg":
        # A hand-written drawing that forgot the namespace; nothing else in it can be meant.
        for element in root.iter():
            if not str(element.tag).startswith("{"):
                element.tag = SVG + str(element.tag)
    elif root.tag != SVG + "svg":
        name = etree.QName(root).localname
        hint = "Save the drawing as plain SVG."
        raise DrawingError("not-svg", f"is not an SVG drawing; its outermost element is '{name}'.", hint, file=file)
