"""Whether the glued stack, from the front, is the drawing; and whether rim and frame are the panel's.

Enters: a sheet's wood as cut, and what it should show. Leaves: problems with places and areas. The stack is the
drawing when each sheet has wood wherever it should be seen and none where a deeper one should: so each sheet is held
against its own paint map, and a difference is laid at the door of the sheet that makes it.
"""

import math
from collections.abc import Callable, Iterator, Sequence
from itertools import islice

import numpy as np
import shapely
from shapely import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from layercut.proof.failures import ProofFailure
from layercut.proof.plan import Plan, PlannedSheet
from layercut.proof.reader import ReadSheet
from layercut.proof.regions import around, both, grown, inner, outer, polygons, spot, union, wider_than, without
from layercut.proof.simulate import REACH, out_of_reach, slits
from layercut.units import said_mm2

DUST_MM2 = 0.01
"""What is smaller than a square of a tenth of a millimetre, mm2, nobody can see: no piece, and no difference."""

PLACES = 5
"""So many places of one kind of difference on a sheet are told one by one, the largest first."""


def check_picture(sheet: PlannedSheet, wood: BaseGeometry, plan: Plan) -> Iterator[ProofFailure]:
    """Where the sheet covers what should be seen behind it, and where it lacks what should be seen of it."""
    stray = _stray(sheet.deeper, wood, plan)
    yield from _differences("picture-differs", "covers {} of what should be seen behind it", stray, sheet.file)
    lost = _lost(sheet.shown, wood, plan)
    yield from _differences("picture-differs", "lacks {} of wood that should be seen", lost, sheet.file)


def check_rim(read: ReadSheet, file: str, plan: Plan) -> Iterator[ProofFailure]:
    """Whether one contour, the last, cuts out the panel."""
    rims = read.contours("cut-outline")
    if len(rims) != 1:
        yield ProofFailure("rim-differs", f"has {len(rims)} rims where it needs one.", file)
        return
    if plan.frame.is_empty:  # no paint map could be read, which is told already
        return
    inside = grown(shapely.make_valid(Polygon(rims[0])), -plan.kerf_mm / 2)
    parts = visible_parts(shapely.symmetric_difference(inside, plan.outline), plan)
    yield from _differences("rim-differs", "has a rim that differs from the panel by {}", parts, file)


def check_frame(wood: BaseGeometry, file: str, plan: Plan, *, pinned: bool = True) -> Iterator[ProofFailure]:
    """Whether the frame is whole, and its pin holes are open, where it has some."""
    frame = plan.frame if pinned else plan.whole_frame
    lost = _lost(both(frame, grown(plan.outline, -plan.tolerance_mm)), wood, plan)
    yield from _differences("frame-differs", "lacks {} of its frame", lost, file)
    if pinned:
        shut = visible_parts(both(plan.pins, wood), plan)
        yield from _differences("frame-differs", "has {} of wood where a pin goes", shut, file)


def _stray(planned_open: BaseGeometry, wood: BaseGeometry, plan: Plan) -> list[Polygon]:
    """The parts of what should be open that are wood, but for what no beam can take away."""
    if planned_open.is_empty:
        return []
    within = inner(wood, plan.tolerance_mm)
    stray = _visible_wrong(planned_open, lambda middles: shapely.intersection(middles, within), plan)
    if not stray:
        return []
    # In a narrow wedge a line that is off by the tolerance ends as early as a beam that is wider by it each side.
    beam = plan.kerf_mm + 2 * plan.tolerance_mm if plan.kerf_mm else 0.0
    near = _near(planned_open, stray, 2 * REACH * beam)
    left = grown(out_of_reach(near, beam), plan.tolerance_mm)
    return visible_parts(without(union(stray), left), plan)


def _lost(planned: BaseGeometry, wood: BaseGeometry, plan: Plan) -> list[Polygon]:
    """The parts of planned wood that are gone, but for what had to go to part a loose piece from the rest."""
    if shapely.covers(wood, planned):
        return []
    beside = outer(wood, plan.tolerance_mm)
    lost = _visible_wrong(planned, lambda middles: shapely.difference(middles, beside), plan)
    if not lost:
        return []
    gaps = slits(polygons(wood), plan.kerf_mm, plan.tolerance_mm)
    return visible_parts(without(union(lost), gaps), plan)


def _visible_wrong(planned: BaseGeometry, wrong: Callable[[BaseGeometry], BaseGeometry], plan: Plan) -> list[Polygon]:
    """The visible parts of a planned region that are wrong, by the middles of the discs that fit into them.

    `wrong` picks those of the planned region's middles that lie so within the wood's, or outside; so the outlines are
    compared a little apart, not where they run side by side and cross each other a thousand times. It is asked twice:
    roughly, of the region itself, and then of its middles near what was found.
    """
    tolerance = plan.tolerance_mm
    places = _large(around(wrong(planned), tolerance), plan)  # too many: its own edge isn't drawn back yet
    if not places:
        return []
    near = _near(planned, places, 4 * tolerance)
    return _large(around(wrong(inner(near, tolerance)), tolerance), plan)


def visible_parts(difference: BaseGeometry, plan: Plan) -> list[Polygon]:
    """The parts of a difference that are wider than the tolerance and large enough to see, the largest first."""
    # Most of what differs is slivers, and no part is larger without its narrow places.
    parts = _large(polygons(difference), plan)
    return _large(wider_than(MultiPolygon(parts), plan.tolerance_mm), plan)


def _large(parts: Sequence[Polygon], plan: Plan) -> list[Polygon]:
    """The parts as large as the beam's spot or larger: what is smaller is the rounding of a corner, not cut."""
    least = max(DUST_MM2, math.pi / 4 * plan.kerf_mm**2)
    large = shapely.area(np.array(parts, dtype=object)) >= least
    return [part for part, seen in zip(parts, large, strict=True) if seen]


def _near(planned: BaseGeometry, parts: Sequence[Polygon], margin_mm: float) -> BaseGeometry:
    """A region around some parts, as far as it matters there: offsets of a whole foliage cost seconds."""
    boxes = [shapely.box(*part.bounds).buffer(margin_mm, join_style="mitre") for part in parts]
    return both(planned, union(boxes))


def _differences(code: str, what: str, parts: Sequence[Polygon], file: str) -> Iterator[ProofFailure]:
    for part in islice(parts, PLACES):
        message = what.format(said_mm2(part.area, ".2f", "mm2")) + "."
        yield ProofFailure(code, message, file, spot(part), round(part.area, 3))
    rest = parts[PLACES:]
    if rest:
        area = sum(part.area for part in rest)
        message = what.format(said_mm2(area, ".2f", "mm2")) + f" in {len(rest)} more places."
        yield ProofFailure(code, message, file, spot(rest[0]), round(area, 3))
