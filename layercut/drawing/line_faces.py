"""A layer drawn only in lines: what its line work encloses is its wood.

Enters: the centre lines of a layer's strokes, mm. Leaves: the region that they enclose, and findings. Holds: gaps no
wider than the job allows are bridged, and said so where the outline runs over one; wider ones are left open, and said
so where a line encloses nothing because of one.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import LineString, Point, STRtree
from shapely.geometry.base import BaseGeometry

from layercut.findings import CODES, Finding
from layercut.geometry.lines import lines_of
from layercut.geometry.precision import GRID_MM, MARK_CLEARANCE_MM, SIGHT_MM
from layercut.geometry.regions import EMPTY, Region, as_region
from layercut.model import Shape

OUTSIDE_MM = 1.0
"""So much of an open line may stick out of the wood, mm, before it is worth a word: ends that reach over an edge."""


@dataclass(frozen=True, slots=True)
class LineFace:
    """What some line work encloses, and what there is to say about it."""

    region: Region
    findings: tuple[Finding, ...]


def enclose(lines: Sequence[Shape], gap_mm: float, layer: str) -> LineFace:
    """The union of all that the lines enclose; empty where they enclose nothing.

    An end is bridged to the nearest other end within `gap_mm`, else to the nearest line within it.
    """
    drawn = [line for line in lines if not line.geometry.is_empty]
    if not drawn:
        return LineFace(EMPTY, ())
    work = _noded([line.geometry for line in drawn])
    bridges = _bridges(work, gap_mm)
    closed = _noded([work, *bridges]) if bridges else work
    cells, _, dangles, _ = shapely.polygonize_full([closed])
    region = as_region(shapely.union_all(shapely.get_parts(cells)))
    findings = [_bridged(bridge, drawn, layer) for bridge in bridges if _matters(bridge, region)]
    findings += _open_lines(dangles, region, drawn, gap_mm, layer=layer)
    return LineFace(region, tuple(findings))


def _noded(lines: Sequence[BaseGeometry]) -> BaseGeometry:
    """All lines cut where they meet, on the grid, and joined where nothing else does."""
    noded = shapely.union_all(np.array(lines, dtype=object), grid_size=GRID_MM)
    pieces = lines_of(noded)
    return shapely.line_merge(shapely.MultiLineString(pieces))


def _free_ends(lines: Sequence[LineString]) -> list[tuple[int, Point]]:
    """The ends at which no other line ends: which line, and where."""
    ends: dict[tuple[float, float], list[int]] = {}
    for index, line in enumerate(lines):
        points = shapely.get_coordinates(line)
        for point in (points[0], points[-1]):
            ends.setdefault((float(point[0]), float(point[1])), []).append(index)
    return [(owners[0], Point(at)) for at, owners in ends.items() if len(owners) == 1]


def _bridges(work: BaseGeometry, gap_mm: float) -> list[LineString]:
    """Straight pieces over the gaps: end to end, the narrowest first, then from what ends are left to a line."""
    lines = lines_of(work)
    free = _free_ends(lines)
    if not free or gap_mm <= 0:
        return []
    points = [point for _, point in free]
    near = STRtree(points).query(points, predicate="dwithin", distance=gap_mm).T.tolist()
    pairs = sorted((points[one].distance(points[other]), one, other) for one, other in near if one < other)
    used: set[int] = set()
    bridges = []
    for distance, one, other in pairs:
        short = free[one][0] == free[other][0] and lines[free[one][0]].length <= 2 * distance
        if one not in used and other not in used and not short:
            used |= {one, other}
            bridges.append(LineString([points[one], points[other]]))
    tree = STRtree(lines)
    for index, (owner, point) in enumerate(free):
        if index not in used:
            bridges += _to_line(owner, point, lines, tree, gap_mm)
    return bridges


def _to_line(owner: int, end: Point, lines: Sequence[LineString], tree: STRtree, gap_mm: float) -> list[LineString]:
    """A piece from an end straight to the nearest line, of its own line only to what is well away along it."""
    found: list[tuple[float, Point]] = []
    for index in sorted(tree.query(end, predicate="dwithin", distance=gap_mm).tolist()):
        line = lines[index] if index != owner else _far_part(lines[owner], end, 3 * gap_mm)
        if line is not None and line.distance(end) <= gap_mm:
            found.append((line.distance(end), line.interpolate(line.project(end))))
    if not found:
        return []
    distance, target = min(found, key=lambda pair: (pair[0], pair[1].x, pair[1].y))
    return [LineString([end, target])] if distance > 0 else []


def _far_part(line: LineString, end: Point, away_mm: float) -> LineString | None:
    """What of a line is further than `away_mm` from one of its ends, measured along it; None if nothing is."""
    if line.length <= away_mm:
        return None
    points = shapely.get_coordinates(line)
    if (points[-1] == shapely.get_coordinates(end)[0]).all():
        points = points[::-1]
    turned = LineString(points)
    cut = turned.interpolate(away_mm)
    along = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))))
    rest = points[along > away_mm]
    return LineString(np.vstack((shapely.get_coordinates(cut), rest)))


def _matters(bridge: LineString, region: Region) -> bool:
    """True for a bridge that one can see and that is part of the wood's outline."""
    if bridge.length < SIGHT_MM:
        return False
    beside = shapely.buffer(shapely.boundary(region), 2 * GRID_MM)
    return bool(shapely.covers(beside, bridge))


def _bridged(bridge: LineString, drawn: Sequence[Shape], layer: str) -> Finding:
    middle = bridge.interpolate(0.5, normalized=True)
    element = _nearest(Point(bridge.coords[0]), drawn)
    message = (
        f"a gap of {bridge.length:.2f} mm in {element} was bridged, so that the lines close. "
        "Join the ends in your editor if it should be closed another way."
    )
    return Finding("gap-bridged", CODES["gap-bridged"][0], message, layer, element, _at(middle), (_mm(bridge.length),))


def _open_lines(
    dangles: BaseGeometry, region: Region, drawn: Sequence[Shape], gap_mm: float, *, layer: str
) -> list[Finding]:
    """A word on each line that has an open end and runs outside the wood, where it encloses nothing."""
    outside = shapely.difference(shapely.line_merge(dangles), shapely.buffer(region, MARK_CLEARANCE_MM))
    loose = [line for line in lines_of(shapely.line_merge(outside)) if line.length > OUTSIDE_MM]
    ends = [point for _, point in _free_ends(lines_of(dangles)) if not shapely.dwithin(region, point, GRID_MM)]
    findings = []
    for line in sorted(loose, key=lambda one: one.coords[0]):
        mine = [point for point in ends if shapely.dwithin(line, point, GRID_MM)]
        place = mine[0] if mine else Point(line.coords[0])
        element = _nearest(place, drawn)
        others = [point for point in ends if point is not place]
        width = min((place.distance(point) for point in others), default=0.0)
        apart = f"; the next end is {width:.2f} mm away, and the job bridges {gap_mm:g} mm" if width else ""
        message = (
            f"{element} has an open end, so part of it encloses nothing and is no wood{apart}. "
            "Join it in your editor, or allow a wider gap in the job."
        )
        size = (_mm(width),) if width else None
        findings.append(Finding("line-open", CODES["line-open"][0], message, layer, element, _at(place), size))
    return findings


def _nearest(point: Point, drawn: Sequence[Shape]) -> str:
    index = STRtree([shape.geometry for shape in drawn]).nearest(point)
    return drawn[int(index)].element


def _at(point: Point) -> tuple[float, float]:
    return (_mm(point.x), _mm(point.y))


def _mm(value: float) -> float:
    return round(value, 2)
