"""A sheet as the SVG that goes to the machine.

Enters: a `Sheet`, the panel and the job's role colours. Leaves: the file's text. Holds: 1 unit is 1 mm; four
groups in burning order, each with its role; one closed path a contour, of lines and smooth curves.
"""

from collections.abc import Iterable, Sequence
from html import escape

from layercut.geometry.curves import Path
from layercut.geometry.path_text import curve_paths, curves_path, number
from layercut.job import Job
from layercut.job_tables import RolesJob
from layercut.model import Panel, Sheet

LINE_WIDTH_MM = 0.1
"""Width of the lines in the file, mm: for the eye only, the machine follows their centre."""


def write_sheets(sheets: Iterable[Sheet], panel: Panel, job: Job) -> dict[str, str]:
    """The SVG text of each sheet by its file."""
    return {sheet.file: write_sheet(sheet, panel, job) for sheet in sheets}


def write_sheet(sheet: Sheet, panel: Panel, job: Job) -> str:
    """The SVG text of one sheet (SVG 1.1 elements only; the roles are `data-` attributes as HTML has them)."""
    curves, size = sheet.curves, (panel.width_mm, panel.height_mm)
    openings = curves.openings[: sheet.inner_count]
    return write_cuts(sheet.name, size, curves.mark_areas, curves.mark_lines, openings, sheet.rim_curves, job.roles)


def write_cuts(  # noqa: PLR0917 - the four roles in burning order
    name: str,
    size_mm: tuple[float, float],
    mark_areas: Sequence[Sequence[Path]],
    mark_lines: Sequence[Path],
    openings: Sequence[Path],
    outlines: Sequence[Path],
    roles: RolesJob,
) -> str:
    """The SVG text of a page of this size, with what is burnt in burning order."""
    width, height = map(number, size_mm)
    filled = f'fill="{roles.mark_area}" stroke="none" fill-rule="evenodd"'
    groups = [
        _group("mark-area", filled, map(curves_path, mark_areas)),
        _group("mark-line", _stroke(roles.mark_line), curve_paths(mark_lines)),
        _group("cut-opening", _stroke(roles.cut_opening), curve_paths(openings)),
        _group("cut-outline", _stroke(roles.cut_outline), curve_paths(outlines)),
    ]
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm" '
        f'viewBox="0 0 {width} {height}" overflow="visible">\n'
        f"<title>{escape(_printable(name))}</title>\n" + "\n".join(groups) + "\n</svg>\n"
    )


def _group(role: str, paint: str, paths: Iterable[str]) -> str:
    lines = "".join(f'\n<path d="{path}"/>' for path in paths)
    return f'<g data-role="{role}" {paint}>{lines}\n</g>'


def _stroke(colour: str) -> str:
    return f'fill="none" stroke="{colour}" stroke-width="{number(LINE_WIDTH_MM)}"'


def _printable(text: str) -> str:
    """The characters that XML 1.0 allows."""
    return "".join(c for c in text if c.isprintable())
