"""How far each place of a map lies from the edge of its region, and how wide the region is there, for all at once.

Enters: a map of regions as pixels, each with its region's number. Leaves: numbers for each pixel. Holds: work is the
same whatever the regions look like: it grows with the pixels and with the square of how far one looks.

Offsets of outlines were tried first: for the mill's 115 colours they took 11 s, where this takes a tenth of a second.
"""

import math
from collections.abc import Iterator
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

Labels: TypeAlias = NDArray[np.int32]
"""The number of the region that each pixel belongs to."""

Steps: TypeAlias = NDArray[np.uint8]
"""Lengths, in parts of a pixel: `PARTS` to one."""

PARTS = 8
"""Lengths are whole eighths of a pixel: bytes are quick, and no picture shows less."""

MOST_PX = 255 / PARTS - 1
"""One can look no further than this, pixels."""


def edge_distance(labels: Labels, reach_px: float) -> Steps:
    """How far each pixel's middle lies from the edge of its region, as far as one looks; `reach_px` where it is
    further. What lies beyond the map is another region.

    The edge runs half way between the middles of two pixels, so that distances are exact to half a pixel, and along
    edges that run with the rows to the digit.
    """
    reach = min(reach_px, MOST_PX)
    around = math.floor(reach + 0.5)
    padded = np.pad(labels, around, constant_values=-1)
    found = np.full(padded.shape, round(reach * PARTS), dtype=np.uint8)
    for down, right in _half_disc(reach + 0.5):
        here, there = _pair(padded.shape, down, right)
        length = np.uint8(round(min(math.hypot(down, right) - 0.5, reach) * PARTS))
        # All bits where both are of one region: the minimum then changes nothing.
        apart = (padded[here] == padded[there]).view(np.uint8) * np.uint8(255) | length
        np.minimum(found[here], apart, out=found[here])
        np.minimum(found[there], apart, out=found[there])
    return found[around : around + labels.shape[0], around : around + labels.shape[1]].copy()


def disc_radius(distance: Steps) -> Steps:
    """The radius of the greatest disc within its region that covers a pixel's middle: half the region's local width.

    `distance` is what `edge_distance` gives, and no radius is more than it tells.
    """
    most = int(distance.max(initial=0)) / PARTS
    around = math.ceil(most)
    padded = np.pad(distance, around)
    found = padded.copy()
    reaching: dict[int, Steps] = {}
    for down, right in _half_disc(most):
        here, there = _pair(padded.shape, down, right)
        length = math.ceil(math.hypot(down, right) * PARTS)
        if length not in reaching:  # a disc covers what is nearer to its middle than its radius
            reaching[length] = padded * (padded >= length)
        np.maximum(found[here], reaching[length][there], out=found[here])
        np.maximum(found[there], reaching[length][here], out=found[there])
    return found[around : around + distance.shape[0], around : around + distance.shape[1]].copy()


def _half_disc(radius: float) -> Iterator[tuple[int, int]]:
    """The whole steps down and right within a radius, one of each opposite two, without none at all."""
    most = math.floor(radius)
    for down in range(most + 1):
        for right in range(-most if down else 1, most + 1):
            if math.hypot(down, right) <= radius:
                yield down, right


_Part: TypeAlias = tuple[slice, slice]


def _pair(shape: tuple[int, ...], down: int, right: int) -> tuple[_Part, _Part]:
    """Two parts of a map that lie on each other when one is moved; `down` must not be negative."""
    height, width = shape
    left, over = max(-right, 0), max(right, 0)
    here = (slice(0, height - down), slice(left, width - over))
    there = (slice(down, height), slice(left + right, width - over + right))
    return here, there
