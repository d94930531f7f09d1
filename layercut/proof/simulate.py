"""Cut the written sheets in thought, glue them up, and look from the front.

Enters: sheets as read back, the kerf, and what each sheet should show. Leaves: a `Proof`. Shares nothing with the
stages that planned the cuts.
"""

from collections.abc import Sequence

import numpy as np
import shapely
from shapely import LinearRing, STRtree
from shapely.geometry.base import BaseGeometry

from layercut.model import Proof
from layercut.proof.reader import ReadSheet

DUST_MM2 = 0.01
"""A piece smaller than a tenth of a millimetre square is dust, not a piece that falls out."""


def prove(
    sheets: Sequence[ReadSheet],
    shown: Sequence[BaseGeometry],
    pieces_planned: int,
    kerf_mm: float,
    tolerance_mm: float,
) -> Proof:
    """Compare what the sheets make with what each should show, back to front.

    `shown[i]` is the region of the interior where sheet i should be seen. Differences narrower than twice the
    tolerance plus the kerf are what curves and beam may leave; what is wider counts as mismatch, mm2.
    """
    woods = [remaining_wood(sheet, kerf_mm) for sheet in sheets]
    interior = shapely.union_all(list(shown))
    mismatch = 0.0
    covered: BaseGeometry = shapely.Polygon()
    for wood, expected in zip(reversed(woods), reversed(shown), strict=True):
        seen = shapely.intersection(shapely.difference(wood, covered), interior)
        mismatch += _area_wider_than(shapely.symmetric_difference(seen, expected), tolerance_mm + kerf_mm / 2)
        covered = shapely.union(covered, wood)
    found = sum(int((shapely.area(shapely.get_parts(wood)) >= DUST_MM2).sum()) for wood in woods)
    return Proof(round(mismatch, 3), pieces_planned, found)


def remaining_wood(sheet: ReadSheet, kerf_mm: float) -> BaseGeometry:
    """The wood that is left when the beam has followed every cut contour: even-odd, less half the kerf all round."""
    rings = [
        LinearRing(contour)
        for role in ("cut-opening", "cut-outline")
        for path in sheet.paths.get(role, ())
        for contour in path
        if len(contour) >= 4
    ]
    cells = shapely.get_parts(shapely.polygonize([shapely.union_all(np.array(rings, dtype=object))]))
    filled = shapely.make_valid(shapely.polygons(rings))
    cell, _ = STRtree(filled).query(shapely.point_on_surface(cells), predicate="within")
    depth = np.bincount(cell, minlength=len(cells))
    wood = shapely.union_all(cells[depth % 2 == 1])
    return shapely.buffer(wood, -kerf_mm / 2) if kerf_mm else wood


def _area_wider_than(region: BaseGeometry, tolerance_mm: float) -> float:
    core = shapely.buffer(region, -tolerance_mm, quad_segs=2)
    return float(shapely.buffer(core, tolerance_mm, quad_segs=2).area)
