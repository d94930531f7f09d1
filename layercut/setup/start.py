"""From a few measured numbers to the plan of a picture: how large the house is, at which scale, and where it stands.

Enters: real sizes, the panel and the frame. Leaves: `StartPlan`, from which the drawing and the job file are written.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from layercut.errors import JobError, told_in
from layercut.geometry.precision import MAX_PANEL_MM
from layercut.job import Job
from layercut.setup.measures import Measure
from layercut.setup.scale import Fit, Scale, choose_scale, filling_scale, propose_scales
from layercut.units import MILLIMETRES, Units, said_apart, said_mm, said_size

LAYERS = ("sky", "house", "front", "foreground")
"""The layers of a new drawing, from back to front."""

STOREYS = 2
STOREY_HEIGHT_MM = 9 * 304.8
"""Floor to floor: 9 ft, the lower end of what is common (9 to 10 ft)."""

FOUNDATION_MM = 18 * 25.4
"""From the ground to the first floor: 18 in, three steps up of 6 in (a riser is at most 7 3/4 in: IRC R311.7)."""

ROOF_SHARE = 0.25
"""Height of a roof over the width of the house: a gable across all of it that rises 6 in 12."""

GROUND_SHARE = 1 / 3
"""How much of the free height lies under the ground line; the rest is sky."""

MAX_STOREYS = 200
MAX_LAYERS = 40


@dataclass(frozen=True, slots=True)
class House:
    """The real sizes. `assumed` names those that nobody measured, with the rule that they come from."""

    width: Measure
    storeys: int
    storey_height: Measure
    foundation: Measure
    roof: Measure
    assumed: tuple[str, ...] = ()

    @property
    def walls(self) -> Measure:
        """From the ground to the eaves."""
        return _total(self.foundation, self.storey_height, self.storeys)

    @property
    def height(self) -> Measure:
        """From the ground to the ridge."""
        return _total(self.walls, self.roof, 1)


@dataclass(frozen=True, slots=True)
class StartPlan:
    """All that the drawing and the job file say; lengths on the panel in mm, from its top left corner.

    `left_mm` and `ground_mm` are where the house's left edge and the ground line lie. `units` are those in which its
    maker reads.
    """

    name: str
    house: House
    panel_mm: tuple[float, float]
    frame_mm: float
    fits: tuple[Fit, ...]
    fit: Fit
    filling: Scale
    layers: tuple[str, ...]
    left_mm: float
    ground_mm: float
    units: Units = MILLIMETRES

    def drawn_mm(self, real_mm: float) -> float:
        """How long a real length is on the panel, mm."""
        return self.fit.scale.drawn_mm(real_mm)


def describe_house(
    width: Measure,
    storeys: int | None = None,
    storey_height: Measure | None = None,
    foundation: Measure | None = None,
    roof: Measure | None = None,
) -> House:
    """The house, what nobody measured taken from common practice and named. Raises JobError `measure`."""
    assumed = []
    if storeys is None:
        storeys = STOREYS
        assumed.append(f"{STOREYS} storeys")
    if not 1 <= storeys <= MAX_STOREYS:
        raise JobError("measure", f"{storeys} storeys can't be drawn.", "Use 1 or more.", file="--storeys")
    if storey_height is None:
        storey_height = Measure(STOREY_HEIGHT_MM)
        assumed.append("storeys of 9 ft, floor to floor (9 to 10 ft is common)")
    if foundation is None:
        foundation = Measure(FOUNDATION_MM)
        assumed.append("a foundation of 18 in (three steps)")
    if roof is None:
        roof = Measure(width.mm * ROOF_SHARE, width.plus_minus_mm * ROOF_SHARE)
        assumed.append("a roof a quarter as high as the house is wide (a gable that rises 6 in 12)")
    return House(width, storeys, storey_height, foundation, roof, tuple(assumed))


def plan_start(
    name: str,
    house: House,
    panel_mm: tuple[float, float],
    *,
    frame_mm: float | None = None,
    margin_mm: float = 0.0,
    scale: Scale | None = None,
    layers: Sequence[str] = LAYERS,
    units: Units = MILLIMETRES,
) -> StartPlan:
    """Choose the scale (the largest usual one that fits inside frame and margin, unless `scale` says) and the place.

    Without `frame_mm`, the job file's default. `units` are those of what a person reads of it.
    Raises JobError `panel-frame`, `scale`, `start-layers`, told in these units.
    """
    job = Job.model_validate({})
    frame = job.panel.frame if frame_mm is None else frame_mm
    width, height = house.width, house.height
    with told_in(units):
        room = _room(panel_mm, frame, margin_mm, job.limits.neck)
        fit = choose_scale(width, height, room, scale)
    ground = frame + margin_mm + room[1] - max(fit.free_height_mm, 0.0) * GROUND_SHARE
    return StartPlan(
        name,
        house,
        panel_mm,
        frame,
        propose_scales(width, height, room),
        fit,
        filling_scale(width, height, room),
        _check_layers(layers),
        (panel_mm[0] - fit.width_mm) / 2,
        ground,
        units,
    )


def _total(first: Measure, second: Measure, times: int) -> Measure:
    """A sum whose parts may share the error of one scale bar, so that the errors add up instead of averaging out."""
    return Measure(first.mm + times * second.mm, first.plus_minus_mm + times * second.plus_minus_mm)


def _room(panel_mm: tuple[float, float], frame: float, margin: float, neck: float) -> tuple[float, float]:
    if max(panel_mm) > MAX_PANEL_MM:
        message = f"a panel of {said_size(*panel_mm, 'g')} is too large; the most is {said_mm(MAX_PANEL_MM, 'g')}."
        raise JobError("size", message, "Check the numbers.", file="--panel")
    width, height = (side - 2 * (frame + margin) for side in panel_mm)
    if frame < neck:
        wide, least = said_apart(frame, "g", neck)
        message = f"a frame of {wide} is narrower than the neck limit of {least}, so it can't hold a sheet."
        raise JobError("panel-frame", message, "Make it wider.", file="--frame")
    if not (min(width, height) > 0 and math.isfinite(width * height)):
        message = (
            f"a frame of {said_mm(frame, 'g')} and a margin of {said_mm(margin, 'g')} leave nothing of a panel of "
            f"{said_size(*panel_mm, 'g')}."
        )
        raise JobError("panel-frame", message, "Make the panel larger.", file="--panel")
    return width, height


def _check_layers(layers: Sequence[str]) -> tuple[str, ...]:
    """The layers' names, of which each must make a sheet of its own."""
    names = tuple(" ".join(name.split()) for name in layers)
    hint = f"Name them from back to front, such as {','.join(LAYERS)}."
    if not 1 <= len(names) <= MAX_LAYERS or not all(names):
        message = "a name is empty." if names and not all(names) else f"{len(names)} layers can't be cut."
        raise JobError("start-layers", message, hint, file="--layers")
    for name in names:
        if not name.isprintable() or len(name) > 80:
            raise JobError("start-layers", f"'{name[:80]}' can't be a layer's name.", hint, file="--layers")
        if name.lower().startswith("guide"):
            message = f"'{name}' begins with 'guide', and such layers are never cut."
            raise JobError("start-layers", message, hint, file="--layers")
        if sum(name.lower() == other.lower() for other in names) > 1:
            raise JobError("start-layers", f"'{name}' is named twice.", hint, file="--layers")
    return names
