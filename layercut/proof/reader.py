"""Read a written sheet back, knowing only the outside contract.

Enters: a sheet file's text. Leaves: a `ReadSheet`, its contours by role in burning order. Shares nothing with the
writer: an error there can't hide here.
"""

import re
from dataclasses import dataclass

import numpy as np
from lxml import etree
from numpy.typing import NDArray

from layercut.errors import DrawingError

Points = NDArray[np.float64]

ROLES = ("mark-area", "mark-line", "cut-opening", "cut-outline")

_TOKEN = re.compile(r"([A-Za-z])|([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)")


@dataclass(frozen=True, slots=True)
class ReadSheet:
    """What a sheet file says: size in mm, and for each role its paths in burning order, each a list of contours."""

    width_mm: float
    height_mm: float
    paths: dict[str, tuple[tuple[Points, ...], ...]]
    roles_in_order: tuple[str, ...]


def read_sheet(text: str, file: str) -> ReadSheet:
    """Parse one written sheet.

    Raises DrawingError when the file isn't a sheet of the contract: unreadable, another unit, a path that isn't
    plain absolute moves and lines.
    """
    parser = etree.XMLParser(resolve_entities=False, no_network=True, load_dtd=False)
    try:
        root = etree.fromstring(text.encode(), parser)
    except etree.XMLSyntaxError as error:
        raise DrawingError("sheet-unreadable", f"is not a sheet: {error.msg}.", file=file) from None
    width, height = (_millimetres(root.get(name, ""), file) for name in ("width", "height"))
    box = [float(part) for part in root.get("viewBox", "").split()]
    if box != [0.0, 0.0, width, height]:
        raise DrawingError("sheet-unreadable", "has a viewBox that isn't its size in mm.", file=file)
    groups = [child for child in root if child.get("data-role") is not None]
    paths = {
        group.get("data-role", ""): tuple(_contours(path.get("d", ""), file) for path in group) for group in groups
    }
    return ReadSheet(width, height, paths, tuple(group.get("data-role", "") for group in groups))


def _millimetres(text: str, file: str) -> float:
    match = re.fullmatch(r"([0-9.]+)mm", text)
    if match is None:
        raise DrawingError("sheet-unreadable", "doesn't say its size in mm.", file=file)
    return float(match[1])


def _contours(data: str, file: str) -> tuple[Points, ...]:
    """The contours of a path of absolute M, L and Z; a closed one ends where it began."""
    contours: list[Points] = []
    numbers: list[float] = []
    for letter, value in _TOKEN.findall(data):
        if value:
            numbers.append(float(value))
        elif letter == "M" and numbers:
            contours.append(np.array(numbers).reshape(-1, 2))
            numbers = []
        elif letter == "Z" and len(numbers) >= 2:
            contours.append(np.array(numbers + numbers[:2]).reshape(-1, 2))
            numbers = []
        elif letter not in "MLZ":
            raise DrawingError("sheet-unreadable", f"has a path command '{letter}'.", file=file)
    if len(numbers) >= 2:
        contours.append(np.array(numbers).reshape(-1, 2))
    return tuple(contours)
