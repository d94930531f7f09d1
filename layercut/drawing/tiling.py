"""A shape filled with what a pattern repeats.

Enters: the shape's region and the shapes of one tile, mm. Leaves: the same shapes repeated over the region, cut off
at each tile and at the region's edge. What repeats in one colour is one shape, whose parts join where tiles meet;
what has a gradient of its own is a shape a tile. Holds: no more than so many repeats; else the mean colour.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from layercut.colour.coats import Coat, Mask, Veil
from layercut.colour.folding import mean_wash
from layercut.colour.laying import lay_out
from layercut.colour.washes import FlatWash, GradedWash, GroupWash, Wash
from layercut.drawing.diagnostics import Diagnostics
from layercut.drawing.display_list import Ink, Item, Point, Tiles
from layercut.geometry.lines import lines_of, together
from layercut.geometry.precision import AREA_MM2, GRID_MM
from layercut.geometry.regions import EMPTY, Region, as_region, polygons_of, prepared
from layercut.model import Paint, Shape

MAX_REPEATS = 20_000
"""Tiles of one shape; a roof of 200 mm with shingles of 2 mm has 10,000."""

MAX_APART = 2_000
"""The same where each tile has a gradient of its own."""

FloatArray = NDArray[np.float64]


def repeat(
    region: Region, ink: Ink, item: Item, content: Sequence[Shape], room: int, *, diagnostics: Diagnostics, layer: str
) -> Iterator[Shape]:
    """The content's shapes over a region, each with the coat that it has there, the groups of its shape outermost.

    `room` is how many points they may have together.
    """
    tiles = ink.tiles
    assert tiles is not None
    veils = item.veils if ink.wash.opacity >= 1 else (*item.veils, Veil((tiles.serial,), ink.wash.opacity))
    shifts = _shifts(region, tiles)
    apart = any(shape.coat is not None and _has_place(shape.coat) for shape in content)
    points = 0 if shifts is None else len(shifts) * sum(shapely.get_num_coordinates(s.geometry) for s in content)
    if shifts is None or points > room or (apart and len(shifts) > MAX_APART):
        statement = "a pattern repeats too often to be drawn, and its mean colour stands for it"
        hint = "Make its tile larger, or give the shape a plain colour."
        diagnostics.add("tiles-many", statement, hint, layer=layer, element=item.element)
        mean = _mean(content, tiles)
        yield Shape("wood", region, Paint.over((mean,)), item.element, item.called, Coat(region, mean, veils))
        return
    tiled = _Tiled(region, _outline(tiles), shifts, tiles.serial, veils)
    for shape in content:
        for one in tiled.repeated(shape):
            yield replace(one, element=item.element, called=item.called)


@dataclass(frozen=True, slots=True)
class _Tiled:
    """Where tiles lie: the shape's region, the base tile, the way from it to each of the others, (n, 2) mm."""

    region: Region
    tile: shapely.Polygon
    shifts: FloatArray
    serial: int
    veils: tuple[Veil, ...]

    def repeated(self, shape: Shape) -> Iterator[Shape]:
        """One shape of the tile, repeated."""
        if shape.role == "mark-line":
            lines = self._lines(shape.geometry)
            if not lines.is_empty:
                yield replace(shape, geometry=lines, coat=None)
            return
        coat = shape.coat or Coat(as_region(shape.geometry), shape.paint.wash)
        if not _has_place(coat):
            region = self._areas(coat.region)
            if not region.is_empty:
                yield self._with(shape, region, coat)
            return
        # What has a place of its own, such as a gradient, can't be one shape with its like: each tile has its own.
        inside = _clipped(coat.region, self.tile)
        for dx, dy in self.shifts.tolist():
            moved = _moved(replace(coat, region=inside), (dx, dy))
            region = as_region(shapely.intersection(moved.region, self.region))
            if not region.is_empty:
                yield self._with(shape, region, moved)

    def _with(self, shape: Shape, region: Region, coat: Coat) -> Shape:
        inner = tuple(replace(veil, key=(self.serial, *veil.key)) for veil in coat.veils)
        laid = Coat(region, coat.wash, (*self.veils, *inner))
        plain = shape.role != "wood"
        return replace(shape, geometry=region, coat=None if plain else laid)

    def _areas(self, area: Region) -> Region:
        """A region of the tile, repeated and cut off at the shape's edge."""
        if shapely.intersection(area, self.tile).area > self.tile.area * (1 - 1e-9):
            return self.region
        inside = _clipped(area, self.tile)
        if inside.is_empty:
            return EMPTY
        # Copies that lie inside need no cutting, and no joining if they keep away from the tile's edge: most do.
        copies = _copies(polygons_of(inside), self.shifts)
        core = shapely.buffer(self.tile, -2 * GRID_MM, join_style="mitre")
        if not shapely.covers(core, inside):
            # Cut a grid step beyond the tile, so that what goes on in the next one overlaps and joins.
            copies = np.array(polygons_of(shapely.union_all(copies, grid_size=GRID_MM)), dtype=object)
        region = prepared(self.region)
        whole = shapely.contains_properly(region, copies)
        cut = shapely.intersection(copies[~whole], region)
        parts = [part for some in cut for part in polygons_of(some)]
        return as_region(shapely.MultiPolygon([*copies[whole], *parts]))

    def _lines(self, lines: BaseGeometry) -> BaseGeometry:
        inside = lines_of(shapely.intersection(lines, self.tile))
        if not inside:
            return shapely.MultiLineString()
        region = prepared(self.region)
        copies = _copies(inside, self.shifts)
        whole = shapely.contains_properly(region, copies)
        cut = shapely.intersection(copies[~whole], region)
        return together([*copies[whole], *(line for some in cut for line in lines_of(some))])


def _clipped(area: Region, tile: shapely.Polygon) -> Region:
    return as_region(shapely.intersection(area, shapely.buffer(tile, GRID_MM, join_style="mitre")))


def _copies(parts: Sequence[BaseGeometry], shifts: FloatArray) -> NDArray[np.object_]:
    """Every part at every shift, all coordinates moved at once."""
    base = np.array(parts, dtype=object)
    coordinates = shapely.get_coordinates(base)
    copies = np.tile(base, len(shifts))
    moved = coordinates[None] + shifts[:, None]
    return np.asarray(shapely.set_coordinates(copies, moved.reshape(-1, 2)))


def _outline(tiles: Tiles) -> shapely.Polygon:
    corner, across, down = (np.array(one) for one in (tiles.corner, tiles.across, tiles.down))
    return shapely.Polygon([corner, corner + across, corner + across + down, corner + down])


def _shifts(region: Region, tiles: Tiles) -> FloatArray | None:
    """The ways from the base tile to all that the region meets, row by row: (n, 2) mm; None for too many."""
    x0, y0, x1, y1 = region.bounds
    sides = np.array([tiles.across, tiles.down]).T
    corners = np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1)]) - tiles.corner
    at = np.linalg.solve(sides, corners.T)
    (i0, j0), (i1, j1) = np.floor(at.min(axis=1)), np.floor(at.max(axis=1))
    # A turned pattern has tiles around the region that it doesn't meet: never more than a few times those it does.
    if not np.isfinite((i0, j0, i1, j1)).all() or (i1 - i0 + 1) * (j1 - j0 + 1) > 8 * MAX_REPEATS:
        return None
    across, down = np.meshgrid(np.arange(i0, i1 + 1), np.arange(j0, j1 + 1))
    shifts = np.stack((across.ravel(), down.ravel()), axis=1) @ sides.T
    shifts = shifts[shapely.intersects(prepared(region), _copies([_outline(tiles)], shifts))]
    return None if len(shifts) > MAX_REPEATS else shifts


def _has_place(coat: Coat) -> bool:
    """True when a coat isn't the same wherever it is moved to."""
    return not isinstance(coat.wash, FlatWash) or any(veil.mask is not None for veil in coat.veils)


def _moved(coat: Coat, way: Point) -> Coat:
    veils = tuple(
        veil if veil.mask is None else replace(veil, mask=_moved_mask(veil.mask, way)) for veil in coat.veils
    )
    return Coat(_shifted(coat.region, way), _moved_wash(coat.wash, way), veils)


def _moved_mask(mask: Mask, way: Point) -> Mask:
    parts = tuple(
        (_shifted(region, way), tuple(_moved_wash(wash, way) for wash in washes)) for region, washes in mask.parts
    )
    return replace(mask, parts=parts)


def _shifted(region: Region, way: Point) -> Region:
    return as_region(shapely.transform(region, lambda points: points + np.array(way)))


def _moved_wash(wash: Wash, way: Point) -> Wash:
    if isinstance(wash, GradedWash):
        a, b, c, d, e, f = wash.gradient.to_mm
        return replace(wash, gradient=replace(wash.gradient, to_mm=(a, b, c, d, e + way[0], f + way[1])))
    if isinstance(wash, GroupWash):
        washes = tuple(_moved_wash(inner, way) for inner in wash.washes)
        return replace(wash, washes=washes, mask=tuple(_moved_wash(inner, way) for inner in wash.mask))
    return wash


def _mean(content: Sequence[Shape], tiles: Tiles) -> FlatWash:
    """What a tile looks like from afar: the mean of what its parts come to, by their area; clear if it is empty."""
    tile = _outline(tiles)
    painted = (shape for shape in content if shape.role == "wood")
    coats = [shape.coat or Coat(as_region(shape.geometry), shape.paint.wash) for shape in painted]
    inside = [replace(coat, region=as_region(shapely.intersection(coat.region, tile))) for coat in coats]
    colour, opacity = np.zeros(3), 0.0
    for region, washes in lay_out(inside):
        flat = mean_wash(washes)
        share = flat.opacity * region.area / max(tile.area, AREA_MM2 * 1e-6)
        colour, opacity = colour + share * np.array(flat.colour), opacity + share
    if opacity <= 0:
        return FlatWash((0.0, 0.0, 0.0), 0.0)
    red, green, blue = (float(value) for value in np.clip(colour / opacity, 0, 1))
    return FlatWash((red, green, blue), min(opacity, 1.0))
