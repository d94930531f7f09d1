"""Digests: the place and shape of a part of a drawing in a few letters.

Enters: polygons in mm on the panel. Leaves: digests, the same as long as a part keeps its place and its shape,
whatever is drawn, recoloured or moved elsewhere.
"""

import base64
import hashlib
from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from layercut.geometry.precision import AREA_MM2
from layercut.geometry.regions import as_region, polygons_of, union

STEP_MM = 0.5
"""A part that is moved or altered by less may keep its digest, mm: saving a drawing anew with fewer decimals is no
edit, and no other piece of wood is so near to it in place, size and shape."""

OFF_GRID_MM = 0.1537
"""Where the steps begin, mm: at no number that somebody draws at, so that the last bit decides nothing."""

LETTERS = 7
"""Letters of a digest: 35 bits, so that two of 16,000 shapes have the same one in 1 of 270 drawings."""


def measures_of(parts: Sequence[BaseGeometry]) -> NDArray[np.int64]:
    """Place and shape of each part in steps: its box, its middle and how large it is. (n, 7)"""
    if not parts:
        return np.empty((0, 7), dtype=np.int64)
    every = np.array(parts, dtype=object)
    middles = shapely.get_coordinates(shapely.centroid(every))
    sizes = np.sqrt(shapely.area(every))[:, None]
    measures = np.hstack((shapely.bounds(every), middles, sizes))
    return np.floor((measures + OFF_GRID_MM) / STEP_MM).astype(np.int64)


def digest_of(part: BaseGeometry, more: str = "") -> str:
    """A part's place and shape in letters, such as `k3f7q2m`; `more` is something else that it depends on."""
    return as_letters(measures_of([part])[0].tobytes() + more.encode("utf-8", "replace"))


def as_letters(measures: bytes) -> str:
    """A few letters of the alphabet and digits that can't be taken for others (RFC 4648, base 32)."""
    digest = hashlib.blake2b(measures, digest_size=8).digest()
    return base64.b32encode(digest).decode("ascii").lower()[:LETTERS]


def parts_together(shapes: Sequence[BaseGeometry]) -> list[Polygon]:
    """The parts that some shapes make together, those too small to be seen left out; empty for none."""
    drawn = shapes[0] if len(shapes) == 1 else union(as_region(shape) for shape in shapes)
    return [part for part in polygons_of(drawn) if part.area > AREA_MM2]
