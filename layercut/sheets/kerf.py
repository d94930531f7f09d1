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
from layercut.geometry.offsets import grow
from layercut.geometry.precision import AREA_MM2, CUT_APART_MM, FLATTEN_MM, GRID_MM
from layercut.geometry.regions import Region, as_region, box_size, point_on, polygons_of
from layercut.job import Job


@dataclass(frozen=True, slots=True)
class CutLines:
    """What the beam cuts: the rim, and every other contour as a filled ring, nested ones included."""

    outline: Polygon
    openings: tuple[Polygon, ...]
    closed: tuple[Polygon, ...]
    pinched: tuple[Polygon, ...]


def find_cut_lines(wood: Region, job: Job) -> CutLines:
    """The centre lines that leave this wood: its outlines, grown by half the kerf on the wood's side.

    `closed` are the planned openings that vanish because they are narrower than the kerf, `pinched` those that
    fall into several. Free pieces of the wood give contours inside the opening around them.
    """
    half = job.material.kerf / 2
    grown = _grow_apart(wood, half) if half else wood
    lines = as_region(shapely.simplify(grown, _slack(job)))
    pieces = polygons_of(lines)
    framed = max(pieces, key=lambda piece: Polygon(piece.exterior).area)
    rings = [Polygon(ring) for piece in pieces for ring in piece.interiors]
    rings += [Polygon(piece.exterior) for piece in pieces if piece is not framed]
    openings = tuple(ring for ring in rings if ring.area > GRID_MM)
    closed, pinched = _compare(_planned_openings(wood), openings)
    return CutLines(Polygon(framed.exterior), openings, closed, pinched)


def kerf_findings(name: str, lines: CutLines, job: Job) -> list[Finding]:
    """A word for every opening that the kerf closes, and one for all that are too small to see."""
    findings = []
    small = [region for region in lines.closed if region.area < AREA_MM2]
    for region in lines.closed:
        if region.area >= AREA_MM2:
            message = f"an opening narrower than the kerf of {job.material.kerf:g} mm closes. Draw it wider."
            findings.append(_kerf_finding("opening-closes", name, region, message))
    for region in lines.pinched:
        message = f"part of an opening is narrower than the kerf of {job.material.kerf:g} mm and closes."
        findings.append(_kerf_finding("opening-pinches", name, region, message))
    if small:
        total = sum(region.area for region in small)
        message = f"{len(small)} openings too small to see, {total:.4f} mm2 in all, are left closed."
        findings.append(Finding("detail-lost", "info", message, name, at_mm=point_on(small[0])))
    return findings


def _grow_apart(wood: Region, half: float) -> Region:
    """The wood grown by half the kerf, its pieces kept apart: sharp corners reach further than that and may meet."""
    grown = grow(wood, half)
    pieces = sorted(polygons_of(wood), key=lambda piece: -piece.area)
    if len(polygons_of(grown)) == len(pieces):
        return grown
    lines = np.array([grow(piece, half) for piece in pieces], dtype=object)
    for later, earlier in sorted(zip(*STRtree(lines).query(lines, predicate="dwithin", distance=half), strict=True)):
        if earlier < later:
            kept = polygons_of(shapely.difference(lines[later], shapely.buffer(lines[earlier], CUT_APART_MM / 2)))
            lines[later] = max(kept, key=lambda part: float(part.area)) if kept else lines[later]
    return MultiPolygon([part for line in lines for part in polygons_of(line)])


def _slack(job: Job) -> float:
    """What flattening and the grid leave of the curve tolerance for leaving out vertices."""
    return max(job.curves.tolerance - FLATTEN_MM - GRID_MM, 0.0)


def _planned_openings(wood: Region) -> list[Polygon]:
    """What is open within the sheet's rim."""
    rim = max((Polygon(piece.exterior) for piece in polygons_of(wood)), key=lambda filled: filled.area)
    return polygons_of(shapely.difference(rim, wood))


def _compare(planned: Sequence[Polygon], cut: Sequence[Polygon]) -> tuple[tuple[Polygon, ...], tuple[Polygon, ...]]:
    """Which planned openings have no cut contour in them, and which have several."""
    if not planned:
        return (), ()
    tree = STRtree(list(planned))
    points = [shapely.point_on_surface(ring) for ring in cut]
    _, hit = tree.query(points, predicate="within") if points else ((), np.array([], dtype=int))
    count = np.bincount(np.asarray(hit, dtype=int), minlength=len(planned))
    closed = tuple(region for region, n in zip(planned, count, strict=True) if n == 0)
    pinched = tuple(region for region, n in zip(planned, count, strict=True) if n > 1 and not region.interiors)
    return closed, pinched


def _kerf_finding(code: str, name: str, region: Polygon, message: str) -> Finding:
    return Finding(code, "warning", message, name, at_mm=point_on(region), size_mm=box_size(region))
