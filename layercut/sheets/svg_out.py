"""A sheet as the SVG that goes to the machine.

Enters: a `Sheet`, the panel and the job's role colours. Leaves: the file's text. Holds: 1 unit is 1 mm; four
groups in burning order, each with its role; one closed path a contour, of lines and smooth curves.
"""

from collections.abc import Iterable, Sequence
from html import escape

from layercut.geometry.curves import Path
from layercut.geometry.precision import OUTPUT_DECIMALS
from layercut.job import Job
from layercut.model import Panel, Sheet
from layercut.sheets.smoothing import SmoothSheet, smooth_sheets

STROKE_MM = 0.1
"""Width of the lines in the file, mm: for the eye only, the machine follows their centre."""


def write_sheet(sheet: Sheet, panel: Panel, job: Job) -> str:
    """The SVG text of one sheet."""
    return write_sheets([sheet], panel, job)[sheet.file]


def write_sheets(sheets: Sequence[Sheet], panel: Panel, job: Job) -> dict[str, str]:
    """The SVG text of each sheet by its file (SVG 1.1 elements only; the roles are `data-` attributes as HTML has
    them). All sheets at once are smoothed quicker than one by one."""
    return write_smooth(sheets, smooth_sheets(sheets, job), panel, job)


def write_smooth(sheets: Sequence[Sheet], smooth: Sequence[SmoothSheet], panel: Panel, job: Job) -> dict[str, str]:
    """The same, where the curves are known already."""
    return {sheet.file: _text(sheet.name, curves, panel, job) for sheet, curves in zip(sheets, smooth, strict=True)}


def _text(name: str, curves: SmoothSheet, panel: Panel, job: Job) -> str:
    width, height = number(panel.width_mm), number(panel.height_mm)
    roles = job.roles
    filled = f'fill="{roles.mark_area}" stroke="none" fill-rule="evenodd"'
    groups = [
        _group("mark-area", filled, curves.mark_areas),
        _group("mark-line", _stroke(roles.mark_line), ([line] for line in curves.mark_lines)),
        _group("cut-opening", _stroke(roles.cut_opening), ([ring] for ring in curves.openings)),
        _group("cut-outline", _stroke(roles.cut_outline), [[curves.outline]]),
    ]
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm" '
        f'viewBox="0 0 {width} {height}" overflow="visible">\n'
        f"<title>{escape(_printable(name))}</title>\n" + "\n".join(groups) + "\n</svg>\n"
    )


def number(value: float) -> str:
    """A coordinate in mm with the grid's digits and no trailing zeros."""
    text = f"{value:.{OUTPUT_DECIMALS}f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def _group(role: str, paint: str, paths: Iterable[Sequence[Path]]) -> str:
    lines = "".join(f'\n<path d="{"".join(map(_contour, path))}"/>' for path in paths)
    return f'<g data-role="{role}" {paint}>{lines}\n</g>'


def _stroke(colour: str) -> str:
    return f'fill="none" stroke="{colour}" stroke-width="{number(STROKE_MM)}"'


def _contour(path: Path) -> str:
    """Path data of one subpath. The last line of a closed one is left to its Z."""
    rows = path.segments.reshape(-1, 8).tolist()
    straight = path.straight.tolist()
    closed = path.closed[0]
    if closed and straight[-1] and len(rows) > 1:
        rows.pop()
    words = [f"M{number(rows[0][0])} {number(rows[0][1])}"]
    for row, line in zip(rows, straight, strict=False):
        if line:
            words.append(f"L{number(row[6])} {number(row[7])}")
        else:
            words.append("C" + " ".join(map(number, row[2:])))
    return "".join(words) + ("Z" if closed else "")


def _printable(text: str) -> str:
    """The characters that XML 1.0 allows."""
    return "".join(c for c in text if c.isprintable())
