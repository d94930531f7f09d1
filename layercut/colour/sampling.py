"""What coats come out as at given places.

Enters: washes, bottom first, and points in mm. Leaves: colours (n, 3) and opacities (n,), not premultiplied, sRGB
0 to 1; where the opacity is 0 the colour is black and means nothing. Sources: gradients SVG 2, 13.2; source-over and
group opacity W3C Compositing and Blending 1, 5.1 and 9.1.4; masks CSS Masking 1, 6.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from layercut.colour.washes import Affine, FlatWash, GradedWash, Gradient, GroupWash, Rgb, Spread, Wash

FloatArray = NDArray[np.float64]

LUMINANCE = np.array([0.2125, 0.7154, 0.0721])
"""What red, green and blue count in a luminance mask (Filter Effects 1, `luminanceToAlpha`)."""


def sample(washes: Sequence[Wash], points: FloatArray) -> tuple[FloatArray, FloatArray]:
    """The coats laid over each other on nothing, at points (n, 2) mm: colours (n, 3) and opacities (n,)."""
    premultiplied, opacity = _laid(washes, np.asarray(points, dtype=np.float64))
    with np.errstate(invalid="ignore", divide="ignore"):
        colours = np.where(opacity[:, None] > 0, premultiplied / opacity[:, None], 0.0)
    return np.asarray(np.clip(colours, 0.0, 1.0)), opacity


def sample_over(washes: Sequence[Wash], points: FloatArray, ground: Rgb) -> FloatArray:
    """The same on an opaque ground: colours (n, 3)."""
    premultiplied, opacity = _laid(washes, np.asarray(points, dtype=np.float64))
    return np.asarray(np.clip(premultiplied + (1.0 - opacity[:, None]) * np.array(ground), 0.0, 1.0))


def mask_values(mask: Sequence[Wash], by: str, points: FloatArray) -> FloatArray:
    """By how much a mask lets through, 0 to 1: (n,)."""
    premultiplied, opacity = _laid(mask, np.asarray(points, dtype=np.float64))
    return opacity if by == "alpha" else np.asarray(premultiplied @ LUMINANCE)


def gradient_colours(gradient: Gradient, points: FloatArray) -> tuple[FloatArray, FloatArray]:
    """A gradient's colours (n, 3) and opacities (n,) at points; opacity 0 where it isn't drawn at all."""
    at = spread_parameter(gradient_parameter(gradient, points), gradient.spread)
    colours, opacities = stop_colours(gradient, at)
    undrawn = np.isnan(at)
    opacities[undrawn] = 0.0
    return colours, opacities


def stop_colours(gradient: Gradient, at: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Colours and opacities between the stops at offsets, each interpolated by itself; of stops at one place the last
    counts from there on (SVG 2, 13.2.4)."""
    offsets = np.array([stop.offset for stop in gradient.stops])
    table = np.array([(*stop.colour, stop.opacity) for stop in gradient.stops])
    at = np.nan_to_num(at)
    after = np.searchsorted(offsets, at, side="right")
    low, high = np.clip(after - 1, 0, None), np.clip(after, None, len(offsets) - 1)
    width = offsets[high] - offsets[low]
    share = np.where(width > 0, (at - offsets[low]) / np.where(width > 0, width, 1.0), 0.0)
    share = np.clip(share, 0.0, 1.0)[:, None]
    mixed = table[low] * (1.0 - share) + table[high] * share
    return mixed[:, :3], mixed[:, 3]


def spread_parameter(at: FloatArray, spread: Spread) -> FloatArray:
    """A parameter beyond 0 to 1 brought back into it as `spreadMethod` says; NaN stays."""
    if spread == "pad":
        return np.asarray(np.clip(at, 0.0, 1.0))
    if spread == "repeat":
        return at - np.floor(at)
    return np.abs(at - 2.0 * np.round(at / 2.0))


def gradient_parameter(gradient: Gradient, points: FloatArray) -> FloatArray:
    """How far along a gradient points lie, before its spread: (n,); NaN where a radial one isn't drawn."""
    x, y = _unmapped(gradient.to_mm, points)
    return _along(gradient.points, x, y) if gradient.kind == "linear" else _between(gradient.points, x, y)


def _unmapped(matrix: Affine, points: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Points of the panel in the gradient's own system; NaN under a map without an inverse."""
    a, b, c, d, e, f = matrix
    x, y = points[:, 0] - e, points[:, 1] - f
    with np.errstate(all="ignore"):
        scale = 1.0 / np.float64(a * d - b * c)
        return (d * x - c * y) * scale, (a * y - b * x) * scale


def _along(ends: tuple[float, ...], x: FloatArray, y: FloatArray) -> FloatArray:
    """The share of the way from one end to the other; all of it lies at the end where the two are one place."""
    x1, y1, x2, y2 = ends
    dx, dy = x2 - x1, y2 - y1
    length = dx * dx + dy * dy
    if length == 0:
        return np.ones_like(x)
    return ((x - x1) * dx + (y - y1) * dy) / length


def _between(circles: tuple[float, ...], x: FloatArray, y: FloatArray) -> FloatArray:
    """The largest share w at which the circle between focus (0) and end (1) has a radius of at least 0 and goes
    through the point (HTML, `createRadialGradient`, to which SVG 2, 13.2.3 is equal): (n,), NaN for none.

    |p - f - w (c - f)| = fr + w (r - fr), squared: a w^2 - 2 b w + q = 0.
    """
    fx, fy, fr, cx, cy, r = circles
    if r <= 0:
        return np.ones_like(x)
    dx, dy, dr = cx - fx, cy - fy, r - fr
    px, py = x - fx, y - fy
    a = dx * dx + dy * dy - dr * dr
    b = px * dx + py * dy + fr * dr
    q = px * px + py * py - fr * fr
    with np.errstate(all="ignore"):
        if abs(a) <= 1e-12 * max(r * r, fr * fr):
            return _real(q / (2.0 * b), fr, dr)
        root = np.sqrt(b * b - a * q)
        first, second = (b + root) / a, (b - root) / a
        return np.fmax(_real(first, fr, dr), _real(second, fr, dr))


def _real(share: FloatArray, fr: float, dr: float) -> FloatArray:
    """Shares at which the circle has a radius; NaN for others."""
    return np.where(np.isfinite(share) & (fr + share * dr >= 0.0), share, np.nan)


def _laid(washes: Sequence[Wash], points: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Washes laid over each other: colours times opacity (n, 3), and opacities (n,)."""
    colour, opacity = np.zeros((len(points), 3)), np.zeros(len(points))
    for wash in washes:
        over, alpha = _one(wash, points)
        colour = over + (1.0 - alpha)[:, None] * colour
        opacity = alpha + (1.0 - alpha) * opacity
    return colour, opacity


def _one(wash: Wash, points: FloatArray) -> tuple[FloatArray, FloatArray]:
    if isinstance(wash, FlatWash):
        alpha = np.full(len(points), wash.opacity)
        return np.array(wash.colour) * alpha[:, None], alpha
    if isinstance(wash, GradedWash):
        colours, alpha = gradient_colours(wash.gradient, points)
        alpha = alpha * wash.opacity
        return colours * alpha[:, None], alpha
    return _group(wash, points)


def _group(wash: GroupWash, points: FloatArray) -> tuple[FloatArray, FloatArray]:
    colour, alpha = _laid(wash.washes, points)
    share = np.full(len(points), wash.opacity)
    if wash.mask:
        share = share * mask_values(wash.mask, wash.mask_by, points)
    return colour * share[:, None], alpha * share
