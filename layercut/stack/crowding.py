"""Which outlines a sheet's paint is parted along, where there are too many.

Enters: regions that part a sheet's paint, and how much of each is seen. Leaves: which of them keep their outlines.
Holds: those that are seen most keep theirs; together they cross no more often than there may be regions.
"""

from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import STRtree

from layercut.geometry.regions import Region, prepared
from layercut.geometry.thinning import thinned_apart

FEW = 60
"""So many regions are never looked at more closely beforehand."""

COARSE_MM = 0.1
"""Outlines are as exact as this where their crossings are only counted, mm."""

_TOGETHER = 4000
"""Edges asked at once: what bounds the memory, and how late the count may stop."""


@dataclass(frozen=True, slots=True)
class Crowd:
    """Regions (n,) with how much each is seen (n,), mm2; `most` is how many regions they may make, `keep` how many of
    them may keep their outlines, those that are seen most."""

    regions: NDArray[np.object_]
    seen: NDArray[np.float64]
    most: int
    keep: int

    @property
    def kept(self) -> NDArray[np.bool_]:
        """Which keep their outlines: (n,)."""
        order = np.argsort(-self.seen, kind="stable")
        kept = np.zeros(len(order), dtype=np.bool_)
        kept[order[: self.keep]] = True
        return kept

    def smaller(self, count: int) -> "Crowd":
        """The crowd with fewer, after those that were kept made `count` regions: about their number squared."""
        share = min((self.most / count) ** 0.5, 1.0)
        return replace(self, keep=min(int(0.95 * share * self.keep), self.keep - 1))


def make_crowd(regions: NDArray[np.object_], seen: NDArray[np.float64], scope: Region, most: int) -> Crowd:
    """The crowd of some regions, as many as can be kept before their outlines cross too often within the scope."""
    if len(regions) <= FEW:
        return Crowd(regions, seen, most, len(regions))
    order = np.argsort(-seen, kind="stable")
    return Crowd(regions, seen, most, max(_within(regions[order], scope, most), 1))


def _within(regions: NDArray[np.object_], scope: Region, most: int) -> int:
    """How many of the first regions cross each other no more often than this within the scope."""
    rings, region = _rings(regions)
    points, ring = shapely.get_coordinates(rings, return_index=True)
    first = np.flatnonzero(ring[1:] == ring[:-1])
    edges = shapely.linestrings(np.stack((points[first], points[first + 1]), axis=1))
    near = shapely.intersects(prepared(scope), edges)
    edges, owner = edges[near], region[ring[first]][near]
    tree = STRtree(edges)
    total = 0
    for begin in range(0, len(edges), _TOGETHER):
        mine, other = tree.query(edges[begin : begin + _TOGETHER], predicate="intersects")
        mine += begin
        earlier = owner[other] < owner[mine]
        total += int(earlier.sum())
        if total > most:
            return int(owner[begin])
    return len(regions)


def _rings(regions: NDArray[np.object_]) -> tuple[NDArray[np.object_], NDArray[np.int64]]:
    """The outlines of regions, coarse, and the region of each."""
    polygons, region = shapely.get_parts(thinned_apart(regions, COARSE_MM), return_index=True)
    rings, polygon = shapely.get_rings(polygons, return_index=True)
    return rings, region[polygon]
