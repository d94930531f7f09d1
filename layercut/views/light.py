"""Light on a stack of sheets: shadows and lit edges, from what each sheet covers.

Enters: the covered part of each pixel (0 to 1), one array a sheet. Leaves: arrays of the same shape, 0 to 1. Holds:
shadows fall only on what lies deeper, to the right and down: the lamp stands high at the top left.
"""

from collections.abc import Sequence

import numpy as np
from PIL import Image, ImageFilter

from layercut.views.raster import Pixels

SOFT_PX_PER_MM = 2.5
"""Shadows are soft, so they are worked out with hardly more pixels to a mm than this."""


def shadows_on(woods: Sequence[Pixels], scale: float, shift_mm: float, blur_mm: float) -> list[Pixels]:
    """How dark each sheet but the front one lies, the back one first; `scale` is pixels to a mm.

    What is dark at a sheet is what the sheet in front keeps off, or what was dark there already, moved aside by
    `shift_mm` and softened by `blur_mm`. So a shadow is longer and softer the deeper it falls.
    """
    shrink = max(int(scale / SOFT_PX_PER_MM), 1)
    small = scale / shrink
    shadows: list[Pixels] = []
    dark = np.zeros(1, dtype=np.float32)
    for wood in reversed(woods[1:]):
        kept_off = np.maximum(_smaller(wood, shrink), dark)
        dark = _blurred(moved(kept_off, shift_mm * small), blur_mm * small)
        shadows.append(_larger(dark, shrink, wood.shape))
    return shadows[::-1]


def rims_of(wood: Pixels, width_px: float) -> tuple[Pixels, Pixels]:
    """The edges of a sheet that face the lamp, and those that face away from it: inside it, `width_px` wide."""
    step = max(round(width_px), 1)
    share = np.float32(min(width_px / step, 1))  # an edge thinner than a pixel is fainter
    beyond = 1 - moved(wood, step)
    behind = np.ones_like(wood)
    behind[:-step, :-step] = 1 - wood[step:, step:]
    return wood * beyond * share, wood * behind * share


def moved(mask: Pixels, px: float) -> Pixels:
    """The mask moved right and down by `px`; what comes in from outside is 0."""
    whole, part = divmod(px, 1)
    near = _stepped(mask, int(whole))
    if part < 0.01:
        return near
    return np.asarray(near * np.float32(1 - part) + _stepped(mask, int(whole) + 1) * np.float32(part), np.float32)


def _stepped(mask: Pixels, px: int) -> Pixels:
    result = np.zeros_like(mask)
    height, width = mask.shape
    if px < min(height, width):
        result[px:, px:] = mask[: height - px, : width - px]
    return result


def fallen(mask: Pixels, shift_px: float, sigma_px: float) -> Pixels:
    """The shadow of a mask by itself: moved right and down, and softened."""
    shrink = max(int(sigma_px / 3), 1)  # three pixels of softness are enough to reckon with
    return _larger(_blurred(moved(_smaller(mask, shrink), shift_px / shrink), sigma_px / shrink), shrink, mask.shape)


def _blurred(mask: Pixels, sigma_px: float) -> Pixels:
    """The mask softened by a Gaussian of that standard deviation."""
    return _floats(_image(mask).filter(ImageFilter.GaussianBlur(sigma_px)))


def _smaller(mask: Pixels, shrink: int) -> Pixels:
    return mask if shrink == 1 else _floats(_image(mask).reduce(shrink))


def _larger(mask: Pixels, shrink: int, shape: tuple[int, ...]) -> Pixels:
    if shrink == 1:
        return mask
    height, width = shape
    within = (0, 0, width / shrink, height / shrink)
    return _floats(_image(mask).resize((width, height), Image.Resampling.BILINEAR, box=within))


def _image(mask: Pixels) -> Image.Image:
    return Image.fromarray((mask * 255 + 0.5).astype(np.uint8))


def _floats(image: Image.Image) -> Pixels:
    return np.asarray(image, dtype=np.float32) / np.float32(255)
