"""Read a written sheet or paint map back, knowing only the outside contract.

Enters: a file's text. Leaves: a `ReadSheet`, its contours by role in burning order, or a `ReadPaint`. Shares nothing
with the writers: an error there can't hide here. What the contract doesn't name is refused, since a machine would
follow what a lenient reader overlooks.
"""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from lxml import etree
from shapely import LinearRing
from shapely.geometry.base import BaseGeometry

from layercut.errors import DrawingError
from layercut.proof.paths import Contour, Points, read_paths
from layercut.proof.regions import EMPTY, even_odd

ROLES = ("mark-area", "mark-line", "cut-opening", "cut-outline")

_SVG = "{http://www.w3.org/2000/svg}"
_ROOT = {"width", "height", "viewBox", "overflow"}
_GROUP = {"data-role", "fill", "stroke", "stroke-width", "fill-rule"}
_PAINT = {"data-paint", "data-blend", "data-part", "fill", "fill-rule", "stroke", "stroke-width", "d"}
_GUEST = {"data-behind", "data-marked", "fill", "fill-rule", "stroke", "stroke-width", "stroke-dasharray", "d"}
_SIZE = re.compile(r"(\d+(?:\.\d+)?)mm")
_NUMBER = re.compile(r"\d+(?:\.\d+)?")


@dataclass(frozen=True, slots=True)
class ReadSheet:
    """What a sheet file says: size in mm, and for each role its paths in burning order, each a list of contours."""

    width_mm: float
    height_mm: float
    paths: Mapping[str, tuple[tuple[Points, ...], ...]]
    roles_in_order: tuple[str, ...]

    def contours(self, *roles: str) -> tuple[Points, ...]:
        """All contours of some roles, in burning order."""
        return tuple(contour for role in roles for path in self.paths.get(role, ()) for contour in path)


@dataclass(frozen=True, slots=True)
class ReadPaint:
    """What a paint map says: size (without its legend) and curve tolerance in mm, what its sheet shows, what of
    that is painted, the frame's ring, and the pieces of sheets in front that are painted on it: name, region, whether
    marked.
    """

    width_mm: float
    height_mm: float
    tolerance_mm: float
    shown: BaseGeometry
    frame: BaseGeometry
    painted: BaseGeometry = EMPTY
    guests: tuple[tuple[str, BaseGeometry, bool], ...] = ()


def read_sheet(text: str, file: str) -> ReadSheet:
    """Parse one written sheet.

    Raises DrawingError when the file isn't a sheet of the contract: unreadable, another unit, an element or an
    attribute that would change what is cut, a role that is missing or twice, a contour that isn't closed.
    """
    root, width, height = _open(text, file, _ROOT)
    groups = [child for child in _children(root, file) if child.tag != f"{_SVG}title"]
    for group in groups:
        _check_element(group, "g", _GROUP, file)
    roles = tuple(group.get("data-role", "") for group in groups)
    if sorted(roles) != sorted(ROLES):
        raise _refused(
            f"has the roles {', '.join(roles) or 'none'} where it needs {', '.join(ROLES)}, each once", file
        )
    colours = [colour for group in groups if (colour := _colour(group)) is not None]
    if len(set(colours)) < len(colours):
        raise _refused("has two roles in one colour, which a machine can't tell apart", file)
    paths = {role: _sheet_paths(group, role, file) for role, group in zip(roles, groups, strict=True)}
    return ReadSheet(width, height, paths, roles)


def read_paint(text: str, file: str) -> ReadPaint:
    """Parse one paint map. Raises DrawingError when the file isn't one of the contract."""
    root, width, height = _open(text, file, _ROOT | {"data-tolerance-mm", "data-legend-mm"})
    tolerance, legend = root.get("data-tolerance-mm", ""), root.get("data-legend-mm", "0")
    if _NUMBER.fullmatch(tolerance) is None:
        raise _refused("doesn't say its tolerance", file)
    if _NUMBER.fullmatch(legend) is None or float(legend) >= height:
        raise _refused("doesn't say how high its legend is", file)
    shown: list[BaseGeometry] = []
    painted: list[BaseGeometry] = []
    guests: list[tuple[str, BaseGeometry, bool]] = []
    frame: BaseGeometry = EMPTY
    for path in _children(root, file):
        # Numbers, hatching and legend are for the painter's eye; no machine follows a map, and they say nothing here.
        if path.tag == f"{_SVG}title" or (path.tag == f"{_SVG}g" and path.get("data-part") == "notes"):
            continue
        guest = path.get("data-behind")
        _check_element(path, "path", _PAINT if guest is None else _GUEST, file)
        (contours,) = _closed([path], file)
        region = even_odd([LinearRing(contour.points) for contour in contours])
        if guest is not None:
            guests.append((guest, region, path.get("data-marked") == "true"))
        elif path.get("data-part") == "frame":
            frame = region
        elif path.get("data-paint") is not None:
            shown.append(region)
            painted += [region] if path.get("data-paint") != "bare" else []
        else:
            raise _refused("has a path that is neither paint nor frame", file)
    height = round(height - float(legend), 3)
    whole, coloured = (shapely.union_all(np.array(parts, dtype=object)) for parts in (shown, painted))
    return ReadPaint(width, height, float(tolerance), whole, frame, coloured, tuple(guests))


def _open(text: str, file: str, known: set[str]) -> tuple[etree._Element, float, float]:
    """The root of an SVG document with its size, mm."""
    parser = etree.XMLParser(resolve_entities=False, no_network=True, load_dtd=False)
    try:
        root = etree.fromstring(text.encode(), parser)
    except (etree.XMLSyntaxError, ValueError) as error:
        raise _refused(f"is not a sheet: {getattr(error, 'msg', error)}", file) from None
    if any(not isinstance(node, etree._Comment) for node in root.itersiblings(preceding=True)):
        raise _refused("has a processing instruction", file)
    _check_element(root, "svg", known, file)
    width, height = (_millimetres(root.get(name, ""), file) for name in ("width", "height"))
    box = root.get("viewBox", "").split()
    if not all(_NUMBER.fullmatch(part) for part in box) or [float(part) for part in box] != [0, 0, width, height]:
        raise _refused("has a viewBox that isn't its size in mm", file)
    return root, width, height


def _children(parent: etree._Element, file: str) -> Iterator[etree._Element]:
    for child in parent:
        if isinstance(child, etree._Comment):
            continue
        if not isinstance(child.tag, str):
            raise _refused("has an entity or a processing instruction", file)
        yield child


def _check_element(element: etree._Element, name: str, known: set[str], file: str) -> None:
    if element.tag != f"{_SVG}{name}":
        raise _refused(f"has <{etree.QName(element).localname}> where only <{name}> belongs", file)
    unknown = sorted(str(key) for key in element.attrib if key not in known)
    if unknown:
        raise _refused(f"has '{unknown[0]}' on <{name}>, which would change what is cut or shown", file)


def _colour(group: etree._Element) -> str | None:
    colour = group.get("fill" if group.get("data-role") == "mark-area" else "stroke")
    return colour.lower() if colour is not None else None


def _sheet_paths(group: etree._Element, role: str, file: str) -> tuple[tuple[Points, ...], ...]:
    paths = [*_children(group, file)]
    for path in paths:
        _check_element(path, "path", {"d"}, file)
    read = _contours(paths, file) if role == "mark-line" else _closed(paths, file)
    return tuple(tuple(contour.points for contour in contours) for contours in read)


def _closed(paths: Sequence[etree._Element], file: str) -> list[tuple[Contour, ...]]:
    read = _contours(paths, file)
    if not all(contour.closed and len(contour.points) >= 4 for contours in read for contour in contours):
        raise _refused("has a contour that isn't closed", file)
    return read


def _contours(paths: Sequence[etree._Element], file: str) -> list[tuple[Contour, ...]]:
    if any(len(path) for path in paths):
        raise _refused("has something inside a path", file)
    try:
        return read_paths([path.get("d", "") for path in paths])
    except ValueError as error:
        raise _refused(f"has {error}", file) from None


def _millimetres(text: str, file: str) -> float:
    match = _SIZE.fullmatch(text)
    if match is None:
        raise _refused("doesn't say its size in mm", file)
    return float(match[1])


def _refused(what: str, file: str) -> DrawingError:
    return DrawingError("sheet-unreadable", f"{what}.", file=file)
