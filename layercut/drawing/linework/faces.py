"""A layer drawn only in lines: what its line work encloses is its wood.

Enters: the centre lines of a layer's strokes, mm. Leaves: the region that they enclose, and findings. Holds: gaps no
wider than the job allows are bridged, and said so where the outline runs over one; wider ones are left open, and said
so where a line encloses nothing because of one.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import LineString, Point, STRtree
from shapely.geometry.base import BaseGeometry
from shapely.ops import substring

from layercut.findings import CODES, Finding
from layercut.geometry.lines import lines_of
from layercut.geometry.precision import GRID_MM, MARK_CLEARANCE_MM, SIGHT_MM
from layercut.geometry.regions import EMPTY, Region, as_region
from layercut.model import Shape
from layercut.units import said_mm

OVERSHOOT = 3.0
"""An end that is less than so many gaps away along the lines themselves shoots over a crossing: it is no gap."""

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
    closed = _with_bridges(work, bridges)
    cells, _, dangles, _ = shapely.polygonize_full([closed])
    region = as_region(shapely.union_all(shapely.get_parts(cells)))
    beside = shapely.buffer(shapely.boundary(region), 2 * GRID_MM)
    shapely.prepare(beside)
    seen = [bridge for bridge in bridges if bridge.length >= SIGHT_MM and shapely.covers(beside, bridge)]
    # Inside the wood a bridge changes nothing, and is not worth a word.
    findings = [_bridged(bridge, drawn, layer) for bridge in seen]
    findings += _open_lines(dangles, region, drawn, gap_mm, layer=layer)
    return LineFace(region, tuple(findings))


def _noded(lines: Sequence[BaseGeometry]) -> BaseGeometry:
    """All lines cut where they meet, on the grid, and joined where nothing else does."""
    noded = shapely.union_all(np.array(lines, dtype=object), grid_size=GRID_MM)
    return _merged(noded)


def _with_bridges(work: BaseGeometry, bridges: Sequence[LineString]) -> BaseGeometry:
    """Noded line work with the bridges in it; only what they come near is noded again."""
    if not bridges:
        return work
    lines = np.array(lines_of(work), dtype=object)
    near = np.unique(STRtree(lines).query(bridges, predicate="dwithin", distance=2 * GRID_MM)[1])
    again = shapely.union_all(np.concatenate((lines[near], bridges)), grid_size=GRID_MM)
    return shapely.MultiLineString([*np.delete(lines, near), *lines_of(again)])


def _merged(lines: BaseGeometry) -> BaseGeometry:
    return shapely.line_merge(shapely.MultiLineString(lines_of(lines)))


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
    # Ends that the lines themselves join by little more than the gap leave none: those of one short line, or of two
    # that shoot over their corner.
    for distance, one, other in pairs:
        round_mm = _way_round(lines, free[one][0], free[other][0])
        if used & {one, other} or round_mm <= 2 * distance:
            continue
        if free[one][0] != free[other][0] and round_mm <= OVERSHOOT * gap_mm:
            continue
        used |= {one, other}
        bridges.append(LineString([points[one], points[other]]))
    tree = STRtree(lines)
    for index, (owner, point) in enumerate(free):
        if index not in used:
            bridges += _to_line(owner, point, lines, tree, gap_mm)
    return bridges


def _way_round(lines: Sequence[LineString], one: int, other: int) -> float:
    """How far it is from the free end of a line to that of another, along the two; infinite where they don't meet."""
    if one == other:
        return float(lines[one].length)
    return float(lines[one].length + lines[other].length) if lines[one].touches(lines[other]) else math.inf


def _to_line(owner: int, end: Point, lines: Sequence[LineString], tree: STRtree, gap_mm: float) -> list[LineString]:
    """A piece from an end straight to the nearest line; of those it hangs on, only to what is well away along them.

    Otherwise an end that shoots over a corner would be bridged back to the corner's other side.
    """
    found: list[tuple[float, Point]] = []
    for index in sorted(tree.query(end, predicate="dwithin", distance=gap_mm).tolist()):
        line: BaseGeometry = lines[index]
        if index == owner:
            line = _beyond(line, end, OVERSHOOT * gap_mm)
        elif line.touches(lines[owner]):
            left = OVERSHOOT * gap_mm - lines[owner].length
            line = _beyond(line, shapely.intersection(line, lines[owner]), left)
        if not line.is_empty and line.distance(end) <= gap_mm:
            found.append((line.distance(end), line.interpolate(line.project(end))))
    if not found:
        return []
    distance, target = min(found, key=lambda pair: (pair[0], pair[1].x, pair[1].y))
    return [LineString([end, target])] if distance > 0 else []


def _beyond(line: LineString, place: BaseGeometry, away_mm: float) -> BaseGeometry:
    """What of a line is further than `away_mm` from a place on it, along the line; empty if nothing is."""
    if away_mm <= 0:
        return line
    for point in shapely.get_coordinates(place):
        at = line.project(Point(point))
        parts = [substring(line, 0, at - away_mm)] if at > away_mm else []
        if at + away_mm < line.length:
            parts.append(substring(line, at + away_mm, line.length))
        kept = [part for part in parts if part.length > 0]
        if not kept:
            return LineString()
        line = max(kept, key=lambda part: part.length)
    return line


def _bridged(bridge: LineString, drawn: Sequence[Shape], layer: str) -> Finding:
    middle = bridge.interpolate(0.5, normalized=True)
    element = _nearest(Point(bridge.coords[0]), drawn)
    message = (
        f"a gap of {said_mm(bridge.length, '.2f')} in {element} was bridged, so that the lines close. "
        "Join the ends in your editor if it should be closed another way."
    )
    return Finding(
        "gap-bridged", CODES["gap-bridged"][0], message, layer, element, _at(middle), (_mm(bridge.length),)
    )


def _open_lines(
    dangles: BaseGeometry, region: Region, drawn: Sequence[Shape], gap_mm: float, *, layer: str
) -> list[Finding]:
    """A word on each line that has an open end and runs outside the wood, where it encloses nothing."""
    outside = shapely.difference(_merged(dangles), shapely.buffer(region, MARK_CLEARANCE_MM))
    loose = [line for line in lines_of(_merged(outside)) if line.length > OUTSIDE_MM]
    ends = [point for _, point in _free_ends(lines_of(dangles)) if not shapely.dwithin(region, point, GRID_MM)]
    findings = []
    # A stretch outside may have its open end inside the wood; it is then named by where it begins.
    for line in sorted(loose, key=lambda one: one.coords[0]):
        mine = [point for point in ends if shapely.dwithin(line, point, GRID_MM)]
        place = mine[0] if mine else Point(line.coords[0])
        element = _nearest(place, drawn)
        others = [point for point in ends if point is not place]
        width = min((place.distance(point) for point in others), default=0.0)
        next_end = f"; the next end is {said_mm(width, '.2f')} away, and the job bridges {said_mm(gap_mm, 'g')}"
        apart = next_end if width else ""
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
