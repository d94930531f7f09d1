"""Marks: what is engraved on a sheet, each line burnt once.

Enters: a layer as drawn and its regions in the stack. Leaves: `Marks`. Holds: marks lie on the visible region, none
along an edge that is cut anyway, and no stretch occurs twice.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString, MultiLineString, Polygon, STRtree
from shapely.geometry.base import BaseGeometry

from layercut.findings import Finding
from layercut.geometry.precision import AREA_MM2, MARK_CLEARANCE_MM, MARK_MIN_MM
from layercut.geometry.regions import polygons_of
from layercut.job import Job
from layercut.model import Layer, PaintedRegion, Shape, StackLayer

NO_LINES = MultiLineString()


@dataclass(frozen=True, slots=True)
class Marks:
    """Engraved areas and lines of one sheet, in no order yet; `lost` counts lines too short to burn."""

    areas: tuple[Polygon, ...]
    lines: tuple[LineString, ...]
    lost: int = 0


def find_marks(layer: Layer, planned: StackLayer, job: Job) -> Marks:
    """The marks of a sheet: the layer's lines and the borders of its colours, clipped to what is seen."""
    drawn = _drawn(layer, "mark-line")
    borders = colour_borders(planned.painted) if job.marks.colour_boundaries else NO_LINES
    areas = shapely.intersection(_drawn(layer, "mark-area"), planned.visible)
    lines = shapely.intersection(drawn, planned.visible)
    borders = shapely.intersection(borders, planned.visible)
    if not borders.is_empty and not lines.is_empty:
        borders = _away_from(borders, lines)  # a stroked shape draws its colour's border already
    lines = shapely.union_all([lines, borders])
    lines = _away_from(lines, shapely.boundary(planned.wood))
    joined = _join(lines)
    kept = tuple(line for line in joined if line.length >= MARK_MIN_MM)
    kept_areas = tuple(area for area in polygons_of(areas) if area.area >= AREA_MM2)
    # Locators are covered by the pieces that they place, so they are not clipped to what is seen.
    return Marks(kept_areas, (*kept, *planned.locators), len(joined) - len(kept))


def mark_findings(name: str, marks: Marks) -> list[Finding]:
    """One word for all marks that were too short."""
    if not marks.lost:
        return []
    message = f"{marks.lost} marks shorter than {MARK_MIN_MM:g} mm were left out: they would be burnt dots."
    return [Finding("mark-lost", "info", message, name)]


def colour_borders(painted: Sequence[PaintedRegion]) -> BaseGeometry:
    """The lines where two paints of a layer meet, each once.

    The painted regions share their edges to the last digit, so such a line is made of the edges that occur twice.
    Empty when there is one paint or none.
    """
    if len(painted) < 2:
        return NO_LINES
    edges = np.concatenate([_edges(part.region) for part in painted])
    edges, counts = np.unique(edges, axis=0, return_counts=True)
    shared = edges[counts == 2]
    return shapely.line_merge(MultiLineString(list(shared.reshape(-1, 2, 2)))) if len(shared) else NO_LINES


def _edges(region: BaseGeometry) -> NDArray[np.float64]:
    """All edges of a region as (n, 4), each with its lower end first."""
    rings = shapely.get_rings(np.array(polygons_of(region), dtype=object))
    points, ring = shapely.get_coordinates(rings, return_index=True)
    inner = ring[1:] == ring[:-1]
    start, end = points[:-1][inner], points[1:][inner]
    swap = (start[:, 0] > end[:, 0]) | ((start[:, 0] == end[:, 0]) & (start[:, 1] > end[:, 1]))
    return np.where(swap[:, None], np.hstack([end, start]), np.hstack([start, end]))


def _drawn(layer: Layer, role: str) -> BaseGeometry:
    """What a layer's shapes of a role leave to see within the layer: later wood lies over earlier marks."""
    marks = [(i, shape) for i, shape in enumerate(layer.shapes) if shape.role == role]
    if not marks:
        return NO_LINES
    covers = [(i, shape) for i, shape in enumerate(layer.shapes) if shape.role in ("wood", "opening")]
    tree = STRtree([shape.geometry for _, shape in covers])
    seen = [_uncovered(index, shape, covers, tree) for index, shape in marks]
    return shapely.union_all(np.array(seen, dtype=object))


def _uncovered(index: int, mark: Shape, covers: list[tuple[int, Shape]], tree: STRtree) -> BaseGeometry:
    hits = tree.query(mark.geometry, predicate="intersects")
    over = [covers[hit][1].geometry for hit in sorted(hits) if covers[hit][0] > index]
    return shapely.difference(mark.geometry, shapely.union_all(over)) if over else mark.geometry


def _away_from(lines: BaseGeometry, others: BaseGeometry) -> BaseGeometry:
    """What of some lines keeps clear of others; only the edges nearby are looked at."""
    if lines.is_empty:
        return NO_LINES
    points, part = shapely.get_coordinates(shapely.get_parts(others), return_index=True)
    inner = part[1:] == part[:-1]
    edges = shapely.linestrings(np.stack([points[:-1][inner], points[1:][inner]], axis=1))
    pieces = shapely.get_parts(lines)
    near = np.unique(STRtree(edges).query(pieces, predicate="dwithin", distance=MARK_CLEARANCE_MM)[1])
    if not len(near):
        return lines
    zone = shapely.buffer(shapely.line_merge(shapely.multilinestrings(edges[near])), MARK_CLEARANCE_MM, quad_segs=2)
    return shapely.difference(lines, zone)


def _join(lines: BaseGeometry) -> list[LineString]:
    """The fewest strokes that draw the lines: pieces that meet end to end are one."""
    if lines.is_empty:
        return []
    only_lines = [part for part in shapely.get_parts(lines) if isinstance(part, LineString)]
    return list(shapely.get_parts(shapely.line_merge(MultiLineString(only_lines))))
