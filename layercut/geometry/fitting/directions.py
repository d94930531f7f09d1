"""Which way a line runs at its vertices, before and after each.

Enters: vertices as complex numbers (x + iy, mm), runs of them without corners, directions across each vertex.
Leaves: unit directions before and after each vertex. Holds: both are the same where the line is smooth; where it was
drawn with a slight bend, each is that of its own side. Turned round, the line has the same directions.
"""

import math

import numpy as np

from layercut.geometry.fitting.cubic_fit import Flags, Floats, Indices, Places
from layercut.geometry.precision import GRID_MM

BEND_RAD = math.radians(1)
"""A vertex whose sides differ by more than this, and by more than rounding explains, was drawn with a bend."""

NOISE = 1.5
"""By how many grid steps over its nearest edge's length rounding may turn a direction of one side: half a step
at each of three vertices, weighed 3/2, 2 and 1/2, adds up to 2 at worst, and hardly ever to more than this."""


def find_directions(  # noqa: PLR0917 - what is known of every run
    places: Places, across: Places, first: Indices, last: Indices, at_first: Flags, at_last: Flags
) -> tuple[Places, Places]:
    """Unit directions before and after each vertex; run k goes from vertex `first[k]` to `last[k]`.

    That of a side is the tangent of the circle through the vertex and the two next to it there: where drawn curves
    meet, their curvatures differ, and a circle across both (`across`) would be neither's. At a run's ends that are
    corners (not `at_first`, `at_last`) only one side is known; next to any end, only `across` is.
    """
    ahead, reach_ahead = _side(places, 1)
    behind, reach_behind = _side(places, -1)
    mean = ahead + behind
    size = np.abs(mean)
    both = _are_inner(len(places), first, last) & (size > 1)
    smooth = np.where(both, mean / np.where(size > 0, size, 1), across)
    noise = NOISE * GRID_MM * (1 / reach_ahead + 1 / reach_behind)
    bent = both & (np.abs(np.angle(ahead * np.conj(behind))) > BEND_RAD + noise)
    arriving, leaving = np.where(bent, behind, smooth), np.where(bent, ahead, smooth)
    for end, step, is_smooth in ((first, 1, at_first), (last, -1, at_last)):
        mine = end[~is_smooth]
        short = (last - first)[~is_smooth] < 2
        chord = places[mine + step] - places[mine]
        length = np.abs(chord)
        edge = np.where(length > 0, step * chord / np.where(length > 0, length, 1), 1.0)
        found = np.where(short, edge, (ahead if step == 1 else behind)[mine])
        arriving[mine] = leaving[mine] = found
    return arriving, leaving


def _side(places: Places, step: int) -> tuple[Places, Floats]:
    """The tangent at each vertex of the circle through it and the next two in one direction, along the line; and
    the length of the nearest edge. What belongs to other runs is for the caller to leave out."""
    near, far = np.roll(places, -step) - places, np.roll(places, -2 * step) - np.roll(places, -step)
    a, b = np.abs(near), np.abs(far)
    with np.errstate(all="ignore"):
        turn = np.angle(far * np.conj(near)) * a / (a + b)
        found = step * near / a * np.exp(-1j * turn)
    return np.where(np.isfinite(found), found, 1.0), np.where(a > 0, a, GRID_MM)


def _are_inner(count: int, first: Indices, last: Indices) -> Flags:
    """Which vertices have two others of their run on either side."""
    inner = np.ones(count, dtype=np.bool_)
    for off in (0, 1):
        inner[np.minimum(first + off, last)] = False
        inner[np.maximum(last - off, first)] = False
    return inner
