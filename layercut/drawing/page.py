"""The page: its size in mm, and viewports mapped into one another.

Enters: `width`, `height`, `viewBox`, `preserveAspectRatio` of an svg element (SVG 2, 8.2 and 8.6) and the job's
panel. Leaves: `Page`, whose map takes user units to mm on the panel.
"""

from dataclasses import dataclass

from lxml import etree

from layercut.drawing.transforms import compose
from layercut.drawing.units import MM_PER_PX, Viewport, parse_length, parse_numbers
from layercut.errors import DrawingError
from layercut.geometry.curves import Affine
from layercut.geometry.precision import MAX_COORDINATE_MM, MAX_PANEL_MM, OUTPUT_DECIMALS, PAGE_RATIO
from layercut.job import Job
from layercut.units import said_length, said_mm, said_run, said_size

ViewBox = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class Page:
    """Size of the panel, mm; the map from the drawing's user units to it; what percentages refer to.

    `px_map` takes CSS px of the page, before its viewBox, to mm.
    """

    width_mm: float
    height_mm: float
    to_panel: Affine
    px_map: Affine
    viewport: Viewport


def read_page(root: etree._Element, job: Job, file: str) -> Page:
    """The page of a drawing, scaled to the job's panel.

    Raises DrawingError `no-size` where the drawing has no size that can be known, `size` where it is absurd,
    and `panel-proportions` where the panel's proportions aren't the drawing's.
    """
    viewbox = parse_viewbox(root.get("viewBox"))
    width, height = _size(root, viewbox, file)
    # A millionth of a millimetre away from the binary fraction, 280mm is 280.0 again.
    width_mm, height_mm = round(width * MM_PER_PX, 6), round(height * MM_PER_PX, 6)
    if max(width_mm, height_mm) > MAX_COORDINATE_MM:
        message = f"the page is larger than {said_run(MAX_COORDINATE_MM, '100 m')}."
        raise DrawingError("size", message, "Correct its width and height.", file=file)
    if min(width_mm, height_mm) < 10**-OUTPUT_DECIMALS:
        least = said_length(10**-OUTPUT_DECIMALS, "a thousandth of a millimetre")
        message = f"the page is smaller than {least}."
        raise DrawingError("size", message, "Correct its width and height.", file=file)
    # To the last digit that is written to a sheet: a page of 500 px is 132.292 mm, there as here.
    panel_width, panel_height = (round(side, OUTPUT_DECIMALS) for side in _panel(width_mm, height_mm, job, file))
    if max(panel_width, panel_height) > MAX_PANEL_MM:
        size, most = said_size(panel_width, panel_height, ".6g"), said_mm(MAX_PANEL_MM, "g")
        message = f"makes a panel of {size}; the most is {most}."
        raise DrawingError("size", message, "Correct its size, or set panel.width.", file=file)
    # Within the allowed half a percent each axis is fitted by itself, so that the page fills the panel.
    fit: Affine = (panel_width / width_mm, 0.0, 0.0, panel_height / height_mm, 0.0, 0.0)
    px_map = compose(fit, (MM_PER_PX, 0.0, 0.0, MM_PER_PX, 0.0, 0.0))
    # Straight to mm, so that a page with as many units as millimetres maps by exactly one.
    inside = viewbox_map(viewbox, root.get("preserveAspectRatio"), width_mm, height_mm)
    viewport = Viewport(viewbox[2], viewbox[3]) if viewbox else Viewport(width, height)
    return Page(panel_width, panel_height, compose(fit, inside) if viewbox else px_map, px_map, viewport)


def _size(root: etree._Element, viewbox: ViewBox | None, file: str) -> tuple[float, float]:
    """Width and height in px. A percentage refers to a window that isn't there, so it counts as not given."""
    width, height = parse_length(root.get("width"), None), parse_length(root.get("height"), None)
    if viewbox is not None and min(viewbox[2:]) > 0:
        if width is None and height is None:
            width, height = viewbox[2], viewbox[3]
        elif width is None and height is not None:
            width = height * viewbox[2] / viewbox[3]
        elif height is None and width is not None:
            height = width * viewbox[3] / viewbox[2]
    if width is None or height is None or min(width, height) <= 0 or (viewbox and min(viewbox[2:]) <= 0):
        raise DrawingError(
            "no-size",
            "the drawing has no size.",
            'Give its svg element a width and a height, such as width="280mm" height="200mm".',
            file=file,
        )
    return width, height


def _panel(width_mm: float, height_mm: float, job: Job, file: str) -> tuple[float, float]:
    width, height = job.panel.width, job.panel.height
    if width is None:
        return (width_mm, height_mm) if height is None else (width_mm * height / height_mm, height)
    if height is None:
        return width, height_mm * width / width_mm
    if width and height and abs(width / height / (width_mm / height_mm) - 1) <= PAGE_RATIO:
        return width, height
    raise DrawingError(
        "panel-proportions",
        f"the drawing is {said_size(width_mm, height_mm, '.6g')}, and the job's panel of "
        f"{said_size(width, height, '.6g')} has other proportions.",
        "Give only panel.width or panel.height, or draw on a page of the panel's proportions.",
        file=file,
    )


def parse_viewbox(text: str | None) -> ViewBox | None:
    """The four numbers of a viewBox; None when there is none, or it is invalid and so doesn't count."""
    numbers = parse_numbers(text) if text else None
    if numbers is None or len(numbers) != 4 or min(numbers[2:]) < 0:
        return None
    return (numbers[0], numbers[1], numbers[2], numbers[3])


# Our own: svgelements 1.9.6 has this map as text of twelve decimals, which changes 303 of 369 drawings in their last
# digits, and reads words that are no alignment otherwise (docs/design.md, "Reading").
def viewbox_map(viewbox: ViewBox | None, aspect: str | None, width: float, height: float) -> Affine:
    """The map from a viewBox into a viewport at the origin: SVG 2 8.2, "Computing the equivalent transform".

    Without a viewBox, or with one without area, nothing changes.
    """
    if viewbox is None or min(viewbox[2:]) <= 0:
        return (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
    words = (aspect or "").split()
    align = words[0] if words else "xMidYMid"
    slices = len(words) > 1 and words[1] == "slice"
    x, y, vw, vh = viewbox
    sx, sy = width / vw, height / vh
    if align != "none":
        sx = sy = max(sx, sy) if slices else min(sx, sy)
    share_x = {"xMin": 0.0, "xMax": 1.0}.get(align[:4], 0.5) if align != "none" else 0.0
    share_y = {"YMin": 0.0, "YMax": 1.0}.get(align[4:8], 0.5) if align != "none" else 0.0
    tx = (width - vw * sx) * share_x - x * sx
    ty = (height - vh * sy) * share_y - y * sy
    return (sx, 0.0, 0.0, sy, tx, ty)
