"""Cut a written sheet in thought.

Enters: a sheet as read back and the kerf. Leaves: the wood that is left, and what the beam can't do. Shares nothing
with the stages that planned the cuts.
"""

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LinearRing, Polygon, STRtree
from shapely.geometry.base import BaseGeometry

from layercut.proof.reader import ReadSheet
from layercut.proof.regions import EMPTY, QUARTER, both, even_odd, grown, region, runs, union, without

APART_MM = 0.02
"""Pieces that hung or lay together are planned a kerf and this much apart, mm."""

MITRE = 5.0
"""How far the cut line around a sharp corner reaches, in half kerfs, before it is cut off."""

REACH = (MITRE + 1) / 2
"""Wood further away than this, in kerfs, keeps no beam from a place: its cut line, and half the beam beside it."""


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
    margin = 2 * REACH * kerf_mm
    solid = without(shapely.box(x0 - margin, y0 - margin, x1 + margin, y1 + margin), opening)
    lines = region(shapely.buffer(solid, kerf_mm / 2, join_style="mitre", mitre_limit=MITRE))
    return both(grown(lines, -kerf_mm / 2), opening)


def slits(pieces: Sequence[Polygon], kerf_mm: float, tolerance_mm: float) -> BaseGeometry:
    """The gaps between pieces of one sheet that lie as near to each other as the beam can part them.

    There a piece may have hung, or touched, so that wood that should be seen had to go. Empty for a single piece.
    """
    reach = (kerf_mm + APART_MM) / 2 + tolerance_mm
    if len(pieces) < 2:
        return EMPTY
    by_size = sorted(pieces, key=lambda piece: -piece.area)
    lines, owner = runs(by_size)
    smaller = np.array(by_size[1:], dtype=object)
    piece, line = STRtree(lines).query(smaller, predicate="dwithin", distance=2 * reach)
    foreign = owner[line] != piece + 1
    piece, line = piece[foreign], line[foreign]
    # Pieces don't overlap, so what lies within reach of both lies within reach of the other's edge as well.
    near = [shapely.multilinestrings(lines[np.sort(line[piece == one])]) for one in np.unique(piece)]
    middles = shapely.intersection(_grown(smaller[np.unique(piece)], reach), _grown(near, reach))
    return union(_grown(middles[~shapely.is_empty(middles)], reach + tolerance_mm))


def _grown(shapes: Sequence[BaseGeometry] | NDArray[np.object_], distance_mm: float) -> NDArray[np.object_]:
    """Each of many shapes as `grown` makes it."""
    return np.asarray(shapely.buffer(np.array(shapes, dtype=object), distance_mm, quad_segs=QUARTER))
