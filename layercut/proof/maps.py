"""Read a paint map back: what its sheet should show, and what should be marked on it.

Enters: a file's text. Leaves: a `ReadPaint`. Numbers, hatching and legend are for the painter's eye; they say nothing
here, and no machine follows a map.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from lxml import etree
from shapely import LinearRing
from shapely.geometry.base import BaseGeometry

from layercut.proof.document import NUMBER, SVG, check_element, check_title, children, open_document, refuse
from layercut.proof.looks import rgb
from layercut.proof.paths import Contour
from layercut.proof.plan import PlannedMarks
from layercut.proof.reader import read_contours
from layercut.proof.regions import EMPTY, area_of, even_odd, lines_of

_ROOT = {"width", "height", "viewBox", "data-tolerance-mm", "data-legend-mm"}
_PAINT = {"data-paint", "data-blend", "data-part", "fill", "fill-rule", "stroke", "stroke-width", "d"}
_GUEST = {"data-behind", "data-marked", "fill", "fill-rule", "stroke", "stroke-width", "stroke-dasharray", "d"}
_MARKS = {"data-part", "fill", "fill-opacity", "fill-rule", "stroke", "stroke-width"}


@dataclass(frozen=True, slots=True)
class ReadPaint:
    """What a paint map says: size (without its legend) and curve tolerance in mm, what its sheet shows, the frame's
    ring, the sheet's marks, what of the sheet is painted, in which colours, and the pieces of sheets in front that
    are painted on it: name, region, whether marked."""

    width_mm: float
    height_mm: float
    tolerance_mm: float
    shown: BaseGeometry
    frame: BaseGeometry
    marks: PlannedMarks
    painted: BaseGeometry = EMPTY
    paints: frozenset[str] = frozenset()
    guests: tuple[tuple[str, BaseGeometry, bool], ...] = ()


def read_paint(text: str, file: str) -> ReadPaint:
    """Parse one paint map. Raises DrawingError when the file isn't one of the contract."""
    root, width, height = open_document(text, file, _ROOT)
    tolerance, legend = root.get("data-tolerance-mm", ""), root.get("data-legend-mm", "0")
    if NUMBER.fullmatch(tolerance) is None:
        refuse("doesn't say its tolerance", file)
    if NUMBER.fullmatch(legend) is None or float(legend) >= height:
        refuse("doesn't say how high its legend is", file)
    shown: list[BaseGeometry] = []
    painted: list[BaseGeometry] = []
    paints: set[str] = set()
    guests: list[tuple[str, BaseGeometry, bool]] = []
    frame: BaseGeometry = EMPTY
    marks = PlannedMarks()
    blends = frozenset(f"url(#{child.get('id')})" for child in root.iterfind(f"{SVG}defs/*"))
    for child in children(root, file):
        part = child.get("data-part")
        if child.tag == f"{SVG}title":
            check_title(child, file)
        elif child.tag == f"{SVG}g" and part == "marks":
            marks = _read_marks(child, file)
        elif child.get("data-behind") is not None:
            guests.append(_read_guest(child, file))
        elif child.tag != f"{SVG}defs" and (child.tag != f"{SVG}g" or part != "notes"):
            region = _read_region(child, blends, file)
            if part == "frame":
                frame = region
            else:
                shown.append(region)
                if (paint := child.get("data-paint", "bare")) != "bare":
                    painted.append(region)
                    paints.add(paint)
    height = round(height - float(legend), 3)
    seen, coloured = (shapely.union_all(np.array(parts, dtype=object)) for parts in (shown, painted))
    tolerance_mm = float(tolerance)
    return ReadPaint(width, height, tolerance_mm, seen, frame, marks, coloured, frozenset(paints), tuple(guests))


def _read_guest(path: etree._Element, file: str) -> tuple[str, BaseGeometry, bool]:
    """A piece of a sheet in front that is painted on this one: its name, where it shows, whether it is marked."""
    name = path.get("data-behind", "")
    check_element(path, "path", _GUEST, file, "the map")
    (contours,) = read_contours([path], name or "a piece that is painted behind", file)
    return name, even_odd([LinearRing(contour.points) for contour in contours]), path.get("data-marked") == "true"


def _read_region(path: etree._Element, blends: frozenset[str], file: str) -> BaseGeometry:
    """The region of a paint, of bare wood or of the frame; `blends` are the gradients that the map itself holds."""
    check_element(path, "path", _PAINT, file, "the map")
    paint, fill = path.get("data-paint"), path.get("fill", "")
    if paint is None and path.get("data-part") != "frame":
        refuse("has a path that is neither paint nor frame", file)
    flat = paint not in (None, "bare") and fill not in blends
    if paint is not None and flat and (rgb(paint) is None or rgb(paint) != rgb(fill)):
        refuse(f"shows paint {paint} in {fill or 'black'}", file)
    (contours,) = read_contours([path], paint or "the frame", file)
    return even_odd([LinearRing(contour.points) for contour in contours])


def _read_marks(group: etree._Element, file: str) -> PlannedMarks:
    """The marks of the sheet: each area a path, all lines together in one."""
    check_element(group, "g", _MARKS, file, "the marks")
    paths = [*children(group, file)]
    for path in paths:
        check_element(path, "path", {"data-role", "fill", "d"}, file, "the marks")
    areas = read_contours([path for path in paths if path.get("data-role") == "mark-area"], "the marks", file)
    lines = [path for path in paths if path.get("data-role") == "mark-line"]
    if len(areas) + len(lines) != len(paths):
        refuse("has a mark that is neither area nor line", file)
    read = read_contours(lines, "the marks", file, "mark-line")
    return PlannedMarks(_areas(areas), lines_of([contour.points for path in read for contour in path]))


def _areas(paths: Sequence[Sequence[Contour]]) -> tuple[BaseGeometry, ...]:
    return tuple(area_of([contour.points for contour in contours]) for contours in paths)
