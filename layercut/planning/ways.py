"""Where a gradient runs on the panel, as a painter follows it.

Enters: a gradient, the region that it is seen on, the panel's size. Leaves: a `BlendDirection`, from 0 % to 100 %.
Lengths are mm, places from the panel's top left corner.
"""

import math

import numpy as np
import shapely

from layercut.colour.washes import Affine, Gradient
from layercut.geometry.regions import Region, point_on
from layercut.geometry.thinning import thinned_apart
from layercut.workplan import BlendDirection

TRIES = 9
"""Arrows that are tried side by side, and directions of a round one: the one that is seen best is taken."""

_OFF_MIDDLE = sorted(range(TRIES), key=lambda k: (abs(abs(2 * k + 1 - TRIES) - TRIES // 2), k))
"""In this order: those halfway between the middle and a side first."""

_Point = tuple[float, float]


def way_of(gradient: Gradient, number: int, region: Region) -> BlendDirection | None:
    """The way of a gradient on a region, which must not be empty; None where it has no length at all.

    Any line along which a gradient changes would do; this one lies where most of it is on the region.
    """
    tried = _straight(gradient, region) if gradient.kind == "linear" else _outwards(gradient)
    if not tried:
        return None
    lines = shapely.linestrings(np.array(tried))
    # What is seen of each, in whole tenths of a millimetre, so that rounding doesn't choose between equal ones.
    seen = np.round(shapely.length(shapely.intersection(lines, _shrunk(region))), 1)
    start, end = tried[int(np.argmax(seen))]
    if gradient.kind == "linear":
        return BlendDirection(number, "linear", start, end, gradient.spread)
    _, _, _, cx, cy, r = gradient.points
    axes = _half_axes(gradient.to_mm, r)
    return BlendDirection(number, "radial", start, end, gradient.spread, _placed(gradient.to_mm, cx, cy), axes)


def _shrunk(region: Region) -> Region:
    """As much of a region's detail as choosing takes."""
    return thinned_apart(region, 0.5) if shapely.get_num_coordinates(region) > 500 else region


def _straight(gradient: Gradient, region: Region) -> list[tuple[_Point, _Point]]:
    """Lines from 0 % to 100 % side by side across a region; the last goes through a place on it for certain."""
    slope = _slope(gradient)
    if slope is None:
        return []
    (gx, gy), at_origin = slope
    square = gx * gx + gy * gy
    across = (-gy / math.sqrt(square), gx / math.sqrt(square))
    corners = shapely.get_coordinates(region.envelope)
    offsets = corners @ np.array(across)
    x, y = point_on(region)
    middle = x * across[0] + y * across[1]
    low, high = float(offsets.min()), float(offsets.max())
    # Not the middle first: the number of the paint stands there.
    sides = [*(low + (high - low) * (k + 0.5) / TRIES for k in _OFF_MIDDLE), middle]

    def place(share: float, side: float) -> _Point:
        along = (share - at_origin) / square
        return (gx * along + across[0] * side, gy * along + across[1] * side)

    return [(place(0.0, side), place(1.0, side)) for side in sides]


def _slope(gradient: Gradient) -> tuple[_Point, float] | None:
    """The share of the way as a plane over the panel: how it rises in x and y, for each mm, and its value at the
    origin. Under a skew it rises square to the bands, not along the line as drawn. None where nothing rises."""
    x1, y1, x2, y2 = gradient.points
    a, b, c, d, _, _ = gradient.to_mm
    dx, dy = x2 - x1, y2 - y1
    length, area = dx * dx + dy * dy, a * d - b * c
    if length == 0 or area == 0:
        return None
    gx, gy = (d * dx - b * dy) / area / length, (a * dy - c * dx) / area / length
    if not (math.isfinite(gx) and math.isfinite(gy)) or (gx, gy) == (0.0, 0.0):
        return None
    start_x, start_y = _placed(gradient.to_mm, x1, y1)
    return (gx, gy), -(gx * start_x + gy * start_y)


def _outwards(gradient: Gradient) -> list[tuple[_Point, _Point]]:
    """Lines from the first circle to the last, in directions all around."""
    fx, fy, fr, cx, cy, r = gradient.points
    if r <= 0:
        return []
    turns = [(math.cos(angle), math.sin(angle)) for angle in np.arange(8) * math.pi / 4]
    return [
        (
            _placed(gradient.to_mm, fx + fr * x, fy + fr * y),
            _placed(gradient.to_mm, cx + r * x, cy + r * y),
        )
        for x, y in turns
    ]


def _placed(matrix: Affine, x: float, y: float) -> _Point:
    a, b, c, d, e, f = matrix
    return (a * x + c * y + e, b * x + d * y + f)


def _half_axes(matrix: Affine, radius: float) -> tuple[float, float]:
    """The longer and the shorter half axis of a circle under a map."""
    a, b, c, d, _, _ = matrix
    long, short = np.linalg.svd(np.array([[a, c], [b, d]]), compute_uv=False)
    return (float(long) * radius, float(short) * radius)
