"""What coats come to on the cells of one sheet.

Enters: coats in paint order, and which of them lie on which cells. Leaves: for each cell its `Paint`. Under all lies
bare wood. Even coats are laid on all cells at once, and so are the means of gradients where too many lie over each
other; where else a gradient or a group has a say, the stack of a cell is folded by itself.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import STRtree

from layercut.colour.bare import PLYWOOD, PLYWOOD_RGB
from layercut.colour.coats import Coat
from layercut.colour.folding import fold, hex_of, mean_colour, mean_wash
from layercut.colour.laying import Stacks
from layercut.colour.washes import FlatWash, GroupWash
from layercut.geometry.regions import prepared
from layercut.model import Paint
from layercut.stack.coats import Coats

MOST_COATS = 8
"""Coats that a painter may lay over each other at one place; deeper stacks are painted in their mean colour."""

LEAST_SHARE = 0.001
"""A coat without an outline that lies on less of a cell than this isn't seen there."""

SAMPLES = 20_000
"""Places at which coats without outlines are looked for: on a panel of 280 x 216 mm one every 1.7 mm."""

UNCERTAIN = -(1 << 40)
"""A count that no drawing brings back to 0."""

FloatArray = NDArray[np.float64]
Indices = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Lying:
    """Which coat lies on which cell, (m,) each, ordered by coat; on how much of the cell, and whether it is a glaze
    there, no wood of the sheet."""

    coat: Indices
    cell: Indices
    share: FloatArray
    glaze: NDArray[np.bool_]

    def of_cells(self, wanted: NDArray[np.bool_]) -> Iterator[tuple[int, Indices]]:
        """For each wanted cell, in order: the places in these lists at which it stands, the lowest coat first."""
        some = np.flatnonzero(wanted[self.cell])
        some = some[np.argsort(self.cell[some], kind="stable")]
        begins = np.flatnonzero(np.diff(self.cell[some])) + 1
        for places in np.split(some, begins):
            if len(places):
                yield int(self.cell[places[0]]), places


@dataclass(frozen=True, slots=True)
class CellPaint:
    """A cell's paint, and whether more coats lie there than are painted."""

    cell: int
    paint: Paint
    deep: bool = False


@dataclass(slots=True)
class Composer:
    """Composes coats on cells; `points` lie inside the cells, (n,)."""

    coats: Coats
    points: NDArray[np.object_]
    lying: Lying
    _stacks: Stacks = field(init=False)
    _known: dict[object, tuple[Paint, bool]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self._stacks = Stacks(self.coats.coats, self.points)

    def compose(self) -> Iterator[CellPaint]:
        """The paint of each cell on which any coat lies."""
        even = self._lay_even()
        yield from even.paints()
        deep = even.deep()
        for cell, places in self.lying.of_cells(even.rough):
            yield self._cell(cell, places, deep.get(cell))

    def _lay_even(self) -> "_Even":
        """All even coats and the means of gradients, one after another, on all cells that they lie on."""
        lying, coats = self.lying, self.coats
        even = _Even(len(self.points))
        present, begins = np.unique(lying.coat, return_index=True)
        ends = [*begins[1:].tolist(), len(lying.coat)] if len(begins) else []
        for coat, begin, end in zip(present.tolist(), begins.tolist(), ends, strict=True):
            cells, share, glaze = lying.cell[begin:end], lying.share[begin:end], lying.glaze[begin:end]
            wash = coats.coats[coat].wash
            if coats.coats[coat].veils or coats.opening[coat] or isinstance(wash, GroupWash):
                even.roughen(cells)
                continue
            mean = wash if isinstance(wash, FlatWash) else mean_wash((wash,))
            even.lay(cells, np.array(mean.colour), mean.opacity * share, glaze)
            if mean is not wash:
                even.blend(cells, (share >= 1) & coats.opaque[coat])
        return even

    def _cell(self, cell: int, places: Indices, mean: str | None) -> CellPaint:
        """A cell's paint by the stack of its coats; `mean` stands for a stack that is known to be too deep."""
        stack = self._seen(places)
        paint, deep = (Paint(mean), True) if mean else self._paint(cell, stack)
        upper = len(stack)
        while upper and self.lying.glaze[stack[upper - 1]]:
            upper -= 1
        if upper < len(stack):
            under = self._paint(cell, stack[:upper])[0]
            paint = paint if paint == under else replace(paint, under=under)
        return CellPaint(cell, paint, deep)

    def _seen(self, places: Indices) -> list[int]:
        """The places of the coats that count, the lowest first: from the highest that nothing shines through upwards,
        without what an opening of their own layer takes away."""
        stack: list[int] = []
        opened: set[int] = set()
        for place in places[::-1].tolist():
            coat = int(self.lying.coat[place])
            layer = int(self.coats.layer[coat])
            if self.coats.opening[coat]:
                opened.add(layer)
            elif layer not in opened:
                stack.append(place)
                if self.coats.opaque[coat] and self.lying.share[place] == 1:
                    break
        return stack[::-1]

    def _paint(self, cell: int, stack: Sequence[int]) -> tuple[Paint, bool]:
        """What a stack comes to, and whether it is too deep to be painted as it is."""
        if not stack:
            return Paint(PLYWOOD), False
        indices = self.lying.coat[list(stack)].tolist()
        share = self.lying.share[list(stack)].tolist()
        key = (self._stacks.key(indices, cell), tuple(share))
        if key not in self._known:
            coats = [_faded(self.coats.coats[coat], part) for coat, part in zip(indices, share, strict=True)]
            self._known[key] = _composed(self._stacks, coats, cell)
        return self._known[key]


@dataclass(slots=True)
class _Even:
    """What even coats come to on n cells: the colours so far, those before the glazes on top, which cells have such
    glazes, any coat at all, and coats that aren't even; and how many of those are gradients that show, below 0 where
    other things make that uncertain."""

    colours: FloatArray
    under: FloatArray
    glazed: NDArray[np.bool_]
    touched: NDArray[np.bool_]
    rough: NDArray[np.bool_]
    blends: Indices

    def __init__(self, count: int) -> None:
        """Bare wood on all cells."""
        self.colours = np.tile(np.array(PLYWOOD_RGB), (count, 1))
        self.under = self.colours.copy()
        self.glazed, self.touched, self.rough = (np.zeros(count, dtype=np.bool_) for _ in range(3))
        self.blends = np.zeros(count, dtype=np.int64)

    def roughen(self, cells: Indices) -> None:
        """Something lies on these cells that isn't even."""
        self.touched[cells] = self.rough[cells] = True
        self.blends[cells] = UNCERTAIN

    def lay(self, cells: Indices, colour: FloatArray, opacity: FloatArray, glaze: NDArray[np.bool_]) -> None:
        """Lay an even coat on cells (m,), so opaque on each (m,), as a glaze or not (m,)."""
        self.touched[cells] = True
        self.rough[cells[opacity >= 1]] = False
        self.blends[cells[opacity >= 1]] = 0
        self.colours[cells] += (colour - self.colours[cells]) * opacity[:, None]
        self.glazed[cells] = glaze
        wood = cells[~glaze]
        self.under[wood] = self.colours[wood]

    def blend(self, cells: Indices, opaque: NDArray[np.bool_]) -> None:
        """What was laid last on these cells (m,) was the mean of a gradient, on each opaque or not (m,)."""
        self.rough[cells] = True
        self.blends[cells[opaque]] = 0
        self.blends[cells] += 1

    def deep(self) -> dict[int, str]:
        """The mean colour of every cell on which so many gradients lie over each other that no folding makes them
        few enough: two of them never fold into one."""
        cells = np.flatnonzero(self.blends > MOST_COATS)
        return dict(zip(cells.tolist(), _hex(self.colours[cells]), strict=True))

    def paints(self) -> Iterator[CellPaint]:
        """What the cells came to on which nothing but even coats counts."""
        cells = np.flatnonzero(self.touched & ~self.rough)
        under = np.where(self.glazed[cells, None], self.under[cells], self.colours[cells])
        for cell, colour, below in zip(cells.tolist(), _hex(self.colours[cells]), _hex(under), strict=True):
            yield CellPaint(cell, Paint(colour) if below == colour else Paint(colour, under=Paint(below)))


def _hex(colours: FloatArray) -> list[str]:
    """Colours (n, 3) as `#rrggbb`."""
    text = np.rint(np.clip(colours, 0, 1) * 255).astype(np.uint8).tobytes().hex()
    return [f"#{text[at : at + 6]}" for at in range(0, len(text), 6)]


def _composed(stacks: Stacks, coats: Sequence[Coat], cell: int) -> tuple[Paint, bool]:
    washes = fold(stacks.grouped(coats, cell), PLYWOOD_RGB)
    if len(washes) > MOST_COATS:
        return Paint(hex_of(mean_colour(washes, PLYWOOD_RGB))), True
    return Paint.over(washes), False


def _faded(coat: Coat, share: float) -> Coat:
    return coat if share == 1 else replace(coat, wash=replace(coat.wash, opacity=coat.wash.opacity * share))


def find_lying(
    coats: Coats,
    where: NDArray[np.object_],
    faded: NDArray[np.bool_],
    cells: NDArray[np.object_],
    points: NDArray[np.object_],
) -> Lying:
    """Which coats lie on which cells. `where` (coats,) is where each counts on the sheet, None for not at all; those
    that are `faded` have no outline there, and lie on parts of cells."""
    sharp = where.copy()
    sharp[faded] = None
    # Asked from the regions' side, because only the asking geometry is prepared.
    coat, cell = STRtree(points).query(sharp, predicate="contains")
    parts = [(coat, cell, np.ones(len(coat)))]
    if faded.any() and len(cells):
        parts.append(_spread(where, np.flatnonzero(faded), cells, points))
    coat, cell, share = (np.concatenate(some) for some in zip(*parts, strict=True))
    order = np.argsort(coat, kind="stable")
    coat, cell, share = coat[order], cell[order], share[order]
    return Lying(coat, cell, share, _are_glazes(coats, where, coat, points[cell]))


def _are_glazes(
    coats: Coats, where: NDArray[np.object_], coat: Indices, points: NDArray[np.object_]
) -> NDArray[np.bool_]:
    """Whether each coat is a glaze at its point, (m,): most are everywhere or nowhere."""
    everywhere = np.array([place is glaze for place, glaze in zip(where, coats.glazes, strict=True)], dtype=np.bool_)
    glaze = everywhere[coat]
    partly = ~everywhere & ~shapely.is_empty(coats.glazes)
    asked = np.flatnonzero(partly[coat])
    glazes = coats.glazes.copy()
    glazes[partly] = prepared(glazes[partly])
    glaze[asked] = shapely.contains(glazes[coat[asked]], points[asked])
    return glaze


def _spread(
    where: NDArray[np.object_], faded: Indices, cells: NDArray[np.object_], points: NDArray[np.object_]
) -> tuple[Indices, Indices, FloatArray]:
    """On how much of each cell the coats without outlines lie: coat, cell and share, (m,) each.

    Found at places spread evenly; small cells are asked at their own point alone. Shares too small to be seen are
    left out, and none is quite whole, for nothing ends at an outline that isn't there.
    """
    places, owner = _places(cells, points)
    count = np.bincount(owner, minlength=len(cells))
    tree = STRtree(places)
    found: list[tuple[Indices, Indices, FloatArray]] = []
    for coat in faded.tolist():
        hits = np.bincount(owner[tree.query(where[coat], predicate="contains")], minlength=len(cells))
        share = hits / count
        on = np.flatnonzero(share >= LEAST_SHARE)
        found.append((np.full(len(on), coat), on, np.minimum(share[on], 1 - 1e-6)))
    coat, cell, share = (np.concatenate(some) for some in zip(*found, strict=True))
    return coat, cell, share


def _places(cells: NDArray[np.object_], points: NDArray[np.object_]) -> tuple[NDArray[np.object_], Indices]:
    """Places inside the cells, (m,), and the cell of each, (m,): a grid over them all, and each one's own point."""
    x0, y0, x1, y1 = shapely.total_bounds(cells).tolist()
    step = max(((x1 - x0) * (y1 - y0) / SAMPLES) ** 0.5, 1e-3)
    xs, ys = np.arange(x0 + step / 2, x1, step), np.arange(y0 + step / 2, y1, step)
    grid = shapely.points(np.stack(np.meshgrid(xs, ys), axis=-1).reshape(-1, 2))
    cell, place = STRtree(grid).query(cells, predicate="contains")
    return np.concatenate([points, grid[place]]), np.concatenate([np.arange(len(points)), cell])
