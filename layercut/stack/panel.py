"""The panel: the outline, the frame ring and the pin holes that every sheet shares.

Enters: the drawing's size and the job. Leaves: a `Panel`. Holds: the frame is one piece, wider than a neck.
"""

import math

import shapely
from shapely import LineString, Point, Polygon

from layercut.errors import JobError
from layercut.geometry.offsets import quarter_segments, rounded_box
from layercut.job import Job, PanelJob
from layercut.model import Panel

PIN_BEARINGS_DEG = (35.0, 145.0, 265.0)
"""Where the pins lie, seen from the panel's middle. The gaps, 110, 120 and 130 degrees, all differ and go round
in one sense only, so no turn and no flip about the middle maps the three holes onto themselves."""

PIN_WALL_MM = 1.0
"""Wood that must stay on both sides of a pin hole, mm (common practice)."""


def make_panel(width_mm: float, height_mm: float, job: Job) -> Panel:
    """The panel of a drawing of this size.

    Raises JobError when the frame, the corner, the pins or the machine's bed don't go with it.
    """
    frame, corner = job.panel.frame, job.panel.corner
    _check_sizes(width_mm, height_mm, job)
    outline = rounded_box(0, 0, width_mm, height_mm, corner)
    interior = rounded_box(frame, frame, width_mm - frame, height_mm - frame, max(corner - frame, 0.0))
    pins = _pin_holes(width_mm, height_mm, job.panel) if job.panel.pins else ()
    ring = Polygon(outline.exterior, [interior.exterior, *(pin.exterior for pin in pins)])
    blind = job.panel.pins == "blind"
    return Panel(width_mm, height_mm, frame, outline, interior, ring, pins, blind=blind)


def _check_sizes(width_mm: float, height_mm: float, job: Job) -> None:
    """Hold that the frame leaves a picture, bears what hangs on it and its pins, and that the panel fits the bed."""
    shorter = min(width_mm, height_mm)
    frame, corner, neck = job.panel.frame, job.panel.corner, job.limits.neck
    if 2 * frame >= shorter:
        raise JobError(
            "panel-frame",
            f"a frame of {frame:g} mm leaves nothing of a panel of {width_mm:g} x {height_mm:g} mm.",
            "Make 'panel.frame' narrower.",
        )
    if frame < max(neck, 0.1):
        raise JobError(
            "panel-frame",
            f"a frame of {frame:g} mm is narrower than the neck limit of {neck:g} mm, so it can't hold a sheet.",
            "Make 'panel.frame' wider.",
        )
    if corner > shorter / 2 + 1e-6:
        raise JobError(
            "panel-corner",
            f"a corner radius of {corner:g} mm is more than half of the panel's shorter side, {shorter:g} mm.",
            f"Set 'panel.corner' to {shorter / 2:g} mm or less.",
        )
    # Beside a pin the frame must be as wide as any wood that carries something.
    wall = max(PIN_WALL_MM, neck)
    if job.panel.pins and job.panel.pin_diameter + 2 * wall > frame:
        raise JobError(
            "panel-pins",
            f"pins of {job.panel.pin_diameter:g} mm leave less than {wall:g} mm beside them in a {frame:g} mm frame.",
            "Make the frame wider or the pins thinner.",
        )
    bed = (job.machine.bed_width or math.inf, job.machine.bed_height or math.inf)
    if max(width_mm, height_mm) > max(bed) or shorter > min(bed):
        raise JobError(
            "panel-bed",
            f"a panel of {width_mm:g} x {height_mm:g} mm doesn't fit a bed of {_side(bed[0])} x {_side(bed[1])} mm.",
            "Make the panel smaller with 'panel.width' and 'panel.height'.",
        )


def _side(length_mm: float) -> str:
    return f"{length_mm:g}" if math.isfinite(length_mm) else "any"


def _pin_holes(width_mm: float, height_mm: float, panel: PanelJob) -> tuple[Polygon, ...]:
    half = panel.frame / 2
    corner = max(panel.corner - half, 0.0)
    middle_line = rounded_box(half, half, width_mm - half, height_mm - half, corner).exterior
    middle = (width_mm / 2, height_mm / 2)
    reach = width_mm + height_mm
    holes = []
    for bearing in PIN_BEARINGS_DEG:
        angle = math.radians(bearing)
        ray = LineString([middle, (middle[0] + reach * math.cos(angle), middle[1] + reach * math.sin(angle))])
        spot: Point = shapely.centroid(shapely.intersection(middle_line, ray))
        radius = panel.pin_diameter / 2
        holes.append(shapely.buffer(spot, radius, quad_segs=quarter_segments(radius)))
    return tuple(holes)
