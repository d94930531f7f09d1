"""Marks: what is engraved on a sheet, each line burnt once.

Enters: a layer as drawn and its regions in the stack. Leaves: `Marks`. Holds: marks lie on the visible region, none
along an edge that is cut anyway, and no stretch occurs twice.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString, MultiLineString, Polygon, STRtree
from shapely.geometry.base import BaseGeometry

from layercut.findings import Finding
from layercut.geometry.lines import join_lines, lines_of
from layercut.geometry.precision import AREA_MM2, GRID_MM, MARK_CLEARANCE_MM, MARK_MIN_MM
from layercut.geometry.regions import as_region, box_size, polygons_of
from layercut.job import Job
from layercut.model import Layer, PaintedRegion, Shape, StackLayer

NO_LINES = MultiLineString()

COVERING = ("wood", "opening")
"""Roles of shapes that hide marks drawn before them."""

RUN_ALONG_MM = 10 * MARK_CLEARANCE_MM
"""Lines that keep within the clearance of each other for longer than this are one line; for less, they cross."""

OFF_WOOD_MM = 1.0
"""So much of a line may run beside the wood, mm, before it is worth a word: ends that reach over an edge."""


@dataclass(frozen=True, slots=True)
class Marks:
    """Engraved areas and lines of one sheet, in no order yet.

    `lost` are lines too short to burn, `off_wood` drawn lines that run where the layer has no wood.
    """

    areas: tuple[Polygon, ...]
    lines: tuple[LineString, ...]
    lost: tuple[LineString, ...] = ()
    off_wood: tuple[Shape, ...] = ()


def find_marks(layer: Layer, planned: StackLayer, job: Job) -> Marks:
    """The marks of a sheet: the layer's lines and the borders of its colours, clipped to what is seen."""
    drawn = _drawn_lines(layer)
    seen = as_region(shapely.intersection(planned.visible, planned.wood))  # scraps may have been left out
    off_wood = [line for line in drawn if _length_over(line.geometry, planned.opening) > OFF_WOOD_MM]
    off_wood += [area for area in _drawn_areas(layer) if _area_over(area.geometry, planned.opening)]
    lines = _each_once([shapely.intersection(line.geometry, seen) for line in drawn])
    borders = colour_borders(planned.painted) if job.marks.colour_boundaries else NO_LINES
    borders = shapely.intersection(borders, seen)
    # A stroked shape draws its colour's border already; and what is cut needs no mark.
    borders = _away_from(borders, lines)
    lines = shapely.union_all([lines, borders], grid_size=GRID_MM)
    lines = shapely.difference(lines, _zone_beside(lines, shapely.boundary(planned.wood)))
    joined = join_lines(lines)
    kept = tuple(line for line in joined if line.length >= MARK_MIN_MM)
    drawn_areas = shapely.union_all([area.geometry for area in _drawn_areas(layer)])
    areas = shapely.intersection(drawn_areas, seen)
    return Marks(
        areas=tuple(area for area in polygons_of(areas) if area.area >= AREA_MM2),
        # Locators are covered by the pieces that they place, so they are not clipped to what is seen.
        lines=(*kept, *planned.locators),
        lost=tuple(line for line in joined if line.length < MARK_MIN_MM),
        off_wood=tuple(off_wood),
    )


def mark_findings(name: str, marks: Marks) -> list[Finding]:
    """One word for all marks that were too short, and one for all that lie where the layer has no wood."""
    findings = []
    if marks.lost:
        what = "1 mark" if len(marks.lost) == 1 else f"{len(marks.lost)} marks"
        x, y = marks.lost[0].coords[0]
        message = f"{what} shorter than {MARK_MIN_MM:g} mm left out: it would only burn a dot."
        findings.append(Finding("mark-lost", "info", message, name, at_mm=(round(x, 2), round(y, 2))))
    if marks.off_wood:
        first = marks.off_wood[0]
        who = first.element if len(marks.off_wood) == 1 else f"{first.element} and {len(marks.off_wood) - 1} more"
        message = (
            f"marks of {who} lie where this layer has no wood, so there they can't be burnt. "
            f"Draw wood behind them, or make lines thicker than marks.line_below to be wood themselves."
        )
        x, y = first.geometry.centroid.coords[0]
        at = (round(x, 2), round(y, 2))
        findings.append(
            Finding("mark-off-wood", "warning", message, name, first.element, at, box_size(first.geometry))
        )
    return findings


def colour_borders(painted: Sequence[PaintedRegion]) -> BaseGeometry:
    """The lines where two paints of a layer meet, each once.

    The painted regions share their edges to the last digit, so such a line is made of the edges that occur twice.
    Empty when there is one paint or none.
    """
    if len(painted) < 2:
        return NO_LINES
    edges = np.concatenate([_edges(part.region) for part in painted])
    edges = edges[np.lexsort(edges.T)]
    shared = edges[1:][(edges[1:] == edges[:-1]).all(axis=1)]
    if not len(shared):
        return NO_LINES
    return shapely.line_merge(shapely.multilinestrings(shapely.linestrings(shared.reshape(-1, 2, 2))))


def _edges(region: BaseGeometry) -> NDArray[np.float64]:
    """All edges of a region as (n, 4), each with its lower end first."""
    rings = shapely.get_rings(np.array(polygons_of(region), dtype=object))
    points, ring = shapely.get_coordinates(rings, return_index=True)
    inner = ring[1:] == ring[:-1]
    start, end = points[:-1][inner], points[1:][inner]
    swap = (start[:, 0] > end[:, 0]) | ((start[:, 0] == end[:, 0]) & (start[:, 1] > end[:, 1]))
    return np.where(swap[:, None], np.hstack([end, start]), np.hstack([start, end]))


def _drawn_lines(layer: Layer) -> list[Shape]:
    """The layer's lines, each without what wood that is drawn later in the layer lies over."""
    covers = STRtree([shape.geometry for shape in layer.shapes])
    seen = (
        replace(shape, geometry=_uncovered(layer, index, covers)) for index, shape in _with_role(layer, "mark-line")
    )
    return [shape for shape in seen if not shape.geometry.is_empty]


def _drawn_areas(layer: Layer) -> list[Shape]:
    """The layer's marked areas, without what wood that is drawn later lies over."""
    covers = STRtree([shape.geometry for shape in layer.shapes])
    areas = _with_role(layer, "mark-area")
    return [replace(shape, geometry=_uncovered(layer, index, covers)) for index, shape in areas]


def _with_role(layer: Layer, role: str) -> list[tuple[int, Shape]]:
    return [(index, shape) for index, shape in enumerate(layer.shapes) if shape.role == role]


def _uncovered(layer: Layer, index: int, covers: STRtree) -> BaseGeometry:
    """A shape less the wood that is drawn over it later in its layer."""
    geometry = layer.shapes[index].geometry
    hits = covers.query(geometry, predicate="intersects")
    over = [layer.shapes[hit].geometry for hit in sorted(hits) if hit > index and layer.shapes[hit].role in COVERING]
    return shapely.difference(geometry, shapely.union_all(over)) if over else geometry


def _length_over(lines: BaseGeometry, opening: BaseGeometry) -> float:
    """How much of some lines runs over an opening, mm; what runs along its edge is an outline, not a line over it."""
    over = shapely.intersection(lines, opening)
    if over.length > OFF_WOOD_MM:
        over = shapely.difference(over, _zone_beside(over, shapely.boundary(opening)))
    return float(over.length)


def _area_over(area: BaseGeometry, opening: BaseGeometry) -> bool:
    """Whether a marked area reaches over an opening by more than a line's width."""
    return not shapely.buffer(shapely.intersection(area, opening), -MARK_CLEARANCE_MM).is_empty


def _each_once(drawn: Sequence[BaseGeometry]) -> BaseGeometry:
    """All lines, without what runs along a line that came before."""
    lines = [line for line in drawn if not line.is_empty]
    if not lines:
        return NO_LINES
    near = STRtree(lines).query(lines, predicate="dwithin", distance=MARK_CLEARANCE_MM)
    before: dict[int, list[int]] = {}
    for line, other in zip(*near, strict=True):
        if other < line:
            before.setdefault(int(line), []).append(int(other))
    kept = list(lines)
    for line, others in before.items():
        kept[line] = _away_from(lines[line], shapely.union_all([lines[other] for other in others]))
    return shapely.union_all(np.array(kept, dtype=object), grid_size=GRID_MM)


def _away_from(lines: BaseGeometry, others: BaseGeometry) -> BaseGeometry:
    """What of some lines doesn't run along others; they may cross and meet."""
    zone = _zone_beside(lines, others)
    if zone.is_empty:
        return lines
    along = lines_of(shapely.line_merge(shapely.intersection(lines, zone)))
    crossing = [line for line in along if line.length <= RUN_ALONG_MM]
    return shapely.union_all([shapely.difference(lines, zone), *crossing])


def _zone_beside(lines: BaseGeometry, others: BaseGeometry) -> BaseGeometry:
    """What lies within the clearance of some edges, as far as they are near the lines; empty where none is."""
    pieces = lines_of(lines)
    if not pieces or others.is_empty:
        return NO_LINES
    points, part = shapely.get_coordinates(shapely.get_parts(others), return_index=True)
    inner = part[1:] == part[:-1]
    edges = shapely.linestrings(np.stack([points[:-1][inner], points[1:][inner]], axis=1))
    near = np.unique(STRtree(edges).query(pieces, predicate="dwithin", distance=MARK_CLEARANCE_MM)[1])
    if not len(near):
        return NO_LINES
    beside = shapely.line_merge(shapely.multilinestrings(edges[near]))
    return shapely.buffer(beside, MARK_CLEARANCE_MM, quad_segs=2, cap_style="flat")
