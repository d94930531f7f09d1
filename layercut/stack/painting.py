"""What shows on each sheet: its own paint, over what shines through from behind, under the glazes upon it.

Enters: the layers with their coats, their faces, and the sheets as they are resolved. Leaves: the painted regions of
each sheet and findings. Holds: the regions of a sheet are sets of cells of one map, so they don't overlap, share
their edges to the last digit, and add up to the sheet's face, on the back sheet with the bare ground that is glazed.
Where nothing shines through, they are the face's own, untouched.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import STRtree

from layercut.colour.coats import Coat
from layercut.colour.merging import Merged
from layercut.colour.shown import most_opaque
from layercut.findings import Finding
from layercut.geometry.lines import lines_of
from layercut.geometry.noding import cells_between, inner_points, on_grid, open_outlines, outlines, put_together
from layercut.geometry.parallel import each
from layercut.geometry.precision import AREA_MM2
from layercut.geometry.regions import EMPTY, Region, as_region, polygons_of, prepared, union
from layercut.model import Layer, Paint, PaintedRegion, Panel
from layercut.stack.coats import Coats, gather_coats
from layercut.stack.composing import MOST_COATS, CellPaint, Composer, find_lying
from layercut.stack.crowding import make_crowd
from layercut.stack.faces import Face
from layercut.stack.moved_paint import move_coats, move_faces
from layercut.stack.resolve_islands import ResolvedSheet
from layercut.stack.wood import bare_ground
from layercut.units import said_mm2

MOST_REGIONS = 10_000
"""Painted regions of a sheet: more than anyone paints, and than any view can show."""

BEYOND_MM = 0.05
"""Outlines go on so far beyond what is to be painted, so that they cross its edge, mm."""

Indices = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class PaintedSheets:
    """The painted regions of each sheet, back to front, and what there is to say about them.

    `regions` are what shows, `own` the colours of a sheet's own wood as drawn; both with the pieces of sheets in
    front that are painted there. `merged` are the colours for which others stand, and `told` what there is to say
    about that; `fewer_pots` sets both.
    """

    regions: tuple[tuple[PaintedRegion, ...], ...]
    own: tuple[tuple[PaintedRegion, ...], ...]
    findings: tuple[tuple[Finding, ...], ...]
    merged: tuple[Merged, ...] = ()
    told: tuple[Finding, ...] = ()


def paint_sheets(
    panel: Panel, layers: Sequence[Layer], faces: Sequence[Face], resolved: Sequence[ResolvedSheet]
) -> PaintedSheets:
    """Compose the paint of each sheet with what shines through it and what lies upon it.

    A drawing without translucent paint comes out as its faces are, but for what is painted behind.
    """
    given = [one.given for one in resolved]
    faces = move_faces(faces, given)
    own = tuple(face.painted for face in faces)
    coats = gather_coats(layers)
    if coats is None:
        return PaintedSheets(own, own, tuple(() for _ in faces))
    coats = move_coats(coats, given)
    bare = bare_ground(panel, [one.sheet.visible for one in resolved])
    sheets = [
        _SheetToPaint(coats, index, face, one.sheet.visible, EMPTY if index else bare)
        for index, (face, one) in enumerate(zip(faces, resolved, strict=True))
    ]
    done = each(_paint_sheet, sheets)
    findings = tuple(_findings_of(layer.name, one) for layer, one in zip(layers, done, strict=True))
    return PaintedSheets(tuple(one.regions for one in done), own, findings)


@dataclass(frozen=True, slots=True)
class _SheetToPaint:
    """One sheet to be painted; `bare` is the ground that no face covers, which is the back sheet's."""

    coats: Coats
    index: int
    face: Face
    visible: Region
    bare: Region

    def own(self) -> Indices:
        """The sheet's own coats that something shines through, and its glazes."""
        coats = self.coats
        return np.flatnonzero((coats.sheet == self.index) & ~coats.opaque & ~coats.opening)

    def front(self) -> Indices:
        """The glazes of sheets in front that are seen upon this one; they go on under what lies before it."""
        coats = self.coats
        some = np.flatnonzero((coats.sheet > self.index) & ~shapely.is_empty(coats.glazes))
        shown = np.zeros(len(some), dtype=np.bool_)
        for region in (self.visible, self.bare):
            shown |= shapely.intersects(prepared(region), coats.glazes[some])
        return some[shown]


@dataclass(frozen=True, slots=True)
class _Done:
    """A sheet's painted regions, how many coats lost their outlines, and how much is painted in a mean colour."""

    regions: tuple[PaintedRegion, ...]
    faded: int = 0
    deep_mm2: float = 0.0


def _findings_of(layer: str, done: _Done) -> tuple[Finding, ...]:
    findings = []
    if done.faded:
        message = (
            f"translucent paints part this sheet into more than {MOST_REGIONS} regions, so the {done.faded} outlines "
            "that are seen least were left out, and their colours spread over the regions that they lie on. "
            "Unite such shapes, or draw fewer."
        )
        findings.append(Finding("paints-many", "warning", message, layer))
    if done.deep_mm2 >= AREA_MM2:
        message = (
            f"on {said_mm2(done.deep_mm2)} more than {MOST_COATS} blends lie over each other, so their mean colour "
            "stands for them. Unite such shapes, or draw fewer."
        )
        findings.append(Finding("paints-many", "warning", message, layer))
    return tuple(findings)


def _paint_sheet(sheet: _SheetToPaint) -> _Done:
    own, front = sheet.own(), sheet.front()
    if not len(own) and not len(front):
        return _Done(sheet.face.painted)
    outlined = _outlined(sheet, own, front)
    spare = outlined.spare
    crowd = make_crowd(outlined.regions[spare], outlined.seen[spare], outlined.scope, MOST_REGIONS)
    # How many regions some outlines make is known only once they are noded: fewer are kept until it is few enough.
    while True:
        done = _compose(sheet, own, front, outlined, crowd.kept)
        count = sum(len(polygons_of(part.region)) for part in done.regions)
        if count <= MOST_REGIONS or crowd.keep <= 1:
            return done
        crowd = crowd.smaller(count)


@dataclass(frozen=True, slots=True)
class _Outlined:
    """The regions whose outlines part a sheet's paint, in paint order: the coat of each, how much is seen of it, mm2,
    whether it hides outlines under it, and which may lose theirs; and the scope, all that is to be painted."""

    coat: Indices
    regions: NDArray[np.object_]
    seen: NDArray[np.float64]
    covering: NDArray[np.bool_]
    spare: Indices
    scope: Region


def _outlined(sheet: _SheetToPaint, own: Indices, front: Indices) -> _Outlined:
    """All coats of the sheet itself, the glazes upon it, and what shines through its own coats from deeper sheets."""
    coats = sheet.coats
    scope = union((sheet.face.region, sheet.bare))
    through = as_region(shapely.intersection(scope, union(coats.regions[own])))
    front = _meeting(coats.glazes, front, scope)
    deeper = _meeting(coats.regions, np.flatnonzero(coats.sheet < sheet.index), through)
    same = _meeting(coats.regions, np.flatnonzero(coats.sheet == sheet.index), scope)
    coat = np.concatenate([deeper, same, front])
    regions = np.concatenate([coats.regions[deeper], coats.regions[same], coats.glazes[front]])
    order = np.argsort(coat)  # a piece that is painted behind was drawn after sheets that are in front of it now
    coat, regions = coat[order], regions[order]
    opened = np.isin(coats.layer, coats.layer[coats.opening])  # what is opened again hides nothing
    covering = (coats.opaque & ~opened)[coat]
    strength = [1.0 if coats.opening[one] else most_opaque(coats.coats[one]) for one in coat]
    # The sheet's own opaque shapes have outlines whatever lies upon them.
    fixed = (coats.sheet[coat] == sheet.index) & (coats.opaque | coats.opening)[coat]
    return _Outlined(coat, regions, shapely.area(regions) * strength, covering, np.flatnonzero(~fixed), scope)


def _meeting(regions: NDArray[np.object_], some: Indices, area: Region) -> Indices:
    """Those of some regions that reach into an area."""
    if area.is_empty or not len(some):
        return some[:0]
    return np.asarray(some[np.sort(STRtree(regions[some]).query(area, predicate="intersects"))])


def _compose(
    sheet: _SheetToPaint, own: Indices, front: Indices, outlined: _Outlined, kept: NDArray[np.bool_]
) -> _Done:
    """The sheet's painted regions, parted along the outlines that are kept."""
    coats = sheet.coats
    faded = np.zeros(len(coats.coats), dtype=np.bool_)
    faded[outlined.coat[outlined.spare[~kept]]] = True
    sharp = ~faded[outlined.coat]
    lines = [
        _within(open_outlines(outlined.regions[sharp], outlined.covering[sharp]), outlined.scope),
        _lines(coats.glazes[own[_are_partly(coats, own)]]),  # where the wood of what fades ends
        _mask_outlines([coats.coats[one] for one in outlined.coat]),
        # What is painted ends in closed lines, whatever rounding did to those that run along its edge.
        _lines(on_grid(np.array([sheet.face.region, sheet.bare], dtype=object))),
    ]
    cells = cells_between(np.concatenate(lines))
    inside = _inside(sheet, cells, coats.glazes[np.concatenate([own, front])])
    cells, points = cells[inside], inner_points(cells[inside])
    where = np.full(len(coats.coats), None, dtype=object)
    where[outlined.coat] = coats.regions[outlined.coat]
    where[front] = coats.glazes[front]
    lying = find_lying(coats, where, faded, cells, points)
    paints = list(Composer(coats, points, lying).compose())
    deep = [one.cell for one in paints if one.deep]
    return _Done(_gather(paints, cells), int(faded.sum()), float(shapely.area(cells[deep]).sum()))


def _within(lines: NDArray[np.object_], scope: Region) -> NDArray[np.object_]:
    """What of some lines lies in a region, and goes on a little beyond its edge, so that it crosses that."""
    around = shapely.buffer(scope, BEYOND_MM, join_style="mitre")
    shapely.prepare(around)
    lines = lines[shapely.intersects(around, lines)]
    cut = ~shapely.contains_properly(around, lines)
    parts = [part for line in shapely.intersection(lines[cut], around) for part in lines_of(line)]
    return np.concatenate([lines[~cut], np.array(parts, dtype=object)])


def _are_partly(coats: Coats, some: Indices) -> NDArray[np.bool_]:
    """Which of some coats are a glaze in one part and wood in another: (n,)."""
    same = (coats.regions[one] is coats.glazes[one] for one in some)
    whole = np.fromiter(same, dtype=np.bool_, count=len(some))
    return np.asarray(~shapely.is_empty(coats.glazes[some]) & ~whole)


def _mask_outlines(coats: Sequence[Coat]) -> NDArray[np.object_]:
    """The lines where masks of some coats change from one part to another."""
    masks = {id(veil.mask): veil.mask for coat in coats for veil in coat.veils if veil.mask is not None}
    parts = [region for mask in masks.values() if len(mask.parts) > 1 for region, _ in mask.parts]
    return _lines(on_grid(np.array(parts, dtype=object)) if parts else np.zeros(0, dtype=object))


def _lines(regions: NDArray[np.object_]) -> NDArray[np.object_]:
    """The outlines of regions as single lines."""
    return np.asarray(shapely.get_parts(outlines(regions)))


def _inside(sheet: _SheetToPaint, cells: NDArray[np.object_], glazes: NDArray[np.object_]) -> Indices:
    """The cells on the sheet's face, and those on its bare ground on which a glaze lies."""
    points = inner_points(cells)
    inside = _contains(sheet.face.region, points)
    if not sheet.bare.is_empty:
        bare = np.flatnonzero(_contains(sheet.bare, points) & ~inside)
        inside[bare[np.unique(STRtree(points[bare]).query(glazes, predicate="contains")[1])]] = True
    return np.flatnonzero(inside)


def _contains(region: Region, points: NDArray[np.object_]) -> NDArray[np.bool_]:
    return np.asarray(shapely.contains(prepared(region), points), dtype=np.bool_)


def _gather(paints: Sequence[CellPaint], cells: NDArray[np.object_]) -> tuple[PaintedRegion, ...]:
    """One region for each colour. What it lies upon is told where all of it is glazed: the paint under most of it."""
    by_look: dict[object, list[CellPaint]] = {}
    for one in sorted(paints, key=lambda one: one.cell):
        by_look.setdefault(one.paint.washes or one.paint.colour, []).append(one)
    areas = shapely.area(cells).tolist()
    regions = each(lambda some: _together(cells[[one.cell for one in some]]), list(by_look.values()))
    painted = []
    for some, region in zip(by_look.values(), regions, strict=True):
        unders: dict[Paint | None, float] = {}
        for one in some:
            unders[one.paint.under] = unders.get(one.paint.under, 0.0) + areas[one.cell]
        under = None if None in unders else max(unders, key=lambda paint: unders[paint])
        painted.append(PaintedRegion(Paint(some[0].paint.colour, washes=some[0].paint.washes, under=under), region))
    return tuple(part for part in painted if not part.region.is_empty)


def _together(cells: NDArray[np.object_]) -> Region:
    only: Region = cells[0]
    return only if len(cells) == 1 else put_together(cells)
