"""Marks: what is engraved on a sheet, each line burnt once.

Enters: a layer as drawn and its regions in the stack. Leaves: `Marks`. Holds: marks lie on the visible region, none
along an edge that is cut anyway, and no stretch occurs twice.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString, MultiLineString, Polygon, STRtree
from shapely.geometry.base import BaseGeometry

from layercut.findings import Finding
from layercut.geometry.lines import join_lines, lines_of, together
from layercut.geometry.precision import AREA_MM2, GRID_MM, MARK_CLEARANCE_MM, MARK_MIN_MM, OUTPUT_DECIMALS, SIGHT_MM
from layercut.geometry.regions import (
    EMPTY,
    Region,
    as_region,
    bar_width,
    box_size,
    point_on,
    polygons_of,
    prepared,
    union,
)
from layercut.job_tables import MarksJob
from layercut.model import Layer, PaintedRegion, Shape, StackLayer
from layercut.units import said_mm

Indices = NDArray[np.int64]

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

    `lost` are lines too short to burn, `off_wood` drawn lines that run where the layer has no wood, `slivers`
    contours of areas too fine to burn or see.
    """

    areas: tuple[Polygon, ...]
    lines: tuple[LineString, ...]
    lost: tuple[LineString, ...] = ()
    off_wood: tuple[Shape, ...] = ()
    slivers: tuple[Polygon, ...] = ()


@dataclass(frozen=True, slots=True)
class DrawnMarks:
    """The marks on one sheet's wood, as drawn: its layer's, and those of the guests that are painted on it."""

    lines: tuple[Shape, ...]
    areas: tuple[Shape, ...]

    def clipped(self, region: Region, inside: bool) -> "DrawnMarks":
        """The marks as far as they lie in a region, or outside of it."""
        if region.is_empty:
            return DrawnMarks((), ()) if inside else self
        cut = shapely.intersection if inside else shapely.difference
        lines = [(shape, together(lines_of(cut(shape.geometry, region)))) for shape in self.lines]
        areas = [(shape, as_region(cut(shape.geometry, region))) for shape in self.areas]
        return DrawnMarks(*(tuple(_with_geometry(pairs)) for pairs in (lines, areas)))


def _with_geometry(pairs: Sequence[tuple[Shape, BaseGeometry]]) -> Iterator[Shape]:
    """Shapes with other geometry; those that have none left fall away."""
    for shape, geometry in pairs:
        if not geometry.is_empty:
            yield replace(shape, geometry=geometry)


def drawn_marks(layers: Sequence[Layer], planned: Sequence[StackLayer]) -> tuple[DrawnMarks, ...]:
    """What is to be marked on each sheet, as drawn, back to front: guests bring their marks along."""
    marks = [DrawnMarks(tuple(_drawn_lines(layer)), tuple(_drawn_areas(layer))) for layer in layers]
    for index in reversed(range(len(marks))):
        for home in sorted({guest.home for guest in planned[index].given if guest.home is not None}):
            moved = union(guest.region for guest in planned[index].given if guest.home == home)
            brought, own = marks[index].clipped(moved, inside=True), marks[home].clipped(moved, inside=False)
            marks[home] = DrawnMarks((*own.lines, *brought.lines), (*own.areas, *brought.areas))
        gone = union(guest.region for guest in planned[index].given)
        marks[index] = marks[index].clipped(gone, inside=False)
    return tuple(marks)


def find_marks(drawn: DrawnMarks, planned: StackLayer, wanted: MarksJob, bare: Region = EMPTY) -> Marks:
    """The marks of a sheet: its lines, the borders of its colours and the outlines of its guests, clipped to what is
    seen. `bare` is what shows of the sheet where nothing is drawn: a guest's outline may lie along it."""
    off_wood = [line for line in drawn.lines if _length_over(line.geometry, planned.opening) > OFF_WOOD_MM]
    off_wood += [area for area in drawn.areas if _area_over(area.geometry, planned.opening)]
    lines = _each_once([shapely.intersection(line.geometry, planned.visible) for line in drawn.lines])
    borders = colour_borders(planned.coloured) if wanted.colour_boundaries else NO_LINES
    borders = _within(borders, planned.visible)
    if wanted.behind and planned.guests:
        ground = planned.visible if bare.is_empty else union((planned.visible, bare))
        borders = _noded(_within(guest_outlines(planned), ground), borders)
    # A stroked shape draws its colour's border already; and what is cut needs no mark.
    borders = _away_from(borders, lines)
    joined = join_lines(_off_the_cuts(_noded(lines, borders), planned.wood))
    kept = tuple(line for line in joined if line.length >= MARK_MIN_MM)
    areas, slivers = _clipped_areas(drawn.areas, planned)
    return Marks(
        areas=areas,
        # Locators are covered by the pieces that they place, so they are not clipped to what is seen.
        lines=(*kept, *planned.locators),
        lost=tuple(line for line in joined if line.length < MARK_MIN_MM),
        off_wood=tuple(off_wood),
        slivers=slivers,
    )


def guest_outlines(planned: StackLayer) -> BaseGeometry:
    """The outlines of what is painted on a sheet for sheets in front; where two guests meet, each once."""
    outlines = [shapely.boundary(guest.region) for guest in planned.guests]
    return shapely.union_all(np.array(outlines, dtype=object), grid_size=GRID_MM) if outlines else NO_LINES


def mark_findings(name: str, marks: Marks) -> list[Finding]:
    """One word for all marks that were too short, one for all contours that were too fine, and one for all that lie
    where the layer has no wood."""
    findings = []
    if marks.lost:
        one = len(marks.lost) == 1
        what = "1 mark" if one else f"{len(marks.lost)} marks"
        x, y = marks.lost[0].coords[0]
        least = said_mm(MARK_MIN_MM, "g")
        message = f"{what} shorter than {least} left out: {'it' if one else 'each'} would only burn a dot."
        findings.append(Finding("mark-lost", "info", message, name, at_mm=(round(x, 2), round(y, 2))))
    if marks.slivers:
        count = len(marks.slivers)
        what = "1 contour of a marked area" if count == 1 else f"{count} contours of marked areas"
        message = f"{what} left out: too fine to burn or see."
        findings.append(Finding("mark-lost", "info", message, name, at_mm=point_on(marks.slivers[0])))
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
    """The lines where two paints of a layer meet, on the grid, each once and parted where several meet.

    The painted regions share their edges to the last digit, so such a line is made of the edges that occur twice.
    Empty when there is one paint or none.
    """
    if len(painted) < 2:
        return NO_LINES
    polygons = np.array([polygon for part in painted for polygon in polygons_of(part.region)], dtype=object)
    points, ring = shapely.get_coordinates(shapely.get_rings(polygons), return_index=True)
    steps = np.rint(points / GRID_MM).astype(np.int64)
    # One number for each place: sorting those is several times quicker than sorting pairs.
    _, place = np.unique((steps[:, 0] << 32) + steps[:, 1], return_inverse=True)
    edges = np.flatnonzero((ring[1:] == ring[:-1]) & (place[1:] != place[:-1]))
    edges = edges[_occur_twice(place[edges], place[edges + 1])]
    if not len(edges):
        return NO_LINES
    meeting = np.bincount(place[np.append(edges, edges + 1)])
    ends = np.append((np.diff(edges) > 1) | (meeting[place[edges[1:]]] != 2), True)
    line, last = np.cumsum(ends) - ends, np.flatnonzero(ends)
    vertices = np.insert(edges, last + 1, edges[last] + 1)
    owner = np.insert(line, last + 1, line[last])
    return together(shapely.linestrings(steps[vertices] * GRID_MM, indices=owner))


def _occur_twice(start: Indices, end: Indices) -> Indices:
    """The edges between numbered places that occur again, in either direction: the first of each, in order."""
    if not len(start):
        return start
    edge = np.minimum(start, end) * (int(max(start.max(), end.max())) + 1) + np.maximum(start, end)
    _, first, count = np.unique(edge, return_index=True, return_counts=True)
    return np.sort(first[count > 1])


def _noded(lines: BaseGeometry, borders: BaseGeometry) -> BaseGeometry:
    """Lines and borders together, on the grid, parted where they cross: borders among themselves are so already."""
    apart = np.array(
        lines_of(shapely.transform(borders, lambda points: np.round(points, OUTPUT_DECIMALS))), dtype=object
    )
    apart = apart[shapely.length(apart) > 0]
    if not len(apart):
        return lines
    if lines.is_empty:
        return together(apart)
    drawn = np.array(lines_of(lines), dtype=object)
    near = np.unique(STRtree(apart).query(drawn, predicate="dwithin", distance=GRID_MM)[1])
    noded = shapely.union_all([lines, *apart[near]], grid_size=GRID_MM)
    return together([*lines_of(noded), *np.delete(apart, near)])


def _off_the_cuts(lines: BaseGeometry, wood: Region) -> BaseGeometry:
    """What of some lines isn't cut anyway, and lies on the wood: scraps of what is seen may have been left out."""
    pieces = np.array(lines_of(_outside(lines, _zone_beside(lines, shapely.boundary(wood)))), dtype=object)
    if not len(pieces):
        return NO_LINES
    # A line that leaves the wood crosses a cut, so it has been parted there: one point tells where a piece lies.
    middles = shapely.get_coordinates(shapely.line_interpolate_point(pieces, 0.5, normalized=True))
    return together(pieces[shapely.contains_xy(prepared(wood), *middles.T)])


def _within(lines: BaseGeometry, region: Region) -> BaseGeometry:
    """What of some noded lines lies in a region; only those that reach its edge need be cut."""
    pieces = np.array(lines_of(lines), dtype=object)
    region = prepared(region)
    whole = shapely.contains_properly(region, pieces)
    parts = shapely.intersection(together(pieces[~whole]), region)
    return together([*pieces[whole], *lines_of(parts)])


def _outside(lines: BaseGeometry, zone: BaseGeometry) -> BaseGeometry:
    """What of some noded lines lies outside a zone; only those that meet it need be cut."""
    pieces = np.array(lines_of(lines), dtype=object)
    met = shapely.intersects(prepared(zone), pieces)
    parts = shapely.difference(together(pieces[met]), zone)
    return together([*pieces[~met], *lines_of(parts)])


def _clipped_areas(drawn: Sequence[Shape], planned: StackLayer) -> tuple[tuple[Polygon, ...], tuple[Polygon, ...]]:
    """The drawn areas together, as far as they are seen and there is wood; and what of them was too fine."""
    areas = shapely.union_all([area.geometry for area in drawn])
    seen = as_region(shapely.intersection(areas, planned.visible))
    clipped = shapely.intersection(seen, planned.wood)
    return _without_slivers(polygons_of(clipped))


def _without_slivers(areas: Sequence[Polygon]) -> tuple[tuple[Polygon, ...], tuple[Polygon, ...]]:
    """Areas without the contours that are too fine to burn or see, and those: a curve fitted to one collapses."""
    kept, slivers = [], []
    for area in areas:
        outer, *holes = (Polygon(ring) for ring in (area.exterior, *area.interiors))
        if _is_sliver(outer):
            slivers.append(outer)
            continue
        fine = [hole for hole in holes if _is_sliver(hole)]
        slivers += fine
        rings = [hole.exterior for hole in holes if not _is_sliver(hole)] if fine else area.interiors
        kept.append(Polygon(area.exterior, rings))
    return tuple(kept), tuple(slivers)


def _is_sliver(contour: Polygon) -> bool:
    return contour.area < AREA_MM2 or bar_width(contour) < SIGHT_MM


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
