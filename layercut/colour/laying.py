"""Coats over each other: which of them lie at a place, and what they come to there.

Enters: `Coat`s in paint order. Leaves: regions that don't overlap, of one cell map, each with its folded washes.
"""

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import STRtree

from layercut.colour.coats import Coat, Mask
from layercut.colour.folding import fold
from layercut.colour.washes import GroupWash, Wash
from layercut.geometry.noding import cells_between, inner_points, on_grid, outlines, put_together
from layercut.geometry.regions import Region

Indices = NDArray[np.int64]

Part = tuple[Region, tuple[Wash, ...]]


def lay_out(coats: Sequence[Coat]) -> tuple[Part, ...]:
    """The regions of all that coats lie on, each with what they come to there, bottom first; neighbours with the same
    coats are one region. Empty for none, and without what is wholly clear."""
    coats = [coat for coat in coats if not coat.region.is_empty]
    if not coats:
        return ()
    regions = on_grid(np.array([coat.region for coat in coats], dtype=object))
    # A mask changes along its own parts' edges too, which need not be any coat's.
    bounds = np.concatenate([regions, on_grid(_mask_regions(coats))])
    cells = cells_between(shapely.get_parts(outlines(bounds)))
    points = inner_points(cells)
    stacks = Stacks(coats, points)
    by_washes: dict[tuple[Wash, ...], list[int]] = {}
    for cell, over in stacks_of(regions, points):
        if washes := fold(stacks.washes(over, cell)):
            by_washes.setdefault(washes, []).append(cell)
    return tuple((put_together(cells[chosen]), washes) for washes, chosen in by_washes.items())


def _mask_regions(coats: Sequence[Coat]) -> NDArray[np.object_]:
    """The parts of all masks around some coats, each mask once: (n,)."""
    masks = {id(veil.mask): veil.mask for coat in coats for veil in coat.veils if veil.mask is not None}
    return np.array([region for mask in masks.values() for region, _ in mask.parts], dtype=object)


def stacks_of(regions: NDArray[np.object_], points: NDArray[np.object_]) -> Iterator[tuple[int, list[int]]]:
    """For each point that any region covers, in order: its index, and those of the regions over it."""
    # Asked from the regions' side, because only the asking geometry is prepared.
    region, point = STRtree(points).query(regions, predicate="contains")
    order = np.lexsort((region, point))
    region, point = region[order], point[order]
    begins = np.flatnonzero(np.append(True, np.diff(point) > 0)[: len(point)])
    for some in np.split(np.arange(len(point)), begins[1:]):
        if len(some):
            yield int(point[some[0]]), region[some].tolist()


@dataclass(slots=True)
class Stacks:
    """Coats, and the points at which they are asked for: which part of each mask lies at each point is found once."""

    coats: Sequence[Coat]
    points: NDArray[np.object_]
    _parts: dict[int, Indices]

    def __init__(self, coats: Sequence[Coat], points: NDArray[np.object_]) -> None:
        """Look all masks of the coats up at the points, (n,)."""
        self.coats, self.points, self._parts = coats, points, {}
        for coat in coats:
            for veil in coat.veils:
                if veil.mask is not None and id(veil.mask) not in self._parts:
                    self._parts[id(veil.mask)] = _parts_at(veil.mask, points)

    def key(self, over: Sequence[int], point: int) -> tuple[object, ...]:
        """What the washes at a point depend on."""
        parts = (
            int(self._parts[id(veil.mask)][point])
            for index in over
            for veil in self.coats[index].veils
            if veil.mask is not None
        )
        return (tuple(over), tuple(parts))

    def washes(self, over: Sequence[int], point: int) -> tuple[Wash, ...]:
        """The washes of some of the coats, in order, at a point."""
        return self.grouped([self.coats[index] for index in over], point)

    def grouped(self, coats: Sequence[Coat], point: int) -> tuple[Wash, ...]:
        """The washes of coats that lie at a point, in order; those of one group in a group of their own."""
        return tuple(self._grouped(coats, 0, point))

    def _grouped(self, coats: Sequence[Coat], depth: int, point: int) -> Iterator[Wash]:
        for key, run in itertools.groupby(coats, lambda coat: coat.veils[depth].key if coat.veils[depth:] else None):
            together = list(run)
            if key is None:
                yield from (coat.wash for coat in together)
                continue
            veil = together[0].veils[depth]
            mask: tuple[Wash, ...] = ()
            if veil.mask is not None:
                part = int(self._parts[id(veil.mask)][point])
                if part < 0:
                    continue
                mask = veil.mask.parts[part][1]
            inner = tuple(self._grouped(together, depth + 1, point))
            yield GroupWash(inner, veil.opacity, mask, "luminance" if veil.mask is None else veil.mask.by)


def _parts_at(mask: Mask, points: NDArray[np.object_]) -> Indices:
    """Which part of a mask lies at each point, (n,); -1 for none."""
    found = np.full(len(points), -1, dtype=np.int64)
    part, point = STRtree(points).query([region for region, _ in mask.parts], predicate="intersects")
    found[point] = part
    return found
