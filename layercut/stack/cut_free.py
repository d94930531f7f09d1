"""Cut loose pieces free from the rest of their sheet.

Enters: how a sheet holds, and the islands that are cut free. Leaves: the sheet's wood, and the pieces as they are
cut. Holds: a piece lies as far from all other wood as the beam needs to part them, and no more of it is missing.
"""

from collections.abc import Sequence
from dataclasses import replace

import shapely
from shapely import MultiPolygon, Polygon, STRtree

from layercut.geometry.offsets import offset_round
from layercut.geometry.precision import AREA_MM2, CUT_APART_MM, GRID_MM
from layercut.geometry.quadtree import QuadtreeRegion
from layercut.geometry.regions import EMPTY, Region, as_region, polygons_of, union
from layercut.model import Island, Panel
from layercut.stack.islands import Connectivity, without_slivers

LEAST_PIECE_MM2 = 2 * AREA_MM2
"""A seen scrap of up to this area that hangs on nothing is not worth a tie or a loose piece, mm2: a square of
0.14 mm, as wide as a beam, of which cutting leaves nothing. That it is left out is told."""

HAIR_MM = 0.008
"""A joint narrower than this doesn't outlast rounding to the grid and the kerf's two offsets, mm."""


def cut_gap_mm(kerf_mm: float) -> float:
    """How far wood must lie from other wood so that the beam parts them, mm: the kerf, and as much more as keeps the
    two cut lines from falling on each other."""
    return kerf_mm + CUT_APART_MM


def cut_free(
    connectivity: Connectivity, ids: frozenset[str], panel: Panel, gap_mm: float
) -> tuple[Region, tuple[Island, ...]]:
    """The sheet's wood with some of its islands cut free, and these as they are then.

    The gap is taken from the piece; the frame is never cut. A piece of which nothing is left is dropped.
    """
    free = [
        (island, as_region(shapely.difference(basin, panel.frame)))
        for island, basin in connectivity.island_basins
        if island.id in ids
    ]
    if not free:
        return connectivity.wood, ()
    rest = without_basins(connectivity.wood, [basin for _, basin in free], panel.frame)
    pieces = _shaved([basin for _, basin in free], QuadtreeRegion(rest), gap_mm)
    cut = tuple(
        replace(island, region=piece, area_mm2=float(piece.area), neck_mm=None, across=())
        for (island, _), piece in zip(free, pieces, strict=True)
        if not piece.is_empty
    )
    return as_region(
        MultiPolygon([*polygons_of(rest), *(part for one in cut for part in polygons_of(one.region))])
    ), cut


def without_basins(wood: Region, basins: Sequence[Region], frame: Polygon) -> Region:
    """The wood without some basins, but with all of the frame."""
    if not basins:
        return wood
    pieces = polygons_of(wood)
    piece, basin = STRtree(basins).query(pieces, predicate="intersects")
    left: list[Polygon] = []
    for index, one in enumerate(pieces):
        mine = [basins[place] for place in sorted(basin[piece == index])]
        left += without_slivers(one, mine, frame) if mine else [one]
    return as_region(MultiPolygon(left))


def _shaved(basins: Sequence[Region], rest: QuadtreeRegion, gap_mm: float) -> list[Region]:
    """Each basin without what lies nearer than the gap to the rest of the wood, or to another basin: of two that are
    near each other the one is shaved that loses less."""
    one, other = STRtree(basins).query(basins, predicate="dwithin", distance=gap_mm)
    pairs = one < other
    one, other = one[pairs], other[pairs]
    against: list[list[Region]] = [[] for _ in basins]
    for a, b in zip(one.tolist(), other.tolist(), strict=True):
        takers = [(_taker(basins[b], basins[a], gap_mm), a), (_taker(basins[a], basins[b], gap_mm), b)]
        taken = [float(shapely.intersection(taker, basins[mine]).area) for taker, mine in takers]
        taker, mine = takers[taken[0] > taken[1]]
        against[mine].append(taker)
    pieces = []
    for basin, takers_here in zip(basins, against, strict=True):
        near = as_region(
            shapely.intersection(rest.around(_box_around(basin, gap_mm)), shapely.box(*_box_around(basin, gap_mm)))
        )
        if not near.is_empty and shapely.dwithin(near, basin, gap_mm):
            takers_here.append(offset_round(near, gap_mm))
        shaved = as_region(shapely.difference(basin, union(takers_here))) if takers_here else basin
        pieces.append(_solid(shaved) if takers_here else basin)
    return pieces


def _taker(other: Region, mine: Region, gap_mm: float) -> Region:
    """What must be taken from a basin so that it lies a gap away from another."""
    box = _box_around(mine, gap_mm)
    return offset_round(as_region(shapely.intersection(other, shapely.box(*box))), gap_mm)


def _box_around(region: Region, gap_mm: float) -> tuple[float, float, float, float]:
    """A region's box, twice the gap larger all around."""
    x0, y0, x1, y1 = region.bounds
    return x0 - 2 * gap_mm, y0 - 2 * gap_mm, x1 + 2 * gap_mm, y1 + 2 * gap_mm


def _solid(piece: Region) -> Region:
    """The largest part of a piece, without crumbs that hang there by a hair; may be empty."""
    cores = polygons_of(shapely.buffer(piece, -HAIR_MM / 2, quad_segs=1))
    largest = max(polygons_of(piece), key=lambda part: float(part.area), default=Polygon())
    mine = [core for core in cores if shapely.intersects(core, largest)]
    if len(mine) < 2:
        return largest if mine else EMPTY
    crumbs = sorted(mine, key=lambda core: float(core.area))[:-1]
    left = shapely.difference(largest, union(offset_round(crumb, HAIR_MM) for crumb in crumbs))
    return max(polygons_of(left), key=lambda part: float(part.area), default=EMPTY)


def without_scraps(visible: Region, specks: Sequence[Polygon], wood: Region) -> Region:
    """What should be seen, without the scraps that touch no wood and are too small for a piece: they are left out."""
    pieces = polygons_of(wood)
    tree = STRtree(pieces)
    scraps = [
        speck
        for speck in specks
        if speck.area < LEAST_PIECE_MM2 and not len(tree.query(speck, predicate="dwithin", distance=GRID_MM))
    ]
    return as_region(shapely.difference(visible, union(scraps))) if scraps else visible
