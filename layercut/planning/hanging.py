"""Spacers and hanging: how many frames keep the screws in, how heavy the picture is, and what must bear it.

Enters: the panel, what each sheet weighs in wood, and the job. Leaves: `Hanging`, and the wood of a spacer frame. The
figures are arithmetic: what holds in a wall, its owner knows.
"""

import math
from collections.abc import Sequence

import shapely
from shapely import Polygon

from layercut.errors import JobError
from layercut.geometry.offsets import rounded_box
from layercut.geometry.regions import Region
from layercut.job import HangingJob, Job, MaterialJob
from layercut.model import Panel, Sheet
from layercut.planning.wood_density import density_of
from layercut.units import said_mm
from layercut.workplan import Hanging

GRAVITY = 9.80665
"""Standard gravity, m/s2 (third General Conference on Weights and Measures, 1901)."""

MOST_SPACERS = 20
"""More frames than this is a wrong number in the job, not a picture."""


def spacer_width_mm(panel: Panel, job: HangingJob) -> float:
    """How wide a spacer's frame is: as the panel's frame, or wider for the hanger's plate with wood on both sides."""
    return max(panel.frame_mm, job.plate + 2 * job.plate_edge)


def spacer_wood(panel: Panel, job: Job) -> Region:
    """The wood of one spacer: the panel without its middle and its pin holes; without a hole where none would be
    left."""
    width = spacer_width_mm(panel, job.hanging)
    x0, y0, x1, y1 = panel.outline.bounds
    holes = [pin.exterior for pin in panel.pins]
    if min(x1 - x0, y1 - y0) > 2 * width + job.limits.neck:
        corner = max(job.panel.corner - width, 0.0)
        holes.append(rounded_box(x0 + width, y0 + width, x1 - width, y1 - width, corner).exterior)
    return Polygon(panel.outline.exterior, holes)


def count_spacers(panel: Panel, layers: int, hanging: HangingJob, thickness_mm: float) -> int:
    """The fewest spacer frames with which no screw comes through: k t + b t >= screw + guard.

    t is the thickness of a sheet, b the number of sheets that surely have wood where the screw goes
    (`sheets_behind`). 0 where the job doesn't give the screw. Raises JobError for a screw that needs more than 20.
    """
    if hanging.screw is None:
        return 0
    depth = hanging.screw + hanging.guard
    missing = depth - sheets_behind(panel, layers, hanging) * thickness_mm
    count = max(0, math.ceil(round(missing / thickness_mm, 9)))
    if count > MOST_SPACERS:
        raise JobError(
            "hanging-screw",
            f"a screw of {said_mm(hanging.screw, 'g')} needs {count} spacer frames of {said_mm(thickness_mm, 'g')}.",
            "Choose a shorter screw with 'hanging.screw'.",
        )
    return count


def sheets_behind(panel: Panel, layers: int, job: HangingJob) -> int:
    """In how many sheets a screw surely finds wood: all where the plate lies on the frame, else the back one alone.

    The plate sits in the middle of the spacer's frame, its screws anywhere on it. The back sheet has no openings;
    those in front may have some anywhere but in the frame.
    """
    inner_edge = (spacer_width_mm(panel, job) + job.plate) / 2
    return layers if inner_edge <= panel.frame_mm + 1e-9 else min(layers, 1)


def plan_hanging(panel: Panel, sheets: Sequence[Sheet], hanging: HangingJob, material: MaterialJob) -> Hanging:
    """Weight, centre of gravity and loads of the whole stack, spacers included; `sheets` are back to front, then
    spacers.

    Mass is area times thickness times density, and the weight m g. With the wire at an angle a to the horizontal on
    both sides of one hook, each side bears T = W / (2 sin a) (equilibrium of the hook).
    """
    thickness, density = material.thickness, density_of(material)
    layers = [sheet for sheet in sheets if sheet.kind == "layer"]
    spacers = [sheet for sheet in sheets if sheet.kind == "spacer" for _ in range(sheet.copies)]
    behind_first = [*spacers, *layers]  # as they hang, from the wall
    areas = [float(sheet.wood.area) for sheet in behind_first]
    grams = [area * thickness * density.kg_m3 * 1e-6 for area in areas]  # mm3 and kg/m3 give 1e-6 g
    centres = [shapely.centroid(sheet.wood) for sheet in behind_first]
    mass = sum(grams)
    depths = [(place + 0.5) * thickness for place in range(len(behind_first))]

    def mean(values: Sequence[float]) -> float:
        return sum(g * value for g, value in zip(grams, values, strict=True)) / mass if mass else 0.0

    weight = (mass + hanging.extra) / 1000 * GRAVITY
    return Hanging(
        spacers=len(spacers),
        spacer_width_mm=spacer_width_mm(panel, hanging),
        screw_mm=hanging.screw,
        guard_mm=hanging.guard,
        behind=sheets_behind(panel, len(layers), hanging),
        depth_of_stack_mm=len(behind_first) * thickness,
        density_kg_m3=density.kg_m3,
        density_source=density.source,
        mass_g=mass,
        extra_g=hanging.extra,
        weight_n=weight,
        centre_mm=(mean([centre.x for centre in centres]), mean([centre.y for centre in centres])),
        depth_mm=mean(depths),
        wire_angle_deg=hanging.wire_angle,
        tension_n=wire_tension_n(weight, hanging.wire_angle),
        safety=hanging.safety,
    )


def wire_tension_n(weight_n: float, angle_deg: float) -> float:
    """Tension in each side of a wire over one hook, N, its angle taken from the horizontal: T = W / (2 sin a)."""
    return weight_n / (2 * math.sin(math.radians(angle_deg)))
