"""An independent judge of widths: a disc that rolls, by GEOS's offsets with 256 chords in a quarter circle."""

import shapely
from shapely import Point, Polygon

CHORDS = 256


WIDER_MM = (0.0, 0.001, 0.003)
"""Offsets beside slits lose whole parts now and then (GEOS 3.13); where a wider disc rolls, a narrower one does."""


def rolls(wood: Polygon, start: Point, end: Point, width_mm: float) -> bool:
    """Whether a disc of this width can roll from one point to another: the places of its middle hang together."""
    return any(_rolls(wood, start, end, width_mm + wider) for wider in WIDER_MM)


def _rolls(wood: Polygon, start: Point, end: Point, width_mm: float) -> bool:
    places = shapely.get_parts(shapely.buffer(wood, -width_mm / 2, quad_segs=CHORDS))
    return any(place.distance(start) < 1e-9 and place.distance(end) < 1e-9 for place in places if not place.is_empty)


def disc_way(wood: Polygon, start: Point, end: Point, most_mm: float) -> float:
    """The widest disc that can roll from one point to another, mm, by bisection."""
    low, high = 0.0, most_mm
    while high - low > 1e-4:
        middle = (low + high) / 2
        low, high = (middle, high) if rolls(wood, start, end, middle) else (low, middle)
    return low
