"""A layer's face: which part of it is wood, and which paint lies where.

Enters: a `Layer`, whose shapes overlap as drawn. Leaves: a `Face`, its region and its painted regions, which don't
overlap, tile the face, and share their edges to the last digit.
"""

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon, Polygon, STRtree

from layercut.errors import DrawingError
from layercut.geometry.noding import cells_between, inner_points, on_grid, open_outlines, put_together
from layercut.geometry.offsets import can_be_seen
from layercut.geometry.parallel import each
from layercut.geometry.precision import SIGHT_MM
from layercut.geometry.regions import EMPTY, Region, as_region, bar_width, polygons_of, union
from layercut.model import Layer, Paint, PaintedRegion, Shape

MAX_MEETINGS = 300_000
"""Pairs of outlines of a layer that meet where they show. Cells and memory grow with them: 260,000 take 27 s and
1.8 GB to be told apart, and 16,000 leaves have a fifth of the limit."""


@dataclass(frozen=True, slots=True)
class Face:
    """The part of a layer that is wood, and the regions of its paints.

    `specks` are parts that lie alone and are too small or too thin to be seen; they are left out of both.
    """

    region: Region
    painted: tuple[PaintedRegion, ...]
    specks: tuple[Polygon, ...] = ()


def find_face(layer: Layer) -> Face:
    """The face of a layer: later shapes lie over earlier ones, and an opening takes away what it lies over.

    Empty for a layer without wood. Raises DrawingError `too-crowded`.
    """
    face = _as_drawn(layer)
    parts = polygons_of(face.region)
    specks = tuple(part for part in parts if bar_width(part) < SIGHT_MM and not can_be_seen(part))
    if not specks:
        return face
    kept = as_region(MultiPolygon([part for part in parts if part not in specks]))
    gone = union(specks)
    painted = ((part.paint, as_region(shapely.difference(part.region, gone))) for part in face.painted)
    return Face(kept, tuple(PaintedRegion(paint, region) for paint, region in painted if not region.is_empty), specks)


def _as_drawn(layer: Layer) -> Face:
    shapes = [shape for shape in layer.shapes if shape.role in ("wood", "opening") and not shape.geometry.is_empty]
    woods = [shape for shape in shapes if shape.role == "wood"]
    if not woods:
        return Face(EMPTY, ())
    if len(shapes) == len(woods) and len({shape.paint for shape in woods}) == 1:
        region = union(shape.geometry for shape in woods)
        return Face(region, (PaintedRegion(woods[0].paint, region),))
    return _paint_by_cells(shapes, layer.name)


def _paint_by_cells(shapes: list[Shape], layer: str) -> Face:
    """All outlines that show are noded once; each cell belongs to the last shape over it."""
    regions = on_grid(np.array([shape.geometry for shape in shapes], dtype=object))
    lines = open_outlines(regions)
    _check_meetings(lines, layer)
    cells = cells_between(lines)
    top = _topmost(cells, regions)
    by_paint: dict[Paint, list[int]] = {}
    for index, shape in enumerate(shapes):
        if shape.role == "wood":
            by_paint.setdefault(shape.paint, []).append(index)
    chosen = [cells[np.isin(top, indices)] for indices in by_paint.values()]
    regions_of_paints = each(put_together, chosen)
    painted = [PaintedRegion(*pair) for pair in zip(by_paint, regions_of_paints, strict=True) if not pair[1].is_empty]
    return Face(put_together(np.array(regions_of_paints, dtype=object)), tuple(painted))


def _check_meetings(lines: NDArray[np.object_], layer: str) -> None:
    """Hold that the cells between lines can be counted and held. Boxes that meet are counted first: that is quick."""
    tree = STRtree(lines)
    for predicate in (None, "intersects"):
        found, _ = tree.query(lines, predicate=predicate)
        count = (len(found) - len(lines)) // 2  # each pair is found twice, and each line meets itself
        if count <= MAX_MEETINGS:
            return
    message = f"its shapes cross or touch each other at {count} places; the most is {MAX_MEETINGS}."
    hint = "Unite shapes of one colour in your editor, delete those that are covered, or split the layer."
    raise DrawingError("too-crowded", message, hint, layer=layer)


def _topmost(cells: NDArray[np.object_], regions: NDArray[np.object_]) -> NDArray[np.int64]:
    """For each cell the index of the last region over it, -1 for none, shape (n,)."""
    top = np.full(len(cells), -1, dtype=np.int64)
    # Asked from the regions' side, because only the asking geometry is prepared.
    region, cell = STRtree(inner_points(cells)).query(regions, predicate="contains")
    np.maximum.at(top, cell, region)
    return top
