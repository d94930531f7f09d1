"""Views of a wall resampled onto it, and blended where one is hidden.

Enters: one or two `View`. Leaves: `Squared`, one picture of the wall seen straight on, and how well the views agree.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from layercut.setup.homography import Floats, area_growth, map_points
from layercut.setup.photo import MAX_PIXELS, View

FEATHER = 0.004
"""Width of the soft edge around what is hidden, as a part of the photo's longer side."""

SEAM_POWER = 16.0
"""How sharply the better view wins: the weights go with this power of the pixels that a view has on a patch of the
wall, so that the seam is soft where both see it alike, and narrow."""

DIFFERS = 32.0
"""Two views disagree in a pixel whose channels differ by more than this on average, of 255."""

SAMPLE_PX = 1.5
"""A sample between pixels looks at four of them, so samples this many photo pixels apart leave none out."""

_ROWS = 64  # rows of the result that are worked on at once, to bound the memory
_COARSE_PX = 256  # longer side of the picture on which two views are compared


@dataclass(frozen=True, slots=True)
class Overlap:
    """How two views agree where both see the wall, after the second was brought to the first's brightness.

    `share` of the wall is seen by both; `mean` and `differing` are the mean difference of a channel (of 255) and the
    share of pixels that differ by more than DIFFERS; `worst_at` is the middle of the patch that differs most, mm on
    the wall from its left and lower edge, with its mean difference `worst`.
    """

    share: float
    mean: float
    differing: float
    worst: float
    worst_at: tuple[float, float]


@dataclass(frozen=True, slots=True)
class Squared:
    """The wall seen straight on.

    `pixels` is (height, width, 4): colour, and 255 where some view shows it, else 0. `unseen` is the share of the
    wall that no photo reaches, `hidden` the share where every view that reaches it is hidden, so that what stands
    before the wall shows.
    """

    pixels: NDArray[np.uint8]
    unseen: float
    hidden: float
    overlap: Overlap | None


@dataclass(frozen=True, slots=True)
class _Look:
    """A view resampled onto the wall: colours (height, width, 3), and where its photo reaches."""

    view: View
    colour: NDArray[np.uint8]
    reaches: NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class _Pair:
    """Two views' colours on a coarse grid of the wall, where both see it freely, and the grid's points, mm."""

    first: Floats
    second: Floats
    both: NDArray[np.bool_]
    wall: Floats


def square_up(views: Sequence[View], size_mm: tuple[float, float], pixels: tuple[int, int]) -> Squared:
    """The wall of real size `size_mm` seen straight on, as a picture of so many pixels.

    Each pixel is a weighted mean of the views that show it. A view weighs nothing where it is marked as hidden, with
    a soft edge around, and otherwise by how many of its pixels fall on that patch of the wall (SEAM_POWER): the view
    that sees it larger wins. Where all are hidden, they weigh as if none were.
    """
    looks = [_look(view, size_mm, pixels) for view in views]
    pair = _look_at_both(looks[0], looks[1], size_mm) if len(looks) == 2 else None
    gains = [np.ones(3)] * len(looks) if pair is None else [np.ones(3), _gain(pair)]
    made = np.zeros((pixels[1], pixels[0], 4), dtype=np.uint8)
    hidden = 0
    # In bands of rows: the weights of a whole picture would take many times the picture's memory.
    for top in range(0, pixels[1], _ROWS):
        rows = slice(top, min(top + _ROWS, pixels[1]))
        wall = _wall_points(rows, size_mm, pixels)
        shares, blocked = _shares(looks, rows, wall)
        parts = (
            share[..., None] * look.colour[rows] * gain
            for share, look, gain in zip(shares, looks, gains, strict=True)
        )
        made[rows, :, :3] = np.clip(np.rint(sum(parts)), 0, 255)
        made[rows, :, 3] = np.where(shares.sum(axis=0) > 0, 255, 0)
        hidden += int(blocked.sum())
    count = pixels[0] * pixels[1]
    unseen = 1 - float((made[..., 3] > 0).sum()) / count
    overlap = _compare(pair, gains[1], size_mm) if pair is not None else None
    return Squared(made, unseen, hidden / count, overlap)


def _look(view: View, size_mm: tuple[float, float], pixels: tuple[int, int]) -> _Look:
    """Resample a view: the mean of as many samples a side of each pixel as its photo has pixels for."""
    count = _samples(view, size_mm, pixels)
    many = (pixels[0] * count, pixels[1] * count)
    to_photo = view.to_photo @ np.diag([size_mm[0] / many[0], size_mm[1] / many[1], 1.0])
    terms = (to_photo / to_photo[2, 2]).ravel()[:8].tolist()

    def resampled(image: Image.Image) -> Image.Image:
        laid = image.transform(many, Image.Transform.PERSPECTIVE, terms, Image.Resampling.BILINEAR)
        return laid.reduce(count) if count > 1 else laid

    reach = np.asarray(resampled(Image.new("L", view.size, 255)))  # of a pixel on the photo's rim, a part
    colour = np.asarray(resampled(Image.fromarray(view.pixels)))
    full = colour.astype(np.float32) * (255 / np.maximum(reach, 1).astype(np.float32))[..., None]
    return _Look(view, np.clip(np.rint(full), 0, 255).astype(np.uint8), reach > 127)


def _samples(view: View, size_mm: tuple[float, float], pixels: tuple[int, int]) -> int:
    """Samples a side of each pixel of the result: as many as the photo has pixels where it is finest."""
    steps = np.linspace(0, 1, 9)
    wall = np.stack(np.meshgrid(steps * size_mm[0], steps * size_mm[1]), axis=-1)
    at = map_points(view.to_photo, wall)
    patch = np.array(size_mm) / pixels
    finest = max(
        float(np.linalg.norm(map_points(view.to_photo, wall + patch * way) - at, axis=-1).max())
        for way in (np.array([1.0, 0.0]), np.array([0.0, 1.0]))
    )
    most = int(np.sqrt(2 * MAX_PIXELS / (pixels[0] * pixels[1])))  # what the memory bears
    return int(np.clip(np.ceil(finest / SAMPLE_PX), 1, max(most, 1)))


def _wall_points(rows: slice, size_mm: tuple[float, float], pixels: tuple[int, int]) -> Floats:
    """Where the middles of the result's pixels lie on the wall, mm, shape (rows, width, 2)."""
    x = (np.arange(pixels[0]) + 0.5) * size_mm[0] / pixels[0]
    y = (np.arange(rows.start, rows.stop) + 0.5) * size_mm[1] / pixels[1]
    return np.stack(np.meshgrid(x, y), axis=-1)


def _shares(looks: Sequence[_Look], rows: slice, wall: Floats) -> tuple[Floats, NDArray[np.bool_]]:
    """How much of each pixel comes from each view (views, rows, width), 0 where none shows it; where all are hidden.

    The weights are taken relative to the best view's, so that their power neither over- nor underflows.
    """
    growth = np.stack([np.abs(area_growth(look.view.to_photo, wall)) for look in looks])
    better = (growth / growth.max(axis=0)) ** SEAM_POWER
    weight = np.where(np.stack([look.reaches[rows] for look in looks]), np.maximum(better, 1e-30), 0.0)
    free = weight * np.stack([_clearness(look.view, map_points(look.view.to_photo, wall)) for look in looks])
    blocked = (free.sum(axis=0) <= 0) & (weight.sum(axis=0) > 0)
    used = np.where(blocked, weight, free)
    total = used.sum(axis=0)
    return np.asarray(used / np.where(total > 0, total, 1.0), dtype=np.float64), blocked


def _clearness(view: View, at: Floats) -> Floats:
    """0 within what is hidden, rising to 1 across the feather outside of it."""
    soft = max(FEATHER * max(view.size), 1.0)
    clear = np.ones(at.shape[:2])
    for x0, y0, x1, y1 in view.hidden:
        dx = np.maximum(np.maximum(x0 - at[..., 0], at[..., 0] - x1), 0.0)
        dy = np.maximum(np.maximum(y0 - at[..., 1], at[..., 1] - y1), 0.0)
        clear = np.minimum(clear, np.clip(np.hypot(dx, dy) / soft, 0.0, 1.0))
    return clear


def _look_at_both(first: _Look, second: _Look, size_mm: tuple[float, float]) -> _Pair:
    """Both views, every few pixels one."""
    step = max(1, max(first.reaches.shape) // _COARSE_PX)
    picked = (slice(step // 2, None, step), slice(step // 2, None, step))
    high, wide = first.reaches.shape
    wall = _wall_points(slice(0, high), size_mm, (wide, high))[picked]
    both = first.reaches[picked] & second.reaches[picked]
    for look in (first, second):
        both &= _clearness(look.view, map_points(look.view.to_photo, wall)) >= 1
    return _Pair(first.colour[picked].astype(np.float64), second.colour[picked].astype(np.float64), both, wall)


def _gain(pair: _Pair) -> Floats:
    """What the second view's channels are multiplied by, so that it is as bright as the first where both see."""
    one, two = pair.first, pair.second
    usable = pair.both & (np.minimum(one, two).min(axis=-1) > 8) & (np.maximum(one, two).max(axis=-1) < 250)
    if usable.sum() < 50:
        return np.ones(3)
    return np.asarray(np.clip(np.median(one[usable] / two[usable], axis=0), 0.5, 2.0), dtype=np.float64)


def _compare(pair: _Pair, gain: Floats, size_mm: tuple[float, float]) -> Overlap:
    both = pair.both
    if not both.any():
        return Overlap(0.0, 0.0, 0.0, 0.0, (0.0, 0.0))
    difference = np.abs(pair.first - pair.second * gain).mean(axis=-1)
    seen = difference[both]
    block = max(8, max(both.shape) // 16)
    worst, at = 0.0, (0.0, 0.0)
    for top in range(0, both.shape[0], block):
        for left in range(0, both.shape[1], block):
            part = (slice(top, top + block), slice(left, left + block))
            if both[part].mean() > 0.5 and (mean := float(difference[part][both[part]].mean())) > worst:
                x, y = pair.wall[part].reshape(-1, 2).mean(axis=0)
                worst, at = mean, (float(x), size_mm[1] - float(y))
    return Overlap(float(both.mean()), float(seen.mean()), float((seen > DIFFERS).mean()), worst, at)
