"""What coats come to on the cells of one sheet.

Enters: coats in paint order and cells that none of their outlines crosses. Leaves: for each cell its `Paint`. The
lowest coat that counts is the highest one that nothing shines through; under all lies bare wood.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import STRtree

from layercut.colour.bare import PLYWOOD, PLYWOOD_RGB
from layercut.colour.coats import Coat
from layercut.colour.folding import fold, hex_of, mean_colour
from layercut.colour.laying import Stacks, stacks_of
from layercut.colour.washes import FlatWash
from layercut.model import Paint
from layercut.stack.coats import Coats

MOST_COATS = 8
"""Coats that a painter may lay over each other at one place; deeper stacks are painted in their mean colour."""

LEAST_SHARE = 0.02
"""A coat without an outline that lies on less of a cell than this isn't seen there."""

SAMPLES = 40_000
"""Places at which coats without outlines are looked for: on a panel of 280 x 216 mm one every 1.2 mm."""

FloatArray = NDArray[np.float64]
Entry = tuple[int, float]
"""A coat and on how much of a cell it lies."""


@dataclass(frozen=True, slots=True)
class CellPaint:
    """A cell's paint, and whether more coats lie there than are painted."""

    cell: int
    paint: Paint
    deep: bool = False


@dataclass(slots=True)
class Composer:
    """Composes coats on cells.

    `regions` (n,) are where each coat counts on this sheet; `glazes` are pairs of cell and coat at which a coat is no
    wood of the sheet; `points` lie inside the cells.
    """

    coats: Coats
    regions: NDArray[np.object_]
    points: NDArray[np.object_]
    glazed: set[tuple[int, int]]
    _stacks: Stacks = field(init=False)
    _flat: NDArray[np.bool_] = field(init=False)
    _colours: FloatArray = field(init=False)
    _opacities: FloatArray = field(init=False)
    _known: dict[object, tuple[Paint, bool]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        coats = self.coats.coats
        self._stacks = Stacks(coats, self.points)
        self._flat = np.array([isinstance(coat.wash, FlatWash) and not coat.veils for coat in coats], dtype=np.bool_)
        colours = [coat.wash.colour if isinstance(coat.wash, FlatWash) else (0.0, 0.0, 0.0) for coat in coats]
        self._colours = np.array(colours)
        self._opacities = np.array([coat.wash.opacity for coat in coats])

    def compose(self, shares: dict[int, list[Entry]], faded: NDArray[np.bool_]) -> Iterator[CellPaint]:
        """The paint of each cell on which any coat lies. `shares` are those of the `faded` coats on each cell."""
        sharp = self.regions.copy()
        sharp[faded] = None
        seen = set()
        for cell, over in stacks_of(sharp, self.points):
            entries = [(coat, 1.0) for coat in over]
            if cell in shares:
                entries = sorted((*entries, *shares[cell]))
            seen.add(cell)
            yield self._cell(cell, entries)
        for cell in sorted(set(shares) - seen):
            yield self._cell(cell, shares[cell])

    def _cell(self, cell: int, entries: Sequence[Entry]) -> CellPaint:
        stack = self._seen(entries)
        paint, deep = self._paint(cell, stack)
        upper = len(stack)
        while upper and (cell, stack[upper - 1][0]) in self.glazed:
            upper -= 1
        if upper < len(stack):
            under = self._paint(cell, stack[:upper])[0]
            paint = paint if paint == under else replace(paint, under=under)
        return CellPaint(cell, paint, deep)

    def _seen(self, entries: Sequence[Entry]) -> list[Entry]:
        """The coats that count, the lowest first: from the highest that nothing shines through upwards, without what
        an opening of their own layer takes away."""
        stack: list[Entry] = []
        opened: set[int] = set()
        for coat, share in reversed(entries):
            layer = int(self.coats.layer[coat])
            if self.coats.opening[coat]:
                opened.add(layer)
            elif layer not in opened:
                stack.append((coat, share))
                if share == 1 and self.coats.opaque[coat]:
                    break
        return stack[::-1]

    def _paint(self, cell: int, stack: Sequence[Entry]) -> tuple[Paint, bool]:
        """What a stack comes to, and whether it is too deep to be painted as it is."""
        if not stack:
            return Paint(PLYWOOD), False
        indices = [coat for coat, _ in stack]
        whole = all(share == 1 for _, share in stack)
        key = (self._stacks.key(indices, cell), None if whole else tuple(share for _, share in stack))
        if key not in self._known:
            self._known[key] = self._composed(cell, stack, indices)
        return self._known[key]

    def _composed(self, cell: int, stack: Sequence[Entry], indices: list[int]) -> tuple[Paint, bool]:
        if self._flat[indices].all():
            return Paint(self._flat_colour(stack, indices)), False
        coats = [_faded(self.coats.coats[coat], share) for coat, share in stack]
        washes = fold(self._stacks.grouped(coats, cell), PLYWOOD_RGB)
        if len(washes) > MOST_COATS:
            return Paint(hex_of(mean_colour(washes, PLYWOOD_RGB))), True
        return Paint.over(washes), False

    def _flat_colour(self, stack: Sequence[Entry], indices: list[int]) -> str:
        """Source-over of even coats in one go: each counts by its opacity and by what all above let through."""
        opacity = self._opacities[indices] * [share for _, share in stack]
        through = np.append(np.cumprod((1 - opacity)[::-1])[::-1], 1.0)
        red, green, blue = through[0] * np.array(PLYWOOD_RGB) + (opacity * through[1:]) @ self._colours[indices]
        return hex_of((float(red), float(green), float(blue)))


def _faded(coat: Coat, share: float) -> Coat:
    return coat if share == 1 else replace(coat, wash=replace(coat.wash, opacity=coat.wash.opacity * share))


def spread_shares(
    regions: NDArray[np.object_], faded: NDArray[np.bool_], cells: NDArray[np.object_], points: NDArray[np.object_]
) -> dict[int, list[Entry]]:
    """On how much of each cell the coats without outlines lie, by where they are found at places spread evenly; small
    cells are asked at their own point alone. Shares too small to be seen are left out."""
    if not faded.any() or not len(cells):
        return {}
    places, owner = _places(cells, points)
    count = np.bincount(owner, minlength=len(cells))
    tree = STRtree(places)
    shares: dict[int, list[Entry]] = {}
    for coat in np.flatnonzero(faded).tolist():
        hits = tree.query(regions[coat], predicate="contains")
        found, times = np.unique(owner[hits], return_counts=True)
        for cell, share in zip(found.tolist(), (times / count[found]).tolist(), strict=True):
            if share >= LEAST_SHARE:
                # Never quite all of it, for nothing may end at an outline that isn't there.
                shares.setdefault(cell, []).append((coat, min(share, 1 - 1e-6)))
    return shares


def _places(cells: NDArray[np.object_], points: NDArray[np.object_]) -> tuple[NDArray[np.object_], NDArray[np.int64]]:
    """Places inside the cells, (m,), and the cell of each, (m,): a grid over them all, and each one's own point."""
    tree = STRtree(cells)
    x0, y0, x1, y1 = _bounds(cells)
    step = max(((x1 - x0) * (y1 - y0) / SAMPLES) ** 0.5, 1e-3)
    xs, ys = np.arange(x0 + step / 2, x1, step), np.arange(y0 + step / 2, y1, step)
    grid = shapely.points(np.stack(np.meshgrid(xs, ys), axis=-1).reshape(-1, 2))
    place, cell = tree.query(grid, predicate="within")
    places = np.concatenate([points, grid[place]])
    return places, np.concatenate([np.arange(len(points)), cell])


def _bounds(cells: NDArray[np.object_]) -> tuple[float, float, float, float]:
    x0, y0, x1, y1 = shapely.total_bounds(cells).tolist()
    return x0, y0, x1, y1
