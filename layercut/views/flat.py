"""The flat colours of one sheet or of a whole stack, without light: paint, bare wood, engraving.

Enters: sheets as pieces, from back to front, and a window of pixels. Leaves: a colour for each pixel, and what each
sheet covers. Holds: paint shows only where its own sheet is what one sees; elsewhere there is bare wood.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from shapely import LineString

from layercut.model import PaintedRegion, Panel
from layercut.views.raster import Pixels, Window, region_edges, stroke_edges
from layercut.views.scene import (
    AREA_OPACITY,
    BURNT,
    GRAIN,
    LINE_OPACITY,
    MARK_MM,
    PLYWOOD,
    Piece,
    grain_lines,
    rgb,
)

GRAIN_PARTS = 12
"""A line of the grain is drawn as so many straight parts."""


@dataclass(frozen=True, slots=True)
class Flat:
    """`colour` of shape (3, height, width), 0 to 255; of each sheet what it covers and what of it is seen, 0 to 1."""

    colour: Pixels
    woods: tuple[Pixels, ...]
    seen: tuple[Pixels, ...]


def flat_picture(panel: Panel, pieces: Sequence[Piece], window: Window) -> Flat:
    """The stack of `pieces` seen from the front."""
    edges = region_edges([piece.wood for piece in pieces], window)
    which = np.arange(len(pieces))
    woods = tuple(np.clip(edges.of(which == index).covered(), 0, 1) for index in which)
    seen = _seen(woods)
    colour = _board(panel, window)
    inside = np.clip(region_edges([panel.interior], window).covered(), 0, 1)
    for piece, part in zip(pieces, seen, strict=True):
        _paint(colour, piece, part * inside, window)
    # A locator lies under the piece in front of it, so marks show only where their own sheet does.
    marks = [_marked(piece, window) * part for piece, part in zip(pieces, seen, strict=True) if _is_marked(piece)]
    if marks:
        lay(colour, rgb(BURNT), np.asarray(sum(marks), dtype=np.float32))
    return Flat(colour, woods, seen)


def lay(picture: Pixels, colour: Sequence[float] | Pixels, strength: Pixels) -> None:
    """Lay a colour, or a picture, upon a picture, in place, as strongly as `strength` (height, width) says."""
    for channel in range(3):
        picture[channel] += (colour[channel] - picture[channel]) * strength


def _seen(woods: Sequence[Pixels]) -> tuple[Pixels, ...]:
    """What of each sheet no sheet in front covers. Edges that lie on each other cover the same part of a pixel."""
    front = np.zeros_like(woods[0])
    seen = []
    for wood in reversed(woods):
        further = np.maximum(front, wood)
        seen.append(further - front)
        front = further
    return tuple(seen[::-1])


def _board(panel: Panel, window: Window) -> Pixels:
    """Bare wood with its grain."""
    lines, widths, opacities = [], [], []
    turn = np.linspace(0, 1, GRAIN_PARTS + 1)[:, None]
    for points, width, opacity in grain_lines(panel.width_mm, panel.height_mm):
        a, b, c, d = (np.array(point) for point in points)
        curve = a * (1 - turn) ** 3 + 3 * b * turn * (1 - turn) ** 2 + 3 * c * turn**2 * (1 - turn) + d * turn**3
        lines.append(LineString(curve))
        widths.append(width)
        opacities.append(opacity)
    grain = np.clip(stroke_edges(lines, np.array(widths), window).covered(np.array(opacities)), 0, 1)
    plain, line = rgb(PLYWOOD), rgb(GRAIN)
    return np.stack([np.float32(plain[c]) + grain * np.float32(line[c] - plain[c]) for c in range(3)])


def _paint(colour: Pixels, piece: Piece, seen: Pixels, window: Window) -> None:
    """A sheet's paints upon what is seen of it, in place; faces reach under other sheets, and beyond the panel."""
    painted = [part for part in piece.painted if not part.region.is_empty]
    if not painted:
        return
    edges = region_edges([part.region for part in painted], window)
    covered = edges.covered()
    share = seen / np.maximum(covered, 1)
    painted_part = share * covered
    blends = [part for part in painted if part.paint.blend]
    values = np.array([(0, 0, 0) if part.paint.blend else rgb(part.paint.colour) for part in painted], dtype=float)
    sums = [edges.covered(values[:, channel]) for channel in range(3)]
    for part in blends:
        _add_blend(sums, part, window)
    for channel in range(3):
        board = colour[channel]
        board += sums[channel] * share - board * painted_part


def _add_blend(sums: Sequence[Pixels], part: PaintedRegion, window: Window) -> None:
    """Add one blend to the painted colours, in place: its gradient runs from the region's top to its bottom."""
    left, top, right, bottom = part.region.bounds
    corners = window.to_pixels(np.array([(left, top), (right, bottom)]))
    (x0, y0), (x1, y1) = (
        np.clip(np.vstack((np.floor(corners[0]), np.ceil(corners[1]))), 0, (window.width, window.height))
        .astype(int)
        .tolist()
    )
    if x0 >= x1 or y0 >= y1:
        return
    scale = window.scale
    within = Window(x1 - x0, y1 - y0, scale, window.x_mm + x0 / scale, window.y_mm + y0 / scale)
    covered = region_edges([part.region], within).covered()
    middles = within.y_mm + (np.arange(within.height) + 0.5) / scale
    offsets = [offset for offset, _ in part.paint.blend]
    stops = np.array([rgb(colour) for _, colour in part.paint.blend], dtype=float)
    for channel in range(3):
        row = np.interp((middles - top) / max(bottom - top, 1e-9), offsets, stops[:, channel])
        sums[channel][y0:y1, x0:x1] += covered * row.astype(np.float32)[:, None]


def _is_marked(piece: Piece) -> bool:
    return bool(piece.mark_lines or piece.mark_areas)


def _marked(piece: Piece, window: Window) -> Pixels:
    """How strongly a sheet is burnt, lines over areas."""
    pens = np.full(len(piece.mark_lines), MARK_MM)
    lines = np.clip(stroke_edges(piece.mark_lines, pens, window).covered(), 0, 1) * np.float32(LINE_OPACITY)
    if not piece.mark_areas:
        return lines
    areas = np.clip(region_edges(piece.mark_areas, window).covered(), 0, 1) * np.float32(AREA_OPACITY)
    return np.asarray(1 - (1 - lines) * (1 - areas), dtype=np.float32)
