"""How far paint reaches under the sheet in front, and whose paint that is.

Enters: what is seen of a sheet, its wood, and the overlap, mm. Leaves: regions of its covered wood. Offsets here
are for a brush: they keep within a twentieth of a millimetre, so that foliage doesn't cost seconds.
"""

from collections.abc import Sequence

import numpy as np
import shapely
from shapely import MultiPolygon, Polygon, STRtree

from layercut.geometry.precision import AREA_MM2
from layercut.geometry.regions import EMPTY, Region, as_region, polygons_of, union
from layercut.geometry.thinning import thinned

BRUSH_MM = 0.05
"""No brush follows a line closer than this, mm."""

ARC_CHORDS = 3
"""Chords in a quarter circle around a corner: off by 1.7 % of the overlap."""

MOST_SHARED = 400
"""So many strips between several paints of a sheet are parted exactly; further ones go to the nearest paint whole."""


def coarse(region: Region, tolerance_mm: float = BRUSH_MM) -> Region:
    """A region with fewer vertices, as exact as a brush; parts too small to paint fall away."""
    simple = thinned(region, tolerance_mm)
    return as_region(simple if simple.is_valid else shapely.make_valid(simple))


def reach_under(visible: Region, wood: Region, overlap_mm: float) -> Region:
    """The covered wood within the overlap of what is seen: where its paint goes on, under the sheet in front.

    Empty without an overlap.
    """
    if not overlap_mm or visible.is_empty:
        return EMPTY
    seen = coarse(visible)
    near = shapely.buffer(seen, overlap_mm, quad_segs=ARC_CHORDS)
    strip = shapely.difference(shapely.intersection(near, coarse(wood)), seen)
    return as_region(MultiPolygon(_paintable(polygons_of(strip))))


def share_out(
    strip: Region, visible: Sequence[Region], faces: Sequence[Region], face: Region, overlap_mm: float
) -> list[Region]:
    """Part a strip between the paints of a sheet, given by what is seen of each and by its whole face as drawn.

    `face` is all faces together. Where one is drawn under the sheet in front, its own paint goes there; elsewhere the
    paint that is nearest.
    """
    if strip.is_empty or len(visible) == 1:
        return [strip, *([EMPTY] * (len(visible) - 1))]
    rough = [coarse(one) for one in faces]
    shapely.prepare(strip)
    shares: list[list[Region]] = [
        [as_region(shapely.intersection(strip, one))] if shapely.intersects(strip, one) else [] for one in rough
    ]
    rest = shapely.difference(strip, coarse(face))
    _to_nearest(_paintable(polygons_of(rest)), [coarse(region) for region in visible], shares, overlap_mm)
    return [share[0] if len(share) == 1 else union(share) for share in shares]


def _paintable(parts: Sequence[Polygon]) -> list[Polygon]:
    """The parts that are wider than the brush is exact: the rest are what simplifying left between equal edges."""
    if not parts:
        return []
    shapes = np.array(parts, dtype=object)
    area = shapely.area(shapes)
    keep = (area >= AREA_MM2) & (2 * area >= BRUSH_MM * shapely.length(shapes))
    return list(shapes[keep])


def _to_nearest(
    parts: Sequence[Polygon], visible: Sequence[Region], shares: list[list[Region]], overlap_mm: float
) -> None:
    """Give each part to the paint beside it; a part beside several is cut up between them. Adds to `shares`."""
    seen = [(index, polygon) for index, region in enumerate(visible) for polygon in polygons_of(region)]
    if not parts or not seen:
        return
    owner = np.array([index for index, _ in seen])
    polygons = np.array([polygon for _, polygon in seen], dtype=object)
    tree = STRtree(polygons)
    # Both are thinned by a brush's exactness, so that neighbours may lie apart by twice that.
    which, near = tree.query(np.array(parts, dtype=object), predicate="dwithin", distance=2 * BRUSH_MM)
    beside: dict[int, list[int]] = {}
    for part, polygon in sorted(zip(which.tolist(), near.tolist(), strict=True)):
        beside.setdefault(part, []).append(polygon)
    shared = 0
    for place, part in enumerate(parts):
        hits = beside.get(place, [])
        owners = sorted({int(owner[hit]) for hit in hits})
        if len(owners) > 1 and shared < MOST_SHARED:
            shared += 1
            near_by = {one: [polygons[hit] for hit in hits if owner[hit] == one] for one in owners}
            _cut_up(part, near_by, shares, overlap_mm)
        else:
            nearest = owners[0] if owners else int(owner[tree.nearest(shapely.point_on_surface(part))])
            shares[nearest].append(part)


def _cut_up(part: Polygon, beside: dict[int, list[Polygon]], shares: list[list[Region]], overlap_mm: float) -> None:
    """Part one strip between the paints along it: each takes what is within the overlap of it and still free."""
    x0, y0, x1, y1 = part.bounds
    around = shapely.box(x0 - overlap_mm, y0 - overlap_mm, x1 + overlap_mm, y1 + overlap_mm)
    rest: Region = part
    *some, last = beside
    for owner in some:
        near = union(shapely.intersection(polygon, around) for polygon in beside[owner])
        mine = as_region(shapely.intersection(rest, shapely.buffer(near, overlap_mm, quad_segs=ARC_CHORDS)))
        shares[owner].append(mine)
        rest = as_region(shapely.difference(rest, mine))
    shares[last].append(rest)
