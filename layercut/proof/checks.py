"""The other laws of a sheet: its size, its order, its pieces and its ties.

Enters: a sheet as read back, its wood as cut, and the plan. Leaves: problems with places and sizes.
"""

from collections.abc import Iterator, Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiLineString, Point, Polygon, STRtree
from shapely.geometry.base import BaseGeometry

from layercut.proof.failures import FoundPiece, ProofFailure, SheetVerdict
from layercut.proof.looks import ROLES
from layercut.proof.picture import DUST_MM2, visible_parts
from layercut.proof.plan import Plan, PlannedPiece, PlannedSheet
from layercut.proof.reader import ReadSheet
from layercut.proof.regions import lines_of, polygons, spot, without
from layercut.proof.simulate import APART_MM
from layercut.units import said_mm, said_mm2, said_number2, said_size

LENGTH_SHARE, LENGTH_MM = 0.002, 0.05
"""Lengths may differ from the manifest's by this share and this much, mm: rounded digits, curves as chords."""

PAGE_DIGIT_MM = 0.001
"""A page's size is written with so many digits, mm."""

AREA_SHARE = 0.02
"""The area of a loose piece may differ by this share, beside the tolerance along its outline."""

CREVICES = 1 / 8
"""A loose piece may keep this part of a kerf along its outline, on the average: crevices that no beam gets into."""


def check_size(read: ReadSheet, sheet: PlannedSheet, plan: Plan) -> Iterator[ProofFailure]:
    """Whether the page is as large as the panel, and cuts and marks as long as the manifest says."""
    beside = max(abs(read.width_mm - plan.width_mm), abs(read.height_mm - plan.height_mm))
    if beside > PAGE_DIGIT_MM:
        size, panel = said_size(read.width_mm, read.height_mm, "g"), said_size(plan.width_mm, plan.height_mm, "g")
        yield ProofFailure("size-differs", f"is {size}, where the panel is {panel}.", sheet.file)
    found = {"cuts": _length(read, "cut-opening", "cut-outline"), "marked lines": _length(read, "mark-line")}
    for what, planned in (("cuts", sheet.cut_mm), ("marked lines", sheet.mark_mm)):
        off = found[what] - planned
        if abs(off) > LENGTH_MM + LENGTH_SHARE * planned:
            more = "longer" if off > 0 else "shorter"
            long, by = said_mm(found[what], ".1f"), said_mm(abs(off), ".1f")
            message = f"has {what} of {long}, {by} {more} than the manifest says."
            yield ProofFailure("length-differs", message, sheet.file, size=round(abs(off), 3))


def check_order(read: ReadSheet, file: str) -> Iterator[ProofFailure]:
    """Whether marks come before openings and these before the rim, and no contour before one inside it."""
    if read.roles_in_order != ROLES:
        yield ProofFailure("order-roles", f"burns {', '.join(read.roles_in_order)}, in that order.", file)
    burnt = [role for role in read.roles_in_order if role.startswith("cut-")]
    rings = [Polygon(ring) for ring in read.contours(*burnt) if len(ring) >= 4]
    early = _holding_later_ones(np.array(rings, dtype=object))
    same = {(o, i) for o, i in early if shapely.make_valid(rings[o]).equals(shapely.make_valid(rings[i]))}
    wrong = [(o, i) for o, i in early if (o, i) not in same]
    if wrong:
        x, y = rings[wrong[0][0]].exterior.coords[0]
        message = f"cuts a contour before one inside it, {len(wrong)} times in all; the inner piece would have moved."
        yield ProofFailure("order-inside", message, file, (round(x, 2), round(y, 2)), len(wrong))
    if same:
        x, y = rings[min(same)[0]].exterior.coords[0]
        yield ProofFailure("sheet-damaged", "cuts the same contour twice.", file, (round(x, 2), round(y, 2)))


def _holding_later_ones(rings: NDArray[np.object_]) -> list[tuple[int, int]]:
    """The rings with others inside them that come later in the array: the places of both, in order."""
    if not len(rings):
        return []
    ring, other = STRtree(rings).query(rings)
    x0, y0, x1, y1 = shapely.bounds(rings).T
    # Where all is well there are next to none whose boxes lie so, and only these need a closer look.
    maybe = (ring < other) & (x0[ring] <= x0[other]) & (y0[ring] <= y0[other])
    maybe &= (x1[ring] >= x1[other]) & (y1[ring] >= y1[other])
    ring, other = ring[maybe], other[maybe]
    holds = shapely.contains(shapely.make_valid(rings[ring]), shapely.make_valid(rings[other]))
    return sorted(zip(ring[holds].tolist(), other[holds].tolist(), strict=True))


def check_ties(sheet: PlannedSheet, wood: BaseGeometry, plan: Plan) -> Iterator[ProofFailure]:
    """Whether the wood is as wide as the tie in the middle of each."""
    for tie in sheet.ties:
        disc = shapely.buffer(Point(tie.at_mm), tie.width_mm / 2 - plan.tolerance_mm, quad_segs=16)
        if shapely.covers(wood, disc):
            continue
        gone = visible_parts(without(without(disc, plan.pins), wood), plan)
        if gone:
            area = sum(part.area for part in gone)
            gone_mm2 = said_mm2(area, ".2f", "mm2")
            message = f"lacks {gone_mm2} of a tie that should be {said_mm(tie.width_mm, 'g')} wide."
            yield ProofFailure("tie-missing", message, sheet.file, tie.at_mm, round(area, 3))


def sort_pieces(
    read: ReadSheet, sheet: PlannedSheet, wood: BaseGeometry, plan: Plan
) -> tuple[SheetVerdict, list[ProofFailure]]:
    """Which piece holds the frame, which others come loose, and whether those are the planned ones."""
    pieces = [piece for piece in polygons(wood) if piece.area >= DUST_MM2]
    framed = None if sheet.strips else _framed(pieces, read, plan)
    others = [piece for piece in pieces if piece is not framed]
    beside = _beside(others, sheet.pieces, plan.tolerance_mm + APART_MM)
    loose, problems, left = [], [], dict(enumerate(others))
    for place, planned in enumerate(sheet.pieces):
        mine = next((left.pop(other) for other in beside.get(place, ()) if other in left), None)
        if mine is None:
            message = f"doesn't let {planned.id} come loose, a piece of {said_mm2(planned.area_mm2, '.1f', 'mm2')}."
            at = (round(planned.at_mm[0], 2), round(planned.at_mm[1], 2))
            problems.append(ProofFailure("piece-missing", message, sheet.file, at, round(planned.area_mm2, 3)))
            continue
        loose.append(FoundPiece(planned.id, round(mine.area, 3), spot(mine)))
        problems += _compare(planned, mine, sheet.file, plan)
    for piece in left.values():
        message = f"lets a piece of {said_mm2(piece.area, '.2f', 'mm2')} come loose that the manifest doesn't name."
        loose.append(FoundPiece("", round(piece.area, 3), spot(piece)))
        problems.append(ProofFailure("piece-loose", message, sheet.file, spot(piece), round(piece.area, 3)))
    return SheetVerdict(sheet.file, int(framed is not None), tuple(loose)), problems


def _beside(pieces: Sequence[Polygon], planned: Sequence[PlannedPiece], reach_mm: float) -> dict[int, list[int]]:
    """For each planned piece, by its place, the found ones that are there, in their order."""
    points = shapely.points(np.array([piece.at_mm for piece in planned], dtype=float).reshape(-1, 2))
    at, found = STRtree(pieces).query(points, predicate="dwithin", distance=reach_mm)
    beside: dict[int, list[int]] = {}
    for place, other in sorted(zip(at.tolist(), found.tolist(), strict=True)):
        beside.setdefault(place, []).append(other)
    return beside


def _framed(pieces: Sequence[Polygon], read: ReadSheet, plan: Plan) -> Polygon | None:
    """The largest piece that reaches the rim; None where none does."""
    rim = MultiLineString(lines_of(read.contours("cut-outline")))
    reach = plan.kerf_mm / 2 + plan.tolerance_mm
    by_size = sorted(pieces, key=lambda piece: -float(piece.area))
    return next((piece for piece in by_size if shapely.dwithin(piece, rim, reach)), None)


def _compare(planned: PlannedPiece, piece: Polygon, file: str, plan: Plan) -> Iterator[ProofFailure]:
    off = piece.area - planned.area_mm2
    slack = plan.tolerance_mm * piece.length + AREA_SHARE * planned.area_mm2
    if not -slack <= off <= slack + CREVICES * plan.kerf_mm * piece.length:
        found, wanted = said_mm2(piece.area, ".2f", "mm2"), said_number2(planned.area_mm2, ".2f")
        message = f"cuts {planned.id} with {found} where {wanted} are planned."
        yield ProofFailure("piece-differs", message, file, spot(piece), round(abs(off), 3))


def _length(read: ReadSheet, *roles: str) -> float:
    return float(shapely.length(np.array(lines_of(read.contours(*roles)), dtype=object)).sum())
