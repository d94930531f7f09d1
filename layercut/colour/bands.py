"""Where a gradient's values are at least so high: bands of a linear one, rings of a radial one.

Enters: a gradient and a value at each of its stops, mm. Leaves: a region. Holds: its edges are lines across the
gradient, or circles, under the gradient's map; once for each turn of its spread.
"""

import itertools
import math
from collections.abc import Iterator, Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

from layercut.colour.sampling import gradient_parameter
from layercut.colour.washes import Affine, Gradient
from layercut.geometry.curves import map_points
from layercut.geometry.offsets import quarter_segments
from layercut.geometry.regions import EMPTY, Region, as_region, union

MOST_BANDS = 2000
"""A gradient that turns more often within its shape has no bands that anyone could see."""

Span = tuple[float, float]


def value_bands(
    gradient: Gradient, values: Sequence[float], least: float, box: tuple[float, float, float, float]
) -> Region | None:
    """Where between the stops' values, straight from each to the next, the value is at least `least`, in a box (left,
    top, right, bottom). None where that is no set of bands: focus outside its circle, or too many turns."""
    x0, y0, x1, y1 = box
    corners = np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1)])
    whole = shapely.box(*box)
    # The least and greatest value of the gradient's parameter within the box: so many turns must be looked at.
    if gradient.kind == "linear":
        at = gradient_parameter(gradient, corners)
        span = (float(at.min()), float(at.max()))
    else:
        reach = _reach(gradient, corners)
        if reach is None:
            return None
        span = reach
    if not all(map(math.isfinite, span)) or span[1] - span[0] > MOST_BANDS:
        return None
    bands = list(_bands(gradient, values, least, span))
    if len(bands) > MOST_BANDS:
        return None
    if not bands:
        return EMPTY
    shape = _strip if gradient.kind == "linear" else _ring
    return as_region(shapely.intersection(union(shape(gradient, band, corners) for band in bands), whole))


def turn_mm(gradient: Gradient) -> float:
    """How wide one turn of a repeating gradient is, mm: of a round one where it is widest. Infinite
    for one that ends."""
    if gradient.spread == "pad":
        return math.inf
    a, b, c, d, _, _ = gradient.to_mm
    if gradient.kind == "linear":
        x1, y1, x2, y2 = gradient.points
        dx, dy = x2 - x1, y2 - y1
        # Bands run square to the gradient in its own system; what counts is the way across them in mm.
        return abs(a * d - b * c) * (dx * dx + dy * dy) / math.hypot(c * dx - a * dy, d * dx - b * dy)
    fx, fy, fr, cx, cy, r = gradient.points
    stretch = float(np.linalg.norm(np.array([[a, c], [b, d]]), 2))
    return stretch * (math.hypot(cx - fx, cy - fy) + abs(r - fr))


def _bands(gradient: Gradient, values: Sequence[float], least: float, span: Span) -> Iterator[Span]:
    """The spans of the parameter, within `span` and a little more, in which the value is high enough."""
    offsets = [stop.offset for stop in gradient.stops]
    one_turn = list(_once(offsets, values, least))
    if gradient.spread == "pad":
        ends = [(span[0] - 1.0, 0.0)] if values[0] >= least else []
        ends += [(1.0, span[1] + 1.0)] if values[-1] >= least else []
        yield from _merged([*ends, *one_turn])
        return
    spans = []
    for turn in range(math.floor(span[0]), math.ceil(span[1]) + 1):
        back = gradient.spread == "reflect" and turn % 2
        spans += [(turn + 1 - high, turn + 1 - low) if back else (turn + low, turn + high) for low, high in one_turn]
    yield from _merged(spans)


def _once(offsets: Sequence[float], values: Sequence[float], least: float) -> Iterator[Span]:
    """The spans between the offsets 0 and 1 in which the value is high enough."""
    points = [(0.0, values[0]), *zip(offsets, values, strict=True), (1.0, values[-1])]
    for (at, low), (to, high) in itertools.pairwise(points):
        if to <= at or (low < least and high < least):
            continue
        cross = at + (to - at) * (least - low) / (high - low) if (low < least) != (high < least) else 0.0
        yield (cross if low < least else at, cross if high < least else to)


def _merged(spans: Sequence[Span]) -> Iterator[Span]:
    """The spans in order, those that meet as one."""
    current: Span | None = None
    for low, high in sorted(spans):
        if current is not None and low <= current[1] + 1e-12:
            current = (current[0], max(current[1], high))
            continue
        if current is not None:
            yield current
        current = (low, high)
    if current is not None:
        yield current


def _strip(gradient: Gradient, band: Span, corners: NDArray[np.float64]) -> Region:
    """The strip across a linear gradient between two of its places, as long as the box needs."""
    x1, y1, x2, y2 = gradient.points
    dx, dy = x2 - x1, y2 - y1
    back = map_points(corners, inverted(gradient.to_mm))
    across = ((back[:, 1] - y1) * dx - (back[:, 0] - x1) * dy) / (dx * dx + dy * dy)
    low, high = float(across.min()) - 1.0, float(across.max()) + 1.0
    ring = [(band[0], low), (band[1], low), (band[1], high), (band[0], high)]
    points = np.array([(x1 + t * dx - s * dy, y1 + t * dy + s * dx) for t, s in ring])
    return shapely.Polygon(map_points(points, gradient.to_mm))


def _ring(gradient: Gradient, band: Span, _corners: NDArray[np.float64]) -> Region:
    """What lies between two circles of a radial gradient."""
    inner, outer = _disc(gradient, band[0]), _disc(gradient, band[1])
    return outer if inner.is_empty else as_region(shapely.difference(outer, inner))


def _disc(gradient: Gradient, share: float) -> Region:
    """The circle of a radial gradient at a share of the way; empty for one without a radius."""
    fx, fy, fr, cx, cy, r = gradient.points
    radius = fr + share * (r - fr)
    if radius <= 0:
        return EMPTY
    a, b, c, d, _, _ = gradient.to_mm
    count = 4 * quarter_segments(radius * math.sqrt(max(a * a + b * b, c * c + d * d)))
    angle = np.linspace(0.0, 2 * math.pi, count, endpoint=False)
    ring = np.stack((np.cos(angle), np.sin(angle)), axis=1) * radius
    ring += (fx + share * (cx - fx), fy + share * (cy - fy))
    return shapely.Polygon(map_points(ring, gradient.to_mm))


def _reach(gradient: Gradient, corners: NDArray[np.float64]) -> Span | None:
    """From the least share to the largest that a box can have; None unless each circle holds all before it."""
    fx, fy, fr, cx, cy, r = gradient.points
    if math.hypot(cx - fx, cy - fy) + fr >= r * (1 - 1e-9):
        return None
    most = float(np.nanmax(gradient_parameter(gradient, corners)))
    return -fr / (r - fr), max(most, 1.0)


def inverted(matrix: Affine) -> Affine:
    """The map back; the map must leave areas."""
    a, b, c, d, e, f = matrix
    det = a * d - b * c
    return (d / det, -b / det, -c / det, a / det, (c * f - d * e) / det, (b * e - a * f) / det)
