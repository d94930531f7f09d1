"""Regions and lines as pixels, without a renderer: quick, and seamless where regions meet.

Enters: shapely regions and lines, mm. Leaves: arrays of shape (height, width), float32: the covered part of a pixel.
Holds: the coverage is the exact area within a pixel, so regions that tile a plane add up to 1 in every pixel, and no
hairline shows where two of them meet.

The way of it, known from drawing letters quickly (R. Levien, "Inside the fastest font renderer in the world", 2016):
every edge adds the width it crosses, with a sign, to the pixels below it; the running sum down a
column is then the area. The sum is linear, so one pass does for any number of regions, each weighted by its colour.
It runs from the top, so a picture can be worked out in bands of rows, which take little memory and stay in the
processor's cache.
"""

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString

from layercut.geometry.regions import Region, polygons_of

Floats = NDArray[np.float64]
Pixels = NDArray[np.float32]

BAND = 64
"""Rows of a band: some hundred kilobytes for each array of a picture of usual width."""

AT_ONCE = 30_000
"""Edges that are cut up at once: what that takes for the time being is many times what is kept."""


@dataclass(frozen=True, slots=True)
class Window:
    """A picture's window: `width` by `height` pixels, `scale` pixels to a mm, its top left corner at (x, y) mm.

    `stretch` is how many times as many pixels go to a mm downwards.
    """

    width: int
    height: int
    scale: float
    x_mm: float = 0.0
    y_mm: float = 0.0
    stretch: float = 1.0

    def to_pixels(self, points: Floats) -> Floats:
        """Points (n, 2) in mm as pixels."""
        return (points - (self.x_mm, self.y_mm)) * (self.scale, self.scale * self.stretch)

    def to_mm(self, points: Floats) -> Floats:
        """Points (n, 2) in pixels as mm."""
        return points / (self.scale, self.scale * self.stretch) + (self.x_mm, self.y_mm)

    def part(self, region: Region) -> tuple[tuple[slice, slice], "Window"] | None:
        """The rows and columns that a region's box touches, and the window of these; None where it touches none."""
        if region.is_empty:
            return None
        left, top, right, bottom = region.bounds
        corners = self.to_pixels(np.array([(left, top), (right, bottom)]))
        corners = np.vstack((np.floor(corners[0]), np.ceil(corners[1])))
        (x0, y0), (x1, y1) = np.clip(corners, 0, (self.width, self.height)).astype(int).tolist()
        if x0 >= x1 or y0 >= y1:
            return None
        (x, y), *_ = self.to_mm(np.array([(float(x0), float(y0))])).tolist()
        return (slice(y0, y1), slice(x0, x1)), Window(x1 - x0, y1 - y0, self.scale, x, y, self.stretch)

    @property
    def bands(self) -> list[slice]:
        """The bands of rows, from the top."""
        return [slice(top, min(top + BAND, self.height)) for top in range(0, self.height, BAND)]


@dataclass(frozen=True, slots=True)
class Edges:
    """What a set of regions adds to each pixel that an edge crosses, and to the one below it, and whose edge it is.

    `cell` counts row by row; `here` and `below` are signed parts of a pixel. All are sorted by bands: those of band k
    are at `first[k]` to `first[k + 1]`.
    """

    window: Window
    cell: NDArray[np.int32]
    owner: NDArray[np.int32]
    here: Pixels
    below: Pixels
    first: NDArray[np.int64]

    def bands(self, weight: Floats | None = None) -> Iterator[Pixels]:
        """The covered part of each pixel, a band at a time; `weight` (one number an owner) makes it a sum of weighted
        parts."""
        width = self.window.width
        weights = None if weight is None else weight.astype(np.float32)
        carried = np.zeros(width, dtype=np.float32)
        for rows, (start, end) in zip(self.window.bands, itertools.pairwise(self.first), strict=True):
            here, below = self.here[start:end], self.below[start:end]
            if weights is not None:
                each = weights[self.owner[start:end]]
                here, below = here * each, below * each
            cell = self.cell[start:end] - rows.start * width
            sums = np.zeros((rows.stop - rows.start + 1, width), dtype=np.float32)  # a row more: edges add below them
            np.add.at(sums.reshape(-1), cell, here)
            np.add.at(sums.reshape(-1), cell + width, below)
            sums[0] += carried
            for above, row in itertools.pairwise(sums):  # six times as quick as numpy's own running sum
                np.add(above, row, out=row)
            carried = sums[-1]
            yield sums[:-1]

    def covered(self, weight: Floats | None = None) -> Pixels:
        """All bands together."""
        return np.concatenate(list(self.bands(weight)))


def region_edges(regions: Sequence[Region], window: Window) -> Edges:
    """The edges of regions, the first being owner 0. Regions must be valid; empty ones cover nothing."""
    polygons = [polygons_of(region) for region in regions]
    flat = np.array([polygon for parts in polygons for polygon in parts], dtype=object)
    if not len(flat):
        return _edges(np.empty((0, 2)), np.empty((0, 2)), np.empty(0, np.int64), window)
    # Holes must turn the other way than the rings around them, or they would be filled.
    _, points, (rings, polygon_ends) = shapely.to_ragged_array(shapely.orient_polygons(flat))
    ring_owner = np.repeat(
        np.repeat(np.arange(len(regions)), [len(parts) for parts in polygons]), np.diff(polygon_ends)
    )
    owner = np.repeat(ring_owner, np.diff(rings))
    pixels = window.to_pixels(points)
    within = np.ones(len(points), dtype=bool)
    within[rings[1:] - 1] = False  # from a ring's last point leads no edge
    start = np.flatnonzero(within)
    return _edges(pixels[start], pixels[start + 1], owner[start], window)


def stroke_edges(lines: Sequence[LineString], widths_mm: Floats, window: Window) -> Edges:
    """The edges of lines drawn with a pen, each segment a rectangle of its own, with flat ends; line 0 is owner 0.

    Rectangles overlap at bends, so the sum may be more than 1 there and wants to be clipped.
    """
    points, owner = shapely.get_coordinates(np.array(lines, dtype=object), return_index=True)
    joined = np.flatnonzero(owner[1:] == owner[:-1]) if len(owner) else np.empty(0, np.int64)
    a, b, owner = points[joined], points[joined + 1], owner[joined]
    along = b - a
    length = np.hypot(along[:, 0], along[:, 1])
    keep = length > 0
    a, b, along, owner, length = a[keep], b[keep], along[keep], owner[keep], length[keep]
    side = np.column_stack((-along[:, 1], along[:, 0])) * (0.5 * widths_mm[owner] / length)[:, None]
    corners = [window.to_pixels(corner) for corner in (a + side, a - side, b - side, b + side, a + side)]
    start, end = np.concatenate(corners[:-1]), np.concatenate(corners[1:])
    return _edges(start, end, np.tile(owner, 4), window)


def _edges(start: Floats, end: Floats, owner: NDArray[np.int64], window: Window) -> Edges:
    """Edges in pixels, cut at every column and row of the window that they cross, and sorted by bands."""
    parts = [
        _cut(start[k : k + AT_ONCE], end[k : k + AT_ONCE], owner[k : k + AT_ONCE], window)
        for k in range(0, max(len(start), 1), AT_ONCE)
    ]
    cell, owner32, here, below = (np.concatenate(arrays) for arrays in zip(*parts, strict=True))
    band = (cell // (window.width * BAND)).astype(np.uint16)  # so short that sorting counts instead of comparing
    order = np.argsort(band, kind="stable")
    first = np.searchsorted(band[order], np.arange(len(window.bands) + 1))
    return Edges(window, cell[order], owner32[order], here[order], below[order], first)


_Cut = tuple[NDArray[np.int32], NDArray[np.int32], Pixels, Pixels]


def _cut(start: Floats, end: Floats, owner: NDArray[np.int64], window: Window) -> _Cut:
    """The cells, owners and parts of some edges, as `Edges` has them."""
    # Left and right of the window nothing counts; an edge above it counts in full, one below it not at all.
    (x0, y0), (x1, y1) = start.T, end.T
    keep = (x0 != x1) & (np.maximum(x0, x1) > 0) & (np.minimum(x0, x1) < window.width)
    keep &= np.minimum(y0, y1) < window.height
    x0, y0, x1, y1, owner = x0[keep], y0[keep], x1[keep], y1[keep], owner[keep]
    piece, left, right = _steps(np.clip(x0, 0, window.width), np.clip(x1, 0, window.width))
    slope = ((y1 - y0) / (x1 - x0))[piece]
    column = np.floor(0.5 * (left + right)).astype(np.int64)
    from_y, to_y = y0[piece] + slope * (left - x0[piece]), y0[piece] + slope * (right - x0[piece])
    width = np.where(x1 > x0, 1.0, -1.0)[piece] * (right - left)
    part, top, bottom = _steps(np.clip(from_y, 0, window.height), np.clip(to_y, 0, window.height))
    # What of an edge lies above the window fills its columns from the first row; what lies below it adds nothing.
    span = np.abs(to_y - from_y)
    within = np.divide(bottom - top, span[part], out=np.ones_like(top), where=span[part] != 0)
    under = np.abs(np.maximum(to_y, 0) - np.maximum(from_y, 0))
    above = 1 - np.divide(under, span, out=np.ones_like(span), where=span != 0)
    middle = 0.5 * (top + bottom)
    row = np.minimum(np.floor(middle).astype(np.int64), window.height - 1)
    inside = width[part] * within
    below = inside * (middle - row)
    column = np.minimum(column, window.width - 1)
    crossing = np.flatnonzero(above)
    return (
        np.concatenate((row * window.width + column[part], column[crossing])).astype(np.int32),
        np.concatenate((owner[piece][part], owner[piece][crossing])).astype(np.int32),
        np.concatenate((inside - below, (width * above)[crossing])).astype(np.float32),
        np.concatenate((below, np.zeros(len(crossing)))).astype(np.float32),
    )


def _steps(start: Floats, end: Floats) -> tuple[NDArray[np.int64], Floats, Floats]:
    """Each interval cut at the whole numbers inside it: which interval a piece is of, and its two ends, rising."""
    low, high = np.minimum(start, end), np.maximum(start, end)
    first = np.floor(low)
    count = np.maximum(np.ceil(high) - first, 1).astype(np.int64)
    of = np.repeat(np.arange(len(low)), count)
    nth = np.arange(len(of)) - np.repeat(np.cumsum(count) - count, count)
    floor = first[of] + nth
    return of, np.maximum(floor, low[of]), np.minimum(floor + 1, high[of])
