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
from layercut.job import Job
from layercut.job_tables import MOST_SPACERS, HangingJob, MaterialJob
from layercut.model import Panel, Sheet, spacer_woods
from layercut.planning.hangers import place_hangers, wire_pull_n
from layercut.planning.wood_density import density_of
from layercut.units import said_mm
from layercut.workplan import Hanging

GRAVITY = 9.80665
"""Standard gravity, m/s2 (third General Conference on Weights and Measures, 1901)."""


def spacer_width_mm(panel: Panel, job: HangingJob) -> float:
    """How wide a spacer's frame is: as the panel's frame, or wider for the hanger's plate with wood on both sides."""
    return max(panel.frame_mm, job.plate + 2 * job.plate_edge)


def spacer_wood(panel: Panel, job: Job) -> Region:
    """The wood of one spacer: the panel without its middle and its pin holes; without a hole where none would be
    left."""
    ring = spacer_ring(panel, job)
    return Polygon(ring.exterior, [*(pin.exterior for pin in panel.pins), *ring.interiors])


def spacer_ring(panel: Panel, job: Job) -> Polygon:
    """The same without pin holes."""
    width = spacer_width_mm(panel, job.hanging)
    x0, y0, x1, y1 = panel.outline.bounds
    holes = []
    if min(x1 - x0, y1 - y0) > 2 * width + job.limits.neck:
        corner = max(job.panel.corner - width, 0.0)
        holes.append(rounded_box(x0 + width, y0 + width, x1 - width, y1 - width, corner).exterior)
    return Polygon(panel.outline.exterior, holes)


def count_spacers(panel: Panel, layers: int, hanging: HangingJob, thickness_mm: float) -> int:
    """The spacer frames: as many as the job says, else the fewest with which no screw comes through:
    k t + b t >= screw + guard.

    t is the thickness of a sheet, b the number of sheets that surely have wood where the screw goes
    (`sheets_behind`). 0 where the job gives neither screw nor spacers. Raises JobError for a screw that needs more
    than 20, or that would come through the spacers that the job gives.
    """
    if hanging.spacers is not None:
        _check_screw(panel, layers, hanging, thickness_mm)
        return hanging.spacers
    if hanging.screw is None:
        return 0
    count = _least_spacers(panel, layers, hanging, hanging.screw, thickness_mm)
    if count > MOST_SPACERS:
        raise JobError(
            "hanging-screw",
            f"a screw of {said_mm(hanging.screw, 'g')} needs {count} spacer frames of {said_mm(thickness_mm, 'g')}.",
            "Choose a shorter screw with 'hanging.screw'.",
        )
    return count


def longest_screw_mm(panel: Panel, layers: int, spacers: int, hanging: HangingJob, thickness_mm: float) -> float:
    """The longest screw that stays the guard inside: (k + b) t - guard, as in `count_spacers`; 0 where none does."""
    depth = (spacers + sheets_behind(panel, layers, hanging)) * thickness_mm
    return max(depth - hanging.guard, 0.0)


def _least_spacers(panel: Panel, layers: int, hanging: HangingJob, screw_mm: float, thickness_mm: float) -> int:
    missing = screw_mm + hanging.guard - sheets_behind(panel, layers, hanging) * thickness_mm
    return max(0, math.ceil(round(missing / thickness_mm, 9)))


def _check_screw(panel: Panel, layers: int, hanging: HangingJob, thickness_mm: float) -> None:
    """Raise JobError for a screw that the job's own spacers don't keep in."""
    if hanging.screw is None or hanging.spacers is None:
        return
    need = _least_spacers(panel, layers, hanging, hanging.screw, thickness_mm)
    if need <= hanging.spacers:
        return
    frames = "1 spacer frame" if hanging.spacers == 1 else f"{hanging.spacers} spacer frames"
    longest = longest_screw_mm(panel, layers, hanging.spacers, hanging, thickness_mm)
    shorter = f"Choose a screw of {said_mm(longest)} at most" if longest else "No screw is short enough"
    more = f"set 'hanging.spacers' to {need} or more" if need <= MOST_SPACERS else "choose a shorter screw"
    raise JobError(
        "hanging-screw",
        f"a screw of {said_mm(hanging.screw)} comes too near the front: {frames} and the wood that is sure to be "
        f"there keep {said_mm(hanging.guard)} before its point only up to {said_mm(longest)}.",
        f"{shorter}, or {more}.",
    )


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

    Mass is area times thickness times density, and the weight m g (area, thickness: the sheets as planned).
    """
    thickness, density = material.thickness, density_of(material)
    layers = [sheet.wood for sheet in sheets if sheet.kind == "layer"]
    spacers = spacer_woods(sheets)
    behind_first = [*reversed(spacers), *layers]  # as they hang, from the wall
    areas = [float(wood.area) for wood in behind_first]
    grams = [area * thickness * density.kg_m3 * 1e-6 for area in areas]  # mm3 and kg/m3 give 1e-6 g
    centres = [shapely.centroid(wood) for wood in behind_first]
    mass = sum(grams)
    depths = [(place + 0.5) * thickness for place in range(len(behind_first))]

    def mean(values: Sequence[float]) -> float:
        return sum(g * value for g, value in zip(grams, values, strict=True)) / mass if mass else 0.0

    weight = (mass + hanging.extra) / 1000 * GRAVITY
    width, centre = spacer_width_mm(panel, hanging), (mean([c.x for c in centres]), mean([c.y for c in centres]))
    behind = sheets_behind(panel, len(layers), hanging)
    # The back sheet has no openings; where only it is counted on, a ring may be anywhere on it.
    hangers = place_hangers(panel, width, centre, hanging, whole=not spacers and behind <= 1)
    return Hanging(
        spacers=len(spacers),
        spacer_width_mm=width,
        screw_mm=hanging.screw,
        longest_mm=longest_screw_mm(panel, len(layers), len(spacers), hanging, thickness),
        guard_mm=hanging.guard,
        behind=behind,
        depth_of_stack_mm=len(behind_first) * thickness,
        density_kg_m3=density.kg_m3,
        density_source=density.source,
        mass_g=mass,
        extra_g=hanging.extra,
        weight_n=weight,
        centre_mm=centre,
        depth_mm=mean(depths),
        wire_angle_deg=hanging.wire_angle,
        tension_n=wire_pull_n(weight, hangers, hanging.wire_angle),
        safety=hanging.safety,
        hangers=hangers,
    )
