"""The panel: the outline, the frame ring and the pin holes that every sheet shares.

Enters: the drawing's size and the job. Leaves: a `Panel`. Holds: the frame is one piece, wider than a neck.
"""

import math

import shapely
from shapely import LineString, Point, Polygon

from layercut.errors import JobError
from layercut.geometry.offsets import quarter_segments, rounded_box
from layercut.job import Job
from layercut.job_tables import PanelJob
from layercut.model import Panel
from layercut.units import said_apart, said_mm, said_number, said_size, said_unit

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
            f"a frame of {said_mm(frame, 'g')} leaves nothing of a panel of {said_size(width_mm, height_mm, 'g')}.",
            "Make 'panel.frame' narrower.",
        )
    if frame < max(neck, 0.1):
        wide, least = said_apart(frame, "g", neck)
        raise JobError(
            "panel-frame",
            f"a frame of {wide} is narrower than the neck limit of {least}, so it can't hold a sheet.",
            "Make 'panel.frame' wider.",
        )
    if corner > shorter / 2 + 1e-6:
        raise JobError(
            "panel-corner",
            f"a corner radius of {said_mm(corner, 'g')} is more than half of the panel's shorter side, "
            f"{said_mm(shorter, 'g')}.",
            f"Set 'panel.corner' to {said_mm(shorter / 2, 'g')} or less.",
        )
    # Beside a pin the frame must be as wide as any wood that carries something.
    wall = max(PIN_WALL_MM, neck)
    if job.panel.pins and job.panel.pin_diameter + 2 * wall > frame:
        raise JobError(
            "panel-pins",
            f"pins of {said_mm(job.panel.pin_diameter, 'g')} leave less than {said_mm(wall, 'g')} beside them in a "
            f"{said_mm(frame, 'g')} frame.",
            "Make the frame wider or the pins thinner.",
        )
    bed = (job.machine.bed_width or math.inf, job.machine.bed_height or math.inf)
    if max(width_mm, height_mm) > max(bed) or shorter > min(bed):
        raise JobError(
            "panel-bed",
            f"a panel of {said_size(width_mm, height_mm, 'g')} doesn't fit a bed of {_said_bed(*bed)}.",
            "Make the panel smaller with 'panel.width' and 'panel.height'.",
        )


def _said_bed(wide_mm: float, high_mm: float) -> str:
    """A bed's size, of which one side may not be given: `300 x any mm`."""
    if math.isfinite(wide_mm) and math.isfinite(high_mm):
        return said_size(wide_mm, high_mm, "g")
    if math.isfinite(wide_mm):
        return f"{said_number(wide_mm, 'g')} x any {said_unit()}"
    return f"any x {said_mm(high_mm, 'g')}"


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
