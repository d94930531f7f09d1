"""Pieces that are painted on a sheet behind their own: whether the paint is told, and their outlines are marked.

Enters: a sheet as read back, and the guests that the plan paints on it. Leaves: problems with places and sizes.
"""

from collections.abc import Iterator

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from layercut.proof.failures import ProofFailure
from layercut.proof.picture import DUST_MM2
from layercut.proof.plan import Plan, PlannedGuest, PlannedSheet
from layercut.proof.reader import ReadSheet
from layercut.proof.regions import inner, spot
from layercut.units import said_mm, said_mm2

BESIDE_MM = 0.1
"""A mark so near to a cut or to another mark is the same line for the eye, so one of the two is left out, mm."""

LACKING_MM = 1.0
"""So much of an outline may go without a mark, mm: no one sees less, and dots are not burnt."""


def check_guests(read: ReadSheet, sheet: PlannedSheet, plan: Plan) -> Iterator[ProofFailure]:
    """Whether each guest is painted, and outlined where the job wants that."""
    if not sheet.guests:
        return
    for guest in sheet.guests:
        if guest.unpainted_mm2 > DUST_MM2 + plan.tolerance_mm * guest.region.length:
            message = f"paints {said_mm2(guest.unpainted_mm2, '.2f', 'mm2')} of {guest.id} with nothing."
            yield ProofFailure(
                "behind-unpainted", message, sheet.file, spot(guest.region), round(guest.unpainted_mm2, 3)
            )
    marked = [guest for guest in sheet.guests if guest.marked]
    if not marked:
        return
    burnt = _burnt(read, BESIDE_MM + plan.kerf_mm / 2 + 2 * plan.tolerance_mm)
    # Along the edge of what the sheet shows, another sheet's edge is the outline.
    within = inner(sheet.shown, 2 * plan.tolerance_mm)
    for guest in marked:
        outline = shapely.intersection(shapely.boundary(guest.region), within)
        yield from _outline(guest, shapely.difference(outline, burnt), sheet.file)


def _outline(guest: PlannedGuest, lacking: BaseGeometry, file: str) -> Iterator[ProofFailure]:
    if lacking.length > LACKING_MM:
        message = f"doesn't mark {said_mm(lacking.length, '.1f')} of the outline of {guest.id}."
        at = shapely.line_interpolate_point(shapely.get_parts(lacking)[0], 0.5, normalized=True)
        yield ProofFailure(
            "behind-unmarked", message, file, (round(at.x, 2), round(at.y, 2)), round(float(lacking.length), 3)
        )


def _burnt(read: ReadSheet, beside_mm: float) -> BaseGeometry:
    """What lies beside a marked line or a cut."""
    lines = [points for points in read.contours("mark-line", "cut-opening", "cut-outline") if len(points) >= 2]
    lines += [np.vstack([points, points[:1]]) for points in read.contours("mark-area") if len(points) >= 2]
    if not lines:
        return shapely.MultiPolygon()
    return shapely.union_all(shapely.buffer([shapely.LineString(points) for points in lines], beside_mm, quad_segs=2))
