"""Blended paints made by hand, as the reader makes them: gradients with their geometry in mm."""

from layercut.colour.folding import rgb_of
from layercut.colour.washes import Affine, GradedWash, Gradient, Spread, Stop
from layercut.model import Paint

PLAIN: Affine = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
Stops = tuple[tuple[float, str] | tuple[float, str, float], ...]
RED_TO_BLUE: Stops = ((0.0, "#ff0000"), (1.0, "#0000ff"))


def stops_of(stops: Stops) -> tuple[Stop, ...]:
    """Stops from offset, colour and opacity, which is 1 unless it is given."""
    return tuple(Stop(stop[0], rgb_of(stop[1]), stop[2] if len(stop) > 2 else 1.0) for stop in stops)


def straight(
    start: tuple[float, float], end: tuple[float, float], stops: Stops = RED_TO_BLUE, spread: Spread = "pad"
) -> GradedWash:
    """A coat along a line from one place to another, mm."""
    return GradedWash(Gradient("linear", (*start, *end), PLAIN, spread, stops_of(stops)))


def round_one(
    middle: tuple[float, float],
    radius: float,
    stops: Stops = RED_TO_BLUE,
    focus: tuple[float, float] | None = None,
    to_mm: Affine = PLAIN,
) -> GradedWash:
    """A coat outwards from a place, mm."""
    fx, fy = focus or middle
    return GradedWash(Gradient("radial", (fx, fy, 0.0, *middle, radius), to_mm, "pad", stops_of(stops)))


def blended(*washes: GradedWash) -> Paint:
    """A paint of coats, bottom first."""
    return Paint.over(washes)


def downwards(top_mm: float, bottom_mm: float, stops: Stops = RED_TO_BLUE) -> Paint:
    """A blend straight down."""
    return blended(straight((0.0, top_mm), (0.0, bottom_mm), stops))
