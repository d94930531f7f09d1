"""Light on a stack of sheets: shadows and lit edges, from what each sheet covers.

Enters: the covered part of each pixel, one array a sheet, 8 bits. Leaves: how dark or lit pixels are, 0 to 1, for
as many rows as one asks for. Holds: shadows fall only on what lies deeper, to the right and down: the lamp stands
high at the top left.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from PIL import Image, ImageFilter
from shapely import affinity

from layercut.geometry.coverage import Pixels, Window, stroke_edges
from layercut.geometry.lines import lines_of
from layercut.geometry.thinning import thinned
from layercut.views.picture.scene import RIM_MM, ShownSheet, shadow_copies

Mask = NDArray[np.uint8]

RIM_DETAIL_PX = 0.1
"""The edges' light leaves out detail finer than this, pixels."""

SOFT_PX_PER_MM = 2.5
"""Shadows are soft, so they are worked out with about so many pixels to a mm."""


@dataclass(frozen=True, slots=True)
class Shadow:
    """A soft mask, kept with fewer pixels than the picture has that it falls on: `shrink` times fewer each way."""

    small: Mask
    shrink: int
    width: int

    def rows(self, rows: slice) -> Pixels:
        """How dark some rows of the picture are."""
        if self.shrink == 1:
            return parts(self.small[rows])
        box = (0, rows.start / self.shrink, self.width / self.shrink, rows.stop / self.shrink)
        size = (self.width, rows.stop - rows.start)
        return parts(np.asarray(Image.fromarray(self.small).resize(size, Image.Resampling.BILINEAR, box=box)))


def shadows_on(woods: Sequence[Mask], scale: float, shift_mm: float, blur_mm: float) -> list[Shadow]:
    """How dark each sheet but the front one lies, the back one first; `scale` is pixels to a mm.

    Each sheet in front throws its shadow, moved aside by `shift_mm` for each step that it lies further in front, in
    the copies that `scene.shadow_copies` tells; all of them are softened at once by `blur_mm`.
    """
    shrink = max(round(scale / SOFT_PX_PER_MM), 1)
    small = scale / shrink
    casters = [_smaller(wood, shrink) for wood in woods]
    shadows = []
    for index in range(len(woods) - 1):
        light = np.ones(casters[0].shape, dtype=np.float32)
        for front in range(index + 1, len(woods)):
            for further, opacity in shadow_copies(front - index):
                light *= 1 - parts(moved(casters[front], shift_mm * small * further)) * np.float32(opacity)
        dark = ((1 - light) * 255 + 0.5).astype(np.uint8)
        shadows.append(Shadow(_blurred(dark, blur_mm * small), shrink, woods[0].shape[1]))
    return shadows


def rim_bands(piece: ShownSheet, window: Window) -> Iterator[tuple[Pixels, Pixels]]:
    """The strokes along a sheet's edges, in bands: light where they face the lamp, and dark on the other side.

    A stroke moved inwards on one side lies outside the sheet on the other, where the sheet isn't seen.
    """
    outlines = lines_of(shapely.boundary(thinned(piece.wood, RIM_DETAIL_PX / window.scale)))
    widths = np.full(len(outlines), RIM_MM)
    sides = [
        stroke_edges([affinity.translate(line, move, move) for line in outlines], widths, window).bands()
        for move in (0.5 * RIM_MM, -0.5 * RIM_MM)
    ]
    return ((np.clip(lit, 0, 1), np.clip(unlit, 0, 1)) for lit, unlit in zip(*sides, strict=True))


def parts(mask: Mask) -> Pixels:
    """A mask of 8 bits as parts of a whole."""
    return mask * np.float32(1 / 255)


def moved(mask: Mask, px: float) -> Mask:
    """The mask moved right and down by `px`; what comes in from outside is 0."""
    whole, part = divmod(px, 1)
    every = slice(0, len(mask))
    near = _stepped(mask, int(whole), every)
    if part < 0.01:
        return near
    far = _stepped(mask, int(whole) + 1, every)
    return (near * np.float32(1 - part) + far * np.float32(part) + np.float32(0.5)).astype(np.uint8)


def _stepped(mask: Mask, px: int, rows: slice) -> Mask:
    """Some rows of the mask moved right and down by `px`, or left and up."""
    result = np.zeros_like(mask[rows])
    height, width = mask.shape
    top, bottom = max(rows.start, px), min(rows.stop, height + px)
    left, right = max(px, 0), min(width + px, width)
    if top < bottom and left < right:
        from_there = mask[top - px : bottom - px, left - px : right - px]
        result[top - rows.start : bottom - rows.start, left:right] = from_there
    return result


def fallen(mask: Mask, shift_px: float, sigma_px: float) -> Shadow:
    """The shadow of a mask by itself: moved right and down, and softened."""
    shrink = max(int(sigma_px / 3), 1)  # three pixels of softness are enough to reckon with
    return Shadow(
        _blurred(moved(_smaller(mask, shrink), shift_px / shrink), sigma_px / shrink), shrink, mask.shape[1]
    )


def _blurred(mask: Mask, sigma_px: float) -> Mask:
    """The mask softened by a Gaussian of that standard deviation."""
    return np.asarray(Image.fromarray(mask).filter(ImageFilter.GaussianBlur(sigma_px)))


def _smaller(mask: Mask, shrink: int) -> Mask:
    return mask if shrink == 1 else np.asarray(Image.fromarray(mask).reduce(shrink))
