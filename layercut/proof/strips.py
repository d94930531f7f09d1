"""Boards of strips, cut in thought; and whether the strips, glued, are spacers.

Enters: a board as read back, and the plan. Leaves: problems, and what each strip is in its ring. Shares nothing with
what cut the rings up: only where each strip is said to go.
"""

from collections.abc import Iterator, Mapping, Sequence

import numpy as np
import shapely
from shapely import Polygon
from shapely.affinity import rotate, translate
from shapely.geometry.base import BaseGeometry

from layercut.proof.checks import check_order, check_size, sort_pieces
from layercut.proof.failures import ProofFailure, SheetVerdict
from layercut.proof.marks import check_marks
from layercut.proof.picture import visible_parts
from layercut.proof.plan import Plan, PlannedSheet, PlannedStrip
from layercut.proof.reader import ReadSheet
from layercut.proof.regions import EMPTY, polygons, spot, union, without
from layercut.proof.simulate import remaining_wood

Glued = Mapping[int, BaseGeometry]
"""The strips of a board in their rings, by their numbers."""


def check_board(read: ReadSheet, sheet: PlannedSheet, plan: Plan) -> tuple[SheetVerdict, list[ProofFailure], Glued]:
    """Everything about one board: whether its strips come loose as planned, and nothing else is on it."""
    wood = remaining_wood(read, plan.kerf_mm)
    verdict, problems = sort_pieces(read, sheet, wood, plan)
    rims = len(read.contours("cut-outline"))
    if rims != len(sheet.strips):
        message = f"has {rims} rims where it needs {len(sheet.strips)}, one for each strip."
        problems.append(ProofFailure("rim-differs", message, sheet.file))
    problems = [
        *check_size(read, sheet, plan),
        *check_order(read, sheet.file),
        *problems,
        *check_marks(read, sheet, plan),
        *_off_board(wood, sheet.file, plan),
    ]
    glued = {}
    for strip in sheet.strips:
        piece = _nearest(polygons(wood), strip)
        if piece is None:
            continue
        back = translate(piece, -strip.moved_mm[0], -strip.moved_mm[1])
        glued[strip.number] = rotate(back, -strip.turned_deg, origin=(0, 0))
        if len(piece.interiors) != strip.pins:
            message = f"has a strip {strip.number} with {len(piece.interiors)} holes where {strip.pins} are planned."
            problems.append(ProofFailure("frame-differs", message, sheet.file, strip.at_mm))
    return verdict, problems, glued


def check_rings(glued: Glued, plan: Plan) -> Iterator[ProofFailure]:
    """Whether the strips of each spacer, glued, make its ring, pin holes aside."""
    if plan.spacer_mm is None or plan.frame.is_empty:
        return
    ring = without(plan.outline, shapely.buffer(plan.outline, -plan.spacer_mm, join_style="mitre"))
    strips = [(strip, sheet.file) for sheet in plan.sheets for strip in sheet.strips]
    for spacer in sorted({strip.spacer for strip, _ in strips}):
        mine = [(strip, file) for strip, file in strips if strip.spacer == spacer]
        made = [glued.get(strip.number, EMPTY) for strip, _ in mine]
        lost = visible_parts(without(without(ring, union(made)), plan.pins), plan)
        yield from _ring_differs(lost, f"lacks {{}} mm2 of spacer {spacer}", mine[0][1])
        stray = visible_parts(without(union(made), ring), plan)
        yield from _ring_differs(stray, f"has {{}} mm2 of wood beside spacer {spacer}", mine[0][1])
        twice = sum(float(part.area) for part in made) - float(union(made).area)
        if twice > _slack(made, plan):
            yield ProofFailure("frame-differs", f"lays {twice:.2f} mm2 of spacer {spacer} twice.", mine[0][1])


def _slack(parts: Sequence[BaseGeometry], plan: Plan) -> float:
    return plan.tolerance_mm * sum(float(part.length) for part in parts)


def _ring_differs(parts: Sequence[Polygon], what: str, file: str) -> Iterator[ProofFailure]:
    if parts:
        size = round(sum(float(one.area) for one in parts), 3)
        message = f"{what.format(f'{size:.2f}')}, as its strips are glued."
        yield ProofFailure("frame-differs", message, file, spot(parts[0]), size)


def _off_board(wood: BaseGeometry, file: str, plan: Plan) -> Iterator[ProofFailure]:
    """Whether all strips lie on the page."""
    page = shapely.box(0, 0, plan.width_mm, plan.height_mm)
    for part in visible_parts(without(wood, page), plan)[:1]:
        yield ProofFailure("size-differs", "has a strip that leaves its page.", file, spot(part))


def _nearest(pieces: Sequence[Polygon], strip: PlannedStrip) -> Polygon | None:
    """The piece that is where a strip was planned; None where none is."""
    point = shapely.Point(strip.at_mm)
    if not pieces:
        return None
    away = shapely.distance(np.array(pieces, dtype=object), point)
    return pieces[int(away.argmin())] if away.min() < 0.1 else None
