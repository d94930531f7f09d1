"""Marks: whether all that was planned is engraved, nothing else, each once, and on wood off the cuts.

Enters: a sheet as read back, its wood as cut, and the plan. Leaves: problems with places and sizes. A mark is where
it was planned when each of the two lies within the other's reach (`Plan.mark_reach_mm`) and, of lines, when both are
about as long. Most marks are found to be so one by one; only what is left is overlaid.
"""

from collections.abc import Callable, Iterator, Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiLineString, STRtree
from shapely.geometry.base import BaseGeometry

from layercut.proof.beside import run_beside
from layercut.proof.failures import ProofFailure
from layercut.proof.picture import DUST_MM2
from layercut.proof.plan import Plan, PlannedSheet
from layercut.proof.reader import ReadSheet
from layercut.proof.regions import area_of, lines_of, polygons, spot, union, wider_than, without
from layercut.proof.simulate import APART_MM
from layercut.units import said_mm, said_mm2

Shapes = NDArray[np.object_]

STRAY_MM = 0.2
"""Lines that differ by less than this in all, mm, are the same: no planned line is as short."""

LENGTH_MM = 0.02
"""One line may be longer or shorter than planned by this, mm, beside what its bends allow (`_slack`)."""

CLEARANCE_MM = 0.1
"""How far marks are planned to keep off the edges of wood, mm."""

MARK_MM = 1.0
"""Marks may lie on cuts or beside the wood by this length, mm, before it is a problem: no one sees less."""

QUAD_SEGS = 2
"""Chords in the quarter of a circle around a mark: they keep within 8 % of its reach."""


def check_marks(read: ReadSheet, sheet: PlannedSheet, plan: Plan) -> Iterator[ProofFailure]:
    """Whether what is marked is what was planned: areas by region, lines by length along them."""
    if sheet.marks is None:
        return
    reach = plan.mark_reach_mm
    areas = _unpaired(_array(sheet.marks.areas), _array(_areas(read)), _alike, reach)
    for code, what, part in _differing_areas(*areas, reach):
        size = sum(one.area for one in part)
        if size > DUST_MM2:
            place = spot(max(part, key=lambda one: float(one.area)))
            message = f"{what} {said_mm2(size, '.2f', 'mm2')} of marked areas."
            yield ProofFailure(code, message, sheet.file, place, round(size, 3))
    lines = _unpaired(_array(sheet.marks.lines), _array(lines_of(read.contours("mark-line"))), _as_long, reach)
    for code, what, part in _differing_lines(*lines, reach):
        size = float(shapely.length(part).sum())
        if size > STRAY_MM:
            message = f"{what} {said_mm(size, '.1f')} of marked lines."
            yield ProofFailure(code, message, sheet.file, _middle(part), round(size, 3))
    yield from _burnt_twice(*lines, reach, sheet.file)


LACKS, ADDS = ("mark-missing", "lacks"), ("mark-added", "has unplanned")
Difference = tuple[str, str, Shapes]


def _differing_areas(planned: Shapes, written: Shapes, reach_mm: float) -> Iterator[Difference]:
    """What of the areas that have no counterpart is missing, and what is too much."""
    for (code, what), these, those in ((LACKS, planned, written), (ADDS, written, planned)):
        if len(these):
            beside = shapely.buffer(union(those), reach_mm, quad_segs=QUAD_SEGS)
            yield code, what, _array(polygons(without(union(these), beside)))


def _differing_lines(planned: Shapes, written: Shapes, reach_mm: float) -> Iterator[Difference]:
    """The same for lines."""
    for (code, what), these, those in ((LACKS, planned, written), (ADDS, written, planned)):
        if len(these):
            beside = shapely.buffer(shapely.multilinestrings(those), reach_mm, quad_segs=QUAD_SEGS)
            yield code, what, shapely.get_parts(shapely.difference(these, beside))


def _burnt_twice(planned: Shapes, written: Shapes, reach_mm: float, file: str) -> Iterator[ProofFailure]:
    """Lines that lie where they should, but run to and fro: the beam would follow each way."""
    if not len(planned) or not len(written):
        return
    off = float(shapely.length(written).sum() - shapely.length(planned).sum())
    if abs(off) > STRAY_MM + float(_slack(planned, reach_mm).sum()):
        code, more, at = ("mark-added", "longer", written) if off > 0 else ("mark-missing", "shorter", planned)
        message = f"has marked lines {said_mm(abs(off), '.1f')} {more} than planned."
        yield ProofFailure(code, message, file, _middle(at), round(abs(off), 3))


def _slack(lines: Shapes, reach_mm: float) -> NDArray[np.float64]:
    """By how much each line's length may differ when it is moved sideways within reach, mm.

    A curve beside another, d apart, is longer or shorter by d times what it turns in all (Steiner's formula).
    """
    points, owner = shapely.get_coordinates(lines, return_index=True)
    legs = np.diff(points @ np.array([1, 1j]))
    bends = np.abs(np.angle(legs[1:] * np.conj(legs[:-1])))
    within = owner[2:] == owner[:-2]
    turns = np.bincount(owner[2:][within], weights=bends[within], minlength=len(lines))
    # Ends may lie anywhere within reach, and those of a closed line are one more bend.
    return np.asarray(LENGTH_MM + reach_mm * (turns + 2 * np.pi * shapely.is_closed(lines)))


Fits = Callable[[Shapes, Shapes, float], NDArray[np.bool_]]


def _unpaired(planned: Shapes, written: Shapes, fits: Fits, reach_mm: float) -> tuple[Shapes, Shapes]:
    """The planned and the written marks that have no counterpart. Each has one at most: none is burnt twice."""
    if len(planned) == len(written) and fits(planned, written, reach_mm).all():
        return planned[:0], written[:0]
    middles = shapely.centroid(shapely.envelope(written))
    # Boxes of marks that keep within reach of each other have their middles as near, each way.
    tree = STRtree(shapely.centroid(shapely.envelope(planned)))
    mine, theirs = tree.query(middles, predicate="dwithin", distance=1.5 * reach_mm)
    alike = fits(planned[theirs], written[mine], reach_mm)
    free, left = set(range(len(planned))), set(range(len(written)))
    for one, other in sorted(zip(mine[alike].tolist(), theirs[alike].tolist(), strict=True)):
        if one in left and other in free:
            left.remove(one)
            free.remove(other)
    return planned[sorted(free)], written[sorted(left)]


def _alike(planned: Shapes, written: Shapes, reach_mm: float) -> NDArray[np.bool_]:
    """For each pair of shapes, whether each of the two lies within reach of the other."""
    near = shapely.covers(shapely.buffer(planned, reach_mm, quad_segs=QUAD_SEGS), written)
    back = shapely.covers(shapely.buffer(written, reach_mm, quad_segs=QUAD_SEGS), planned)
    return np.asarray(near & back)


def _as_long(planned: Shapes, written: Shapes, reach_mm: float) -> NDArray[np.bool_]:
    """For each pair of lines, whether they lie alike, and run along each other once."""
    same = np.abs(shapely.length(written) - shapely.length(planned)) <= _slack(planned, reach_mm)
    beside = np.zeros(len(planned), dtype=bool)
    beside[same] = run_beside(planned[same], written[same], reach_mm)
    rest = same & ~beside  # begun elsewhere, or led the other way
    beside[rest] = _alike(planned[rest], written[rest], reach_mm)
    return beside


def check_marks_on_wood(read: ReadSheet, wood: BaseGeometry, file: str, plan: Plan) -> Iterator[ProofFailure]:
    """Whether marks keep off the cuts, and lie on wood."""
    marks = _array(lines_of(read.contours("mark-line")))
    cuts = MultiLineString(lines_of(read.contours("cut-opening", "cut-outline")))
    # Mark and cut may each be off by the tolerance, so that under a coarse one they may come to lie on each other.
    beside = plan.kerf_mm / 2 + min(plan.tolerance_mm, CLEARANCE_MM - 2 * plan.tolerance_mm)
    shapely.prepare(cuts)
    near = shapely.dwithin(cuts, marks, beside) if beside > 0 else np.zeros(len(marks), dtype=bool)
    if near.any():
        burnt = shapely.buffer(cuts, beside, quad_segs=2)
        close = shapely.multilinestrings(marks[near])
        yield from _long("mark-on-cut", "of marks run along cuts", shapely.intersection(close, burnt), file)
        marks = np.append(marks[~near], shapely.get_parts(shapely.difference(close, burnt)))
    # Most marks lie on wood from end to end, which is quickly seen.
    doubtful = shapely.multilinestrings(marks[~shapely.covers(wood, marks)])
    yield from _long("mark-in-air", "of marks run where no wood is", shapely.difference(doubtful, wood), file)
    areas = _array(_areas(read))
    slit = plan.kerf_mm + APART_MM + 2 * plan.tolerance_mm
    for part in wider_than(without(union(areas[~shapely.covers(wood, areas)]), wood), slit):
        if part.area >= MARK_MM**2:
            message = f"engraves {said_mm2(part.area, '.2f', 'mm2')} where no wood is."
            yield ProofFailure("mark-in-air", message, file, spot(part), round(part.area, 3))


def _long(code: str, what: str, lines: BaseGeometry, file: str) -> Iterator[ProofFailure]:
    if lines.length > MARK_MM:
        place = _middle(shapely.get_parts(lines))
        message = f"{said_mm(lines.length, '.1f')} {what}."
        yield ProofFailure(code, message, file, place, round(lines.length, 3))


def _middle(lines: Shapes) -> tuple[float, float]:
    """The middle of the longest of some lines, mm, rounded for messages."""
    middle = shapely.line_interpolate_point(lines[shapely.length(lines).argmax()], 0.5, normalized=True)
    return (round(middle.x, 2), round(middle.y, 2))


def _areas(read: ReadSheet) -> list[BaseGeometry]:
    """The marked areas as engraved: each path by the even-odd rule."""
    return [area_of(path) for path in read.paths.get("mark-area", ())]


def _array(shapes: Sequence[BaseGeometry]) -> Shapes:
    found = np.empty(len(shapes), dtype=object)
    found[:] = shapes
    return found
