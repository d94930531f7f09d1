"""The colours of one sheet or of a whole stack: paint, bare wood, engraving, and the light on them.

Enters: sheets as pieces, from back to front, how light falls on each, and a window of pixels. Leaves: what each sheet
covers, and a colour for each pixel, in bands of rows. Holds: paint shows only where its own sheet is what one sees;
elsewhere there is bare wood.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from shapely import LineString

from layercut.colour.bare import PLYWOOD
from layercut.colour.sampling import sample_over
from layercut.colour.washes import Rgb, Wash
from layercut.geometry.coverage import Pixels, Window, region_edges, stroke_edges
from layercut.geometry.parallel import each
from layercut.geometry.thinning import thinned
from layercut.model import PaintedRegion, Panel
from layercut.views.picture.scene import (
    AREA_OPACITY,
    BURNT,
    GRAIN,
    LINE_OPACITY,
    LIT,
    MARK_MM,
    RIM_DARK,
    RIM_LIGHT,
    SHADOW,
    SHADOW_STRENGTH,
    ShownSheet,
    grain_lines,
    rgb,
)
from layercut.views.picture.shading import Mask, parts

GRAIN_PARTS = 12
"""A line of the grain is drawn as so many straight parts."""

MARK_DETAIL_PX = 0.05
"""Marked lines leave out detail finer than this, pixels: none of them has to meet another exactly."""


@dataclass(frozen=True, slots=True)
class Band:
    """Some rows of a picture: `colour` of shape (3, height, width), 0 to 255, as far as there is wood, and how far
    there is: `cover`, 0 to 1."""

    rows: slice
    colour: Pixels
    cover: Pixels


@dataclass(frozen=True, slots=True)
class Light:
    """How light falls on some rows of a sheet, each 0 to 1: edges that face the lamp, edges that face away,
    shadow."""

    lit: Pixels
    unlit: Pixels
    dark: Pixels | None = None


def wood_masks(pieces: Sequence[ShownSheet], window: Window) -> list[Mask]:
    """What each sheet covers of each pixel, 8 bits."""
    return each(lambda piece: _mask(region_edges([piece.wood], window).bands()), pieces)


def _mask(bands: Iterator[Pixels]) -> Mask:
    return np.concatenate([(np.clip(band, 0, 1) * 255 + 0.5).astype(np.uint8) for band in bands])


def stack_bands(
    panel: Panel,
    pieces: Sequence[ShownSheet],
    woods: Sequence[Mask],
    window: Window,
    lights: Sequence[Iterator[Light]],
) -> Iterator[Band]:
    """The stack of `pieces` seen from the front, in bands from the top; `woods` is what each covers, `lights` how the
    light falls on each."""
    inside = region_edges([panel.interior], window).bands()
    paints = [_painted_bands(piece, window) for piece in pieces]
    marks = [marked_bands(piece, window) for piece in pieces]
    for rows, board, interior in zip(window.bands, board_bands(panel, window), inside, strict=True):
        seen = seen_parts([parts(wood[rows]) for wood in woods])
        within = np.clip(interior, 0, 1)
        colour = np.zeros_like(board)
        for part, paint, mark, light in zip(seen, paints, marks, lights, strict=True):
            covered, sums, blends = next(paint)
            burnt, shine = next(mark) if mark is not None else None, next(light)
            for blend in blends:
                blend.add(sums, rows, part * within)
            # Light falls on each sheet by itself: in a pixel where two meet, each has its own.
            shown = np.nonzero(part)
            share = (within[shown] / np.maximum(covered[shown], 1)).astype(np.float32)
            own = _own_colour(board, [one[shown] for one in sums], share, covered[shown], shown)
            if burnt is not None:  # a locator lies under the piece in front of it: marks show where their sheet does
                lay(own, rgb(BURNT), burnt[shown])
            lay(own, rgb(LIT), shine.lit[shown] * np.float32(RIM_LIGHT))
            lay(own, rgb(BURNT), shine.unlit[shown] * np.float32(RIM_DARK))
            if shine.dark is not None:
                lay(own, rgb(SHADOW), shine.dark[shown] * np.float32(SHADOW_STRENGTH))
            for channel in range(3):
                colour[channel][shown] += own[channel] * part[shown]
        yield Band(rows, colour, total(seen))


def _own_colour(
    board: Pixels, sums: Sequence[Pixels], share: Pixels, covered: Pixels, shown: tuple[NDArray[np.int64], ...]
) -> Pixels:
    """The colour of a sheet itself at the places where it is shown: (3, n)."""
    painted = share * covered
    return np.stack([board[k][shown] * (1 - painted) + sums[k] * share for k in range(3)])


def total(bands: Sequence[Pixels]) -> Pixels:
    """The sum of bands; there must be one at least."""
    first, *others = bands
    result = first.copy()
    for band in others:
        result += band
    return result


def lay(picture: Pixels, colour: Sequence[float] | Pixels, strength: Pixels) -> None:
    """Lay a colour, or a picture, upon a picture of shape (3, ...), in place, as strongly as `strength` says."""
    for channel in range(3):
        picture[channel] += (colour[channel] - picture[channel]) * strength


def seen_parts(woods: Sequence[Pixels]) -> tuple[Pixels, ...]:
    """What of each sheet no sheet in front covers. Edges that lie on each other cover the same part of a pixel."""
    front = np.zeros_like(woods[0])
    seen = []
    for wood in reversed(woods):
        further = np.maximum(front, wood)
        seen.append(further - front)
        front = further
    return tuple(seen[::-1])


def board_bands(panel: Panel, window: Window) -> Iterator[Pixels]:
    """Bare wood with its grain."""
    lines, widths, opacities = [], [], []
    turn = np.linspace(0, 1, GRAIN_PARTS + 1)[:, None]
    for points, width, opacity in grain_lines(panel.width_mm, panel.height_mm):
        a, b, c, d = (np.array(point) for point in points)
        curve = a * (1 - turn) ** 3 + 3 * b * turn * (1 - turn) ** 2 + 3 * c * turn**2 * (1 - turn) + d * turn**3
        lines.append(LineString(curve))
        widths.append(width)
        opacities.append(opacity)
    plain, line = rgb(PLYWOOD), rgb(GRAIN)
    for band in stroke_edges(lines, np.array(widths), window).bands(np.array(opacities)):
        grain = np.clip(band, 0, 1)
        yield np.stack([np.float32(plain[c]) + grain * np.float32(line[c] - plain[c]) for c in range(3)])


def _painted_bands(
    piece: ShownSheet, window: Window
) -> Iterator[tuple[Pixels, tuple[Pixels, ...], Sequence["_Blend"]]]:
    """How much of each pixel a sheet's paints cover, the sums of their flat colours, and the blends, which are to be
    added to these; faces reach under other sheets, and beyond the panel."""
    painted = [part for part in piece.painted if not part.region.is_empty]
    edges = region_edges([part.region for part in painted], window)
    plain = [(0, 0, 0) if part.paint.washes else rgb(part.paint.colour) for part in painted]
    values = np.array(plain, dtype=float).reshape(-1, 3)
    blends = [blend for part in painted if part.paint.washes and (blend := _blend(part, window)) is not None]
    channels = [edges.bands(values[:, channel]) for channel in range(3)]
    for covered, *sums in zip(edges.bands(), *channels, strict=True):
        yield covered, tuple(sums), blends


@dataclass(frozen=True, slots=True)
class _Blend:
    """What a blend covers of the pixels of its box: a window of its own, whose top left pixel is (`top`, `left`)."""

    top: int
    left: int
    window: Window
    covered: Pixels
    washes: tuple[Wash, ...]

    def add(self, sums: Sequence[Pixels], rows: slice, shown: Pixels) -> None:
        """Add it to some rows' sums of colours, in place, where anything of its sheet is shown."""
        height, width = self.covered.shape
        first, end = max(rows.start, self.top), min(rows.stop, self.top + height)
        if first >= end:
            return
        covered = self.covered[first - self.top : end - self.top]
        place = (slice(first - rows.start, end - rows.start), slice(self.left, self.left + width))
        down, across = np.nonzero((covered > 0) & (shown[place] > 0))
        middles = np.column_stack((across, down + (first - self.top))) + 0.5
        # Coats of paint let nothing through, so what they lie on doesn't count.
        colours = sample_over(self.washes, self.window.to_mm(middles), _BLACK) * 255
        strength = covered[down, across]
        for channel in range(3):
            sums[channel][place][down, across] += strength * colours[:, channel]


_BLACK: Rgb = (0.0, 0.0, 0.0)


def _blend(part: PaintedRegion, window: Window) -> _Blend | None:
    """A blend in pixels. None outside the window."""
    if (box := window.part(part.region)) is None:
        return None
    (rows, columns), within = box
    covered = region_edges([part.region], within).covered()
    return _Blend(rows.start, columns.start, within, covered, part.paint.washes)


def marked_bands(piece: ShownSheet, window: Window) -> Iterator[Pixels] | None:
    """How strongly a sheet is burnt, lines over areas; None where nothing is."""
    if not piece.mark_lines and not piece.mark_areas:
        return None
    lines = np.array(piece.mark_lines, dtype=object)
    thin = thinned(lines, MARK_DETAIL_PX / window.scale)
    strokes = stroke_edges(thin, np.full(len(thin), MARK_MM), window).bands()
    areas = region_edges(piece.mark_areas, window).bands()
    return (_burnt(stroke, area) for stroke, area in zip(strokes, areas, strict=True))


def _burnt(stroke: Pixels, area: Pixels) -> Pixels:
    light = 1 - np.clip(stroke, 0, 1) * np.float32(LINE_OPACITY)
    return 1 - light * (1 - np.clip(area, 0, 1) * np.float32(AREA_OPACITY))
