"""A sheet as the SVG that goes to the machine.

Enters: a `Sheet`, the panel and the job's role colours. Leaves: the file's text. Holds: 1 unit is 1 mm; four
groups in burning order, each with its role; one closed path a contour, of lines and smooth curves.
"""

from collections.abc import Iterable
from html import escape

from layercut.geometry.path_text import curve_paths, curves_path, number
from layercut.job import Job
from layercut.model import Panel, Sheet

LINE_WIDTH_MM = 0.1
"""Width of the lines in the file, mm: for the eye only, the machine follows their centre."""


def write_sheets(sheets: Iterable[Sheet], panel: Panel, job: Job) -> dict[str, str]:
    """The SVG text of each sheet by its file."""
    return {sheet.file: write_sheet(sheet, panel, job) for sheet in sheets}


def write_sheet(sheet: Sheet, panel: Panel, job: Job) -> str:
    """The SVG text of one sheet (SVG 1.1 elements only; the roles are `data-` attributes as HTML has them)."""
    width, height = number(panel.width_mm), number(panel.height_mm)
    roles, curves = job.roles, sheet.curves
    filled = f'fill="{roles.mark_area}" stroke="none" fill-rule="evenodd"'
    groups = [
        _group("mark-area", filled, map(curves_path, curves.mark_areas)),
        _group("mark-line", _stroke(roles.mark_line), curve_paths(curves.mark_lines)),
        _group("cut-opening", _stroke(roles.cut_opening), curve_paths(curves.openings[: sheet.inner_count])),
        _group("cut-outline", _stroke(roles.cut_outline), curve_paths(sheet.rim_curves)),
    ]
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm" '
        f'viewBox="0 0 {width} {height}" overflow="visible">\n'
        f"<title>{escape(_printable(sheet.name))}</title>\n" + "\n".join(groups) + "\n</svg>\n"
    )


def _group(role: str, paint: str, paths: Iterable[str]) -> str:
    lines = "".join(f'\n<path d="{path}"/>' for path in paths)
    return f'<g data-role="{role}" {paint}>{lines}\n</g>'


def _stroke(colour: str) -> str:
    return f'fill="none" stroke="{colour}" stroke-width="{number(LINE_WIDTH_MM)}"'


def _printable(text: str) -> str:
    """The characters that XML 1.0 allows."""
    return "".join(c for c in text if c.isprintable())
