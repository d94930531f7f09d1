"""Mend a settled sheet: give back seen wood that had to go on the way, and leave out crumbs that hang by nothing.

Enters: the wood as planned in the end, and what was drawn of it. Leaves: the wood that is cut. Holds: pieces that
were apart stay apart, and no more of the picture is missing beside them than the beam takes.
"""

from collections.abc import Sequence
from dataclasses import replace

import shapely
from shapely import MultiPolygon, Polygon, STRtree

from layercut.geometry.offsets import dilate
from layercut.geometry.patchwork import Patchwork
from layercut.geometry.precision import AREA_MM2, GRID_MM
from layercut.geometry.regions import Region, as_region, polygons_of, union
from layercut.model import Island

CRUMB_MM2 = 0.1
"""Wood smaller than this that only a hair joins to the rest is dust, mm2."""

DUST_MM2 = 2 * AREA_MM2
"""A seen scrap of up to this area that hangs on nothing is not worth a tie or a loose piece, mm2; that it is left out
is told."""

HAIR_MM = 0.008
"""A joint narrower than this doesn't outlast rounding to the grid and the kerf's two offsets, mm."""


def give_back(wood: Region, drawn: Region, gap_mm: float) -> Region:
    """The wood with what is missing of `drawn`, except where it would join pieces, or lie nearer to one than the gap.

    Threads and necks are parted before anything is tied, and by more than the beam needs: where ties hold both sides
    now, the picture has no reason to lack that wood. What touches no piece stays away. May be the same wood.
    """
    lost = [part for part in polygons_of(shapely.difference(drawn, wood)) if part.area > AREA_MM2 / 10]
    if not lost:
        return wood
    pieces = polygons_of(wood)
    patches, picture = [Patchwork(piece) for piece in pieces], Patchwork(drawn)
    touching, nearby = (_pieces_near(lost, pieces, distance) for distance in (GRID_MM, gap_mm))
    given = []
    for part, touched, close in zip(lost, touching, nearby, strict=True):
        if not touched:
            continue
        mine = max(touched, key=lambda index: (float(pieces[index].area), -index))
        around = shapely.box(*part.bounds).buffer(2 * gap_mm, join_style="mitre")
        others = [as_region(patches[i].shared_with(around)) for i in close if i != mine]
        # Grown by a grid step: it must overlap its piece, not only touch it.
        added = as_region(picture.shared_with(shapely.buffer(part, GRID_MM, join_style="mitre")))
        added = as_region(shapely.difference(added, union(dilate(other, gap_mm) for other in others)))
        given += [bit for bit in polygons_of(added) if shapely.dwithin(bit, pieces[mine], GRID_MM)]
    return _with_their_pieces(union((wood, *given)), pieces) if given else wood


def _pieces_near(parts: Sequence[Polygon], pieces: Sequence[Polygon], distance_mm: float) -> list[list[int]]:
    """For each part the pieces within a distance of it, in order."""
    # The few large ones ask, as a tree prepares who asks.
    piece, part = STRtree(parts).query(pieces, predicate="dwithin", distance=distance_mm)
    near: list[list[int]] = [[] for _ in parts]
    for which, place in sorted(zip(piece.tolist(), part.tolist(), strict=True)):
        near[place].append(which)
    return near


def _with_their_pieces(wood: Region, pieces: Sequence[Polygon]) -> Region:
    """The wood without scraps that turned out to hang on none of the pieces after all."""
    grown = polygons_of(wood)
    held, _ = STRtree(shapely.point_on_surface(pieces)).query(grown, predicate="intersects")
    return as_region(MultiPolygon([grown[index] for index in sorted(set(held))]))


def drop_crumbs(wood: Region) -> Region:
    """The wood without crumbs that only a hair joins to the rest; the same wood where there are none."""
    pieces = polygons_of(wood)
    solid = polygons_of(shapely.buffer(wood, -HAIR_MM / 2, quad_segs=1))
    if len(solid) <= len(pieces):
        return wood
    crumbs = _smaller_than_their_piece(solid, pieces)
    return as_region(shapely.difference(wood, union(dilate(crumb, HAIR_MM) for crumb in crumbs))) if crumbs else wood


def _smaller_than_their_piece(solid: Sequence[Polygon], pieces: Sequence[Polygon]) -> list[Polygon]:
    """The small parts that are not all there is of a piece."""
    small = [part for part in solid if part.area < CRUMB_MM2]
    tree = STRtree(pieces)
    return [
        part for part in small if any(pieces[i].area >= CRUMB_MM2 for i in tree.query(part, predicate="intersects"))
    ]


def without_dust(visible: Region, specks: Sequence[Polygon], wood: Region) -> Region:
    """What should be seen, without the scraps that were left out since they touch no wood and are dust."""
    pieces = polygons_of(wood)
    tree = STRtree(pieces)
    dust = [
        speck
        for speck in specks
        if speck.area < DUST_MM2 and not len(tree.query(speck, predicate="dwithin", distance=GRID_MM))
    ]
    return as_region(shapely.difference(visible, union(dust))) if dust else visible


def pieces_as_cut(islands: Sequence[Island], wood: Region) -> tuple[Island, ...]:
    """The loose islands with the pieces of wood that they are now."""
    pieces = polygons_of(wood)
    tree = STRtree(pieces)
    cut = []
    for island in islands:
        mine = tree.query(shapely.point_on_surface(island.region), predicate="intersects")
        region = pieces[int(mine[0])] if len(mine) else island.region
        cut.append(replace(island, region=region, area_mm2=float(region.area)))
    return tuple(cut)
