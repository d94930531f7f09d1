"""Cut a written sheet in thought.

Enters: a sheet as read back and the kerf. Leaves: the wood that is left, and what the beam can't do. Shares nothing
with the stages that planned the cuts.
"""

from collections.abc import Sequence

import shapely
from shapely import LinearRing, Polygon, STRtree
from shapely.geometry.base import BaseGeometry

from layercut.proof.reader import ReadSheet
from layercut.proof.regions import EMPTY, both, even_odd, grown, region, union, without

APART_MM = 0.02
"""Pieces that hung or lay together are planned a kerf and this much apart, mm."""

MITRE = 5.0
"""How far the cut line around a sharp corner reaches, in half kerfs, before it is cut off."""


def remaining_wood(sheet: ReadSheet, kerf_mm: float) -> BaseGeometry:
    """The wood that is left when the beam has followed every cut contour: even-odd, less half the kerf all round.

    Empty for a sheet without cuts.
    """
    rings = [LinearRing(ring) for ring in sheet.contours("cut-opening", "cut-outline") if len(ring) >= 4]
    wood = even_odd(rings)
    return grown(wood, -kerf_mm / 2) if kerf_mm else wood


def out_of_reach(opening: BaseGeometry, kerf_mm: float) -> BaseGeometry:
    """What of an opening stays wood, because no beam that keeps off the wood around it gets there.

    That is its corners, which a round beam leaves round, what is narrower than the beam, and the place before a thorn
    of wood: the cut lines that lead around its point and along what it points at meet there.
    """
    if not kerf_mm or opening.is_empty:
        return EMPTY
    x0, y0, x1, y1 = opening.bounds
    margin = 10 * kerf_mm
    solid = without(shapely.box(x0 - margin, y0 - margin, x1 + margin, y1 + margin), opening)
    lines = region(shapely.buffer(solid, kerf_mm / 2, join_style="mitre", mitre_limit=MITRE))
    return both(grown(lines, -kerf_mm / 2), opening)


def slits(pieces: Sequence[Polygon], kerf_mm: float, tolerance_mm: float) -> BaseGeometry:
    """The gaps between pieces of one sheet that lie as near to each other as the beam can part them.

    There a piece may have hung, or touched, so that wood that should be seen had to go. Empty for a single piece.
    """
    reach = (kerf_mm + APART_MM) / 2 + tolerance_mm
    order = sorted(range(len(pieces)), key=lambda index: -pieces[index].area)
    tree = STRtree(list(pieces))
    found = []
    for index in order[1:]:
        piece = pieces[index]
        near = [other for other in tree.query(piece, predicate="dwithin", distance=2 * reach) if other != index]
        around = shapely.box(*shapely.buffer(shapely.box(*piece.bounds), 3 * reach).bounds)
        others = union([both(pieces[other], around) for other in sorted(near)])
        middle = both(grown(piece, reach), grown(others, reach))
        if not middle.is_empty:
            found.append(grown(middle, reach + tolerance_mm))
    return union(found)
