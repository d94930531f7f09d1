"""Lines that run beside each other, told in a time that grows with their points only.

Enters: pairs of lines. Leaves: which of them keep within reach of each other all along. Buffers tell that too, but
those of one line that runs close to itself, as a hatching does, take minutes.
"""

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

Shapes = NDArray[np.object_]

EDGES = 2
"""So many edges to each side of where a point is looked for are looked at too: lengths drift along two curves."""


@dataclass(frozen=True, slots=True)
class _Walk:
    """Points along many lines: where (complex, mm), on which line, which share of its length is behind (the line's
    number plus 0 to 1), and the first and last point of each line."""

    places: NDArray[np.complex128]
    owner: NDArray[np.int64]
    share: NDArray[np.float64]
    first: NDArray[np.int64]
    last: NDArray[np.int64]


def run_beside(these: Shapes, those: Shapes, reach_mm: float) -> NDArray[np.bool_]:
    """For each pair of lines that run the same way, whether each vertex of either lies within reach of the other's
    edges around the same share of its length.

    Between such vertices an edge can't be further off: a distance to a straight edge has no maximum inside another.
    That both are walked in order (as for the Fréchet distance: Alt and Godau, 1995) tells apart lines that share all
    their vertices, such as hatchings across each other. A pair that isn't told may lie alike all the same.
    """
    if not len(these):
        return np.zeros(0, dtype=bool)
    one, other = _walk(these), _walk(those)
    return _keeps_near(one, other, reach_mm) & _keeps_near(other, one, reach_mm)


def _walk(lines: Shapes) -> _Walk:
    points, owner = shapely.get_coordinates(lines, return_index=True)
    places = points @ np.array([1, 1j])
    first = np.flatnonzero(np.diff(owner, prepend=-1))
    last = np.append(first[1:], len(places)) - 1
    along = np.cumsum(np.abs(np.diff(places, prepend=places[:1])))
    length = (along[last] - along[first])[owner]
    # A little less than 1 at a line's end, which is not yet the next one's beginning.
    part = (along - along[first][owner]) / np.where(length > 0, length, 1.0) * (1 - 1e-6)
    return _Walk(places, owner, owner + part, first, last)


def _keeps_near(one: _Walk, other: _Walk, reach_mm: float) -> NDArray[np.bool_]:
    """For each line of the one walk, whether all its points are within reach of its counterpart."""
    begin, end = other.first[one.owner], np.maximum(other.last[one.owner] - 1, other.first[one.owner])
    here = np.searchsorted(other.share, one.share, side="right") - 1
    nearest = np.full(len(one.places), np.inf)
    for step in range(-EDGES, EDGES + 1):
        edge = np.clip(here + step, begin, end)
        ahead = other.places[edge + 1] - other.places[edge]
        away = one.places - other.places[edge]
        squared = (ahead * ahead.conj()).real
        foot = np.clip((away * ahead.conj()).real / np.where(squared > 0, squared, 1.0), 0.0, 1.0)
        np.minimum(nearest, np.abs(away - foot * ahead), out=nearest)
    astray = np.bincount(one.owner, weights=nearest > reach_mm, minlength=len(one.first))
    return np.asarray(astray == 0)
