"""Dabs of a fan brush: short strokes that spread from the hand, thrown over a place as one stipples leaves.

Enters: a box and a region's places. Leaves: strokes, mm. Holds: a dab depends on nothing but its place on the panel,
so that the same drawing gives the same dabs, and a region that moves takes others.
"""

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Box = tuple[float, float, float, float]

SPREAD_DEG, LEAN_DEG = 26.0, 70.0
"""Half the angle between the outer bristles of a fan, and how far its middle turns to either side of upright (own
choice, by eye)."""

BRISTLES = 5
"""Strokes of one dab."""

SHORTEST = 0.6
"""A bristle is at least this part of the longest."""


@dataclass(frozen=True, slots=True)
class Fan:
    """A way to stipple: how far dabs lie apart, how long their strokes are and how wide, mm, and a number of its
    own, so that two ways don't lie on each other."""

    pitch_mm: float
    length_mm: float
    width_mm: float
    seed: int


def dab_roots(box: Box, fan: Fan) -> NDArray[np.int64]:
    """The dabs of a box (left, top, right, bottom), each by its square of the grid of dabs: (n, 2)."""
    left, top, right, bottom = (round(side / fan.pitch_mm) for side in box)
    across, down = np.meshgrid(np.arange(left - 1, right + 2), np.arange(top - 1, bottom + 2))
    return np.column_stack((across.ravel(), down.ravel())).astype(np.int64)


def dab_middles(roots: NDArray[np.int64], fan: Fan) -> Floats:
    """Where dabs lie, (n, 2): somewhere in their square, those of every other row half a square aside."""
    aside = np.column_stack((0.5 * (roots[:, 1] % 2), np.zeros(len(roots))))
    thrown = np.column_stack((_chance(roots, fan.seed), _chance(roots, fan.seed + 1)))
    return np.asarray((roots + aside + 0.2 + 0.6 * thrown) * fan.pitch_mm, dtype=np.float64)


def dab_strokes(roots: NDArray[np.int64], fan: Fan) -> NDArray[np.object_]:
    """The strokes of dabs, `BRISTLES` to each, as lines of two points."""
    middles = dab_middles(roots, fan)
    turned = LEAN_DEG * (2 * _chance(roots, fan.seed + 2) - 1)
    strokes = []
    for bristle, share in enumerate(np.linspace(-1, 1, BRISTLES)):
        angle = np.radians(turned + SPREAD_DEG * share)
        along = np.column_stack((np.sin(angle), -np.cos(angle)))
        longest = SHORTEST + (1 - SHORTEST) * _chance(roots, fan.seed + 3 + bristle)
        # All bristles leave from near one point below the middle; the outer ones land a little later.
        start = middles - 0.35 * fan.length_mm * along + 0.1 * fan.length_mm * share * along[:, ::-1]
        strokes.append(np.stack((start, start + (fan.length_mm * longest)[:, None] * along), axis=1))
    return np.asarray(shapely.linestrings(np.concatenate(strokes)))


def _chance(roots: NDArray[np.int64], seed: int) -> Floats:
    """A number from 0 to 1 for each square, as if by chance, (n,): the finaliser of MurmurHash3 (A. Appleby, 2008,
    public domain) of the square and the seed."""
    with np.errstate(over="ignore"):
        mixed = (roots[:, 0].astype(np.uint64) * np.uint64(0x9E3779B97F4A7C15)) + (
            roots[:, 1].astype(np.uint64) * np.uint64(0xC2B2AE3D27D4EB4F)
        )
        mixed ^= np.uint64(seed) * np.uint64(0x165667B19E3779F9)
        for factor in (0xFF51AFD7ED558CCD, 0xC4CEB9FE1A85EC53):
            mixed ^= mixed >> np.uint64(33)
            mixed *= np.uint64(factor)
        mixed ^= mixed >> np.uint64(33)
    return np.asarray((mixed >> np.uint64(11)).astype(np.float64) / 2.0**53, dtype=np.float64)
