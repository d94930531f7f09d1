"""Kerf: from wood to the centre lines of the beam.

Enters: a sheet's wood and the kerf, mm. Leaves: `CutLines`, closed and free of crossings, and what closed up on the
way. Holds: wood that is left after the cut is the wood that was planned, within the curve tolerance.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import MultiPolygon, Polygon, STRtree

from layercut.findings import Finding
from layercut.geometry.offsets import offset_mitre
from layercut.geometry.precision import AREA_MM2, CUT_APART_MM, FLATTEN_MM, GRID_MM
from layercut.geometry.regions import Region, as_region, bar_length, bar_width, box_size, point_on, polygons_of
from layercut.geometry.thinning import thinned_apart
from layercut.job_tables import CurvesJob
from layercut.units import said_apart, said_mm2

TAIL_KERFS = 6.0
"""A dead end of an opening that closes is told when it is longer than this many kerfs; a shorter one only rounds off
a corner, as every beam does."""


@dataclass(frozen=True, slots=True)
class Closing:
    """Where the kerf closes an opening: all of it, or a part; with its width, mm."""

    region: Polygon
    width_mm: float
    whole: bool


@dataclass(frozen=True, slots=True)
class CutLines:
    """What the beam cuts: the rim, and every other contour as a filled ring, nested ones included."""

    outline: Polygon
    openings: tuple[Polygon, ...]
    closings: tuple[Closing, ...]


def find_cut_lines(wood: Region, kerf_mm: float, curves: CurvesJob) -> CutLines:
    """The centre lines that leave this wood: its outlines, grown by half the kerf on the wood's side.

    `closings` are the places where planned openings are narrower than the kerf. Free pieces of the wood give contours
    inside the opening around them.
    """
    half = kerf_mm / 2
    grown = _grow_apart(wood, half) if half else wood
    lines = as_region(thinned_apart(grown, _slack(curves)))
    pieces = polygons_of(lines)
    # The piece with the rim is the sheet; whatever else is wood lies loose within its openings.
    framed = max(pieces, key=lambda piece: Polygon(piece.exterior).area)
    rings = [Polygon(ring) for piece in pieces for ring in piece.interiors]
    rings += [Polygon(piece.exterior) for piece in pieces if piece is not framed]
    openings = tuple(ring for ring in rings if ring.area > GRID_MM**2)
    return CutLines(Polygon(framed.exterior), openings, _find_closings(_planned_openings(wood), kerf_mm))


def kerf_findings(name: str, lines: CutLines, kerf_mm: float) -> list[Finding]:
    """A word for every opening or part of one that the kerf closes, and one for all that are too small to see."""
    small = [closing.region for closing in lines.closings if closing.region.area < AREA_MM2]
    findings = [
        _closing_finding(name, closing, kerf_mm) for closing in lines.closings if closing.region.area >= AREA_MM2
    ]
    if small:
        total = sum(region.area for region in small)
        what = "1 opening" if len(small) == 1 else f"{len(small)} openings"
        message = f"{what} too small to see, {said_mm2(total, '.4f')} in all, left closed."
        findings.append(Finding("detail-lost", "info", message, name, at_mm=point_on(small[0])))
    return findings


def _closing_finding(name: str, closing: Closing, kerf_mm: float) -> Finding:
    what = "an opening" if closing.whole else "part of an opening"
    wide, kerf = said_apart(closing.width_mm, ".2f", kerf_mm)
    message = (
        f"{what} {wide} wide is narrower than the kerf of {kerf}, so it stays "
        "closed. Draw it wider, or as a thin line if a mark will do."
    )
    code = "opening-closes" if closing.whole else "opening-pinches"
    at, size = point_on(closing.region), box_size(closing.region)
    return Finding(code, "warning", message, name, at_mm=at, size_mm=size)


def _find_closings(planned: Sequence[Polygon], kerf_mm: float) -> tuple[Closing, ...]:
    """What a disc as wide as the kerf can't reach of the planned openings: all of one, or a long part of it."""
    if not planned or not kerf_mm:
        return ()
    openings = np.array(planned, dtype=object)
    # Opened by a disc (drawn in, grown again): what comes back is where the beam fits; a hair more, for the chords.
    reached = shapely.buffer(openings, -kerf_mm / 2, quad_segs=4)
    missed = shapely.difference(openings, shapely.buffer(reached, 0.51 * kerf_mm, quad_segs=4))
    closings = []
    for opening, inner, rest in zip(planned, reached, missed, strict=True):
        if inner.is_empty:
            closings.append(Closing(opening, bar_width(opening), whole=True))
            continue
        closings += [
            Closing(part, bar_width(part), whole=False)
            for part in polygons_of(rest)
            if bar_length(part) > TAIL_KERFS * kerf_mm
        ]
    return tuple(closings)


def _grow_apart(wood: Region, half: float) -> Region:
    """The wood grown by half the kerf, its pieces kept apart: sharp corners reach further than that and may meet."""
    pieces = sorted(polygons_of(wood), key=lambda piece: -piece.area)
    lines = np.array([offset_mitre(piece, half) for piece in pieces], dtype=object)
    near = STRtree(lines).query(lines, predicate="dwithin", distance=CUT_APART_MM / 2)
    around: dict[int, Region] = {}
    # The smaller piece gives way: of a large one the corner that meets it may be part of the frame.
    for later, earlier in sorted(zip(*near, strict=True)):
        if earlier < later:
            if earlier not in around:
                around[earlier] = shapely.buffer(lines[earlier], CUT_APART_MM / 2)
            kept = polygons_of(shapely.difference(lines[later], around[earlier]))
            lines[later] = max(kept, key=lambda part: float(part.area)) if kept else lines[later]
    return MultiPolygon([part for line in lines for part in polygons_of(line)])


def _slack(curves: CurvesJob) -> float:
    """How far a vertex that is left out may lie off the rest, mm.

    That is all that flattening and the grid leave of the curve tolerance; where smoothing comes after, little of it.
    """
    left = max(curves.tolerance - FLATTEN_MM - GRID_MM, 0.0)
    return min(left, GRID_MM) if curves.smooth else left


def _planned_openings(wood: Region) -> list[Polygon]:
    """What is open within the sheet's rim."""
    rim = max((Polygon(piece.exterior) for piece in polygons_of(wood)), key=lambda filled: filled.area)
    return polygons_of(shapely.difference(rim, wood))
