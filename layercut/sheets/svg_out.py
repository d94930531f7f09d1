"""A sheet as the SVG that goes to the machine.

Enters: a `Sheet`, the panel and the job's role colours. Leaves: the file's text. Holds: 1 unit is 1 mm; four
groups in burning order, each with its role; one closed path a contour.
"""

from xml.sax.saxutils import escape, quoteattr

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString, Polygon

from layercut.geometry.precision import OUTPUT_DECIMALS
from layercut.job import Job
from layercut.model import Panel, Sheet

STROKE_MM = 0.1
"""Width of the lines in the file, mm: for the eye only, the machine follows their centre."""


def write_sheet(sheet: Sheet, panel: Panel, job: Job) -> str:
    """The SVG text of a sheet (SVG 1.1 elements only; the roles are `data-` attributes as HTML has them)."""
    width, height = number(panel.width_mm), number(panel.height_mm)
    roles = job.roles
    groups = [
        _group(
            "mark-area", f'fill="{roles.mark_area}" stroke="none" fill-rule="evenodd"', map(_area, sheet.mark_areas)
        ),
        _group("mark-line", _stroke(roles.mark_line), map(_line, sheet.mark_lines)),
        _group("cut-opening", _stroke(roles.cut_opening), map(_ring, sheet.openings)),
        _group("cut-outline", _stroke(roles.cut_outline), [_ring(sheet.outline)]),
    ]
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm" '
        f'viewBox="0 0 {width} {height}" overflow="visible">\n'
        f"<title>{escape(_printable(sheet.name))}</title>\n" + "\n".join(groups) + "\n</svg>\n"
    )


def number(value: float) -> str:
    """A coordinate in mm with the grid's digits and no trailing zeros."""
    text = f"{value:.{OUTPUT_DECIMALS}f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def _group(role: str, paint: str, paths: object) -> str:
    lines = "".join(f"\n<path d={quoteattr(data)}/>" for data in paths)  # type: ignore[attr-defined]
    return f'<g data-role="{role}" {paint}>{lines}\n</g>'


def _stroke(colour: str) -> str:
    return f'fill="none" stroke="{colour}" stroke-width="{number(STROKE_MM)}"'


def _area(area: Polygon) -> str:
    return "".join(_ring(Polygon(ring)) for ring in (area.exterior, *area.interiors))


def _ring(ring: Polygon) -> str:
    return f"M{_points(shapely.get_coordinates(ring.exterior)[:-1])}Z"


def _line(line: LineString) -> str:
    points = shapely.get_coordinates(line)
    if len(points) > 2 and (points[0] == points[-1]).all():
        return f"M{_points(points[:-1])}Z"
    return f"M{_points(points)}"


def _points(points: NDArray[np.float64]) -> str:
    return "L".join(f"{number(x)} {number(y)}" for x, y in points.tolist())


def _printable(text: str) -> str:
    """The characters that XML 1.0 allows."""
    return "".join(c for c in text if c.isprintable())
