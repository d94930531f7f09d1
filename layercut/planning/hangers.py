"""Hangers: where the rings go, how long the wire is and how it hangs, and where the hook goes in the wall.

Enters: the panel, the width of the frame behind it, the centre of gravity and the job. Leaves: `Hangers`, and the
pull in the wire. Places are mm from the panel's top left corner, seen from the front.

A wire over one hook, its rings as high as each other and as far from the hook on both sides, hangs in two straight
lines at an angle a to the horizontal: the hook lies (spacing / 2) tan a above the rings. The centre of gravity of
what hangs free comes to lie below its hook (equilibrium of moments), so the hook is set above it.
"""

import math

import shapely
from shapely import LineString, Point, Polygon

from layercut.geometry.offsets import offset_mitre
from layercut.geometry.precision import GRID_MM
from layercut.job_tables import HangingJob
from layercut.model import Panel
from layercut.workplan import HIGHEST, HOOK_ROOM_MM, LOWEST, Hangers, Place

LEVER = 1 / 10
"""So much of the picture's height the rings stay above the centre of gravity, or it would lean far off the wall or
tip over (layercut's own choice)."""

WIRE_END_MM = 100.0
"""Wire at each end, to pass twice through the ring and wind around itself, mm (common practice)."""

STEPS = 200
"""Heights of the rings that are tried, from the highest to the lowest."""


def place_hangers(
    panel: Panel, width_mm: float, centre_mm: Place, hanging: HangingJob, *, whole: bool = False
) -> Hangers:
    """Where hangers, wire and hook go, on the middle of a frame of `width_mm` behind the picture; `whole` says that
    there is wood everywhere behind it.

    Rings are screwed on a quarter to a third from the top, as high as hides the hook; lower where that doesn't, but
    never near the centre of gravity's height. They lie as far left as right of the centre of gravity, as far as the
    frame's wood lets them.
    """
    band = _middle_line(panel, width_mm)
    if hanging.hanger == "one":
        return _one(panel, width_mm, centre_mm, hanging, band)
    slope = math.tan(math.radians(hanging.wire_angle))
    tried = _heights(panel, centre_mm[1])
    hidden = (y for y in tried if y - _half(band, y) * slope >= HOOK_ROOM_MM)
    y = next(hidden, min(LOWEST * panel.height_mm, tried[-1]))
    left, right = _crossings(band, y)
    if whole:
        half = max(min(centre_mm[0] - left, right - centre_mm[0]), 0.0)
        left, right = centre_mm[0] - half, centre_mm[0] + half
    off = centre_mm[0] - (left + right) / 2
    aside = _within(off, (width_mm - hanging.plate) / 2 - hanging.plate_edge)
    rings = ((left + aside, y), (right + aside, y))
    sag = (right - left) / 2 * slope
    hook = (centre_mm[0], y - sag)
    wire = sum(math.dist(ring, hook) for ring in rings)
    steepest = max(math.degrees(math.atan((y - HOOK_ROOM_MM) / _half(band, y))) for y in tried)
    return Hangers(
        kind="wire",
        rings_mm=rings,
        hook_mm=hook,
        beside_mm=off - aside if abs(off - aside) > GRID_MM else 0.0,
        sag_mm=sag,
        wire_mm=wire,
        cut_mm=wire + 2 * WIRE_END_MM,
        on_wood=_on_wood(panel, math.inf if whole else width_mm, rings, hanging),
        hides_deg=float(max(math.floor(steepest), 0)),
        top_mm=hanging.top,
    )


def wire_tension_n(weight_n: float, angle_deg: float, other_deg: float | None = None) -> float:
    """Tension in each side of a wire over one hook, N, its angle taken from the horizontal: T = W / (2 sin a).

    Where the sides have two angles a and b, the larger of both tensions, W cos b / sin (a + b) and the other way
    round (equilibrium of the hook, whose friction holds the difference).
    """
    one = math.radians(angle_deg)
    other = one if other_deg is None else math.radians(other_deg)
    if one == other:
        return weight_n / (2 * math.sin(one))
    return weight_n * math.cos(min(one, other)) / math.sin(one + other)


def wire_pull_n(weight_n: float, hangers: Hangers, angle_deg: float) -> float | None:
    """Tension of the wire on its steeper side, N; None for one hanger."""
    if hangers.kind == "one":
        return None
    if not hangers.beside_mm:
        return wire_tension_n(weight_n, angle_deg)
    angles = [math.degrees(math.atan2(hangers.sag_mm, abs(x - hangers.hook_mm[0]))) for x, _ in hangers.rings_mm]
    return wire_tension_n(weight_n, *angles)


def _heights(panel: Panel, centre_mm: float) -> list[float]:
    """Heights of the rings from the top that may be taken, mm, the highest first."""
    lowest = max(centre_mm - LEVER * panel.height_mm, HIGHEST * panel.height_mm / 2)
    highest = min(HIGHEST * panel.height_mm, lowest)
    return [highest + (lowest - highest) * step / STEPS for step in range(STEPS + 1)]


def _one(panel: Panel, width_mm: float, centre_mm: Place, hanging: HangingJob, band: LineString) -> Hangers:
    """One hanger on the frame's wood, above the centre of gravity."""
    x = centre_mm[0]
    upright = LineString([(x, -1.0), (x, panel.height_mm + 1)])
    y = float(shapely.intersection(band, upright).bounds[1])
    on_wood = _on_wood(panel, width_mm, ((x, y),), hanging)
    return Hangers("one", ((x, y),), (x, y), 0.0, 0.0, 0.0, 0.0, on_wood, 0.0, hanging.top)


def _middle_line(panel: Panel, width_mm: float) -> LineString:
    """The line along the middle of the frame's wood; of a frame that fills the panel, halfway to the middle."""
    width = min(width_mm, panel.width_mm / 2, panel.height_mm / 2)
    inset = offset_mitre(panel.outline, -width / 2)
    assert isinstance(inset, Polygon)
    return LineString(inset.exterior.coords)


def _crossings(band: LineString, y: float) -> tuple[float, float]:
    """Where the middle line is left and right at a height, mm."""
    x0, _, x1, _ = band.bounds
    left, _, right, _ = shapely.intersection(band, LineString([(x0 - 1, y), (x1 + 1, y)])).bounds
    return float(left), float(right)


def _half(band: LineString, y: float) -> float:
    """Half the distance of two rings at a height, mm."""
    left, right = _crossings(band, y)
    return (right - left) / 2


def _within(value: float, most: float) -> float:
    return max(-max(most, 0.0), min(value, max(most, 0.0)))


def _on_wood(panel: Panel, width_mm: float, rings: tuple[Place, ...], hanging: HangingJob) -> bool:
    """Whether each plate, a disc as wide as it, lies on the wood of a frame of that width."""
    wood = panel.outline if math.isinf(width_mm) else panel.outline - offset_mitre(panel.outline, -width_mm)
    plates = [shapely.buffer(Point(ring), hanging.plate / 2) for ring in rings]
    return all(shapely.covers(shapely.buffer(wood, GRID_MM), plate) for plate in plates)
