"""Whether curves cross or touch that should not: an exact test.

Enters: cubics, with the polyline that each stands for. Leaves: which of them meet another where the polylines don't.
Holds: hulls of control points are halved until they are apart or smaller than the last digit that is written, so no
crossing is missed; where two curves share an end, only what is nearer to it than `NODE_MM` is left unlooked at.
"""

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import STRtree

from layercut.geometry.fitting.cubic_fit import Flags, Floats, Indices, Places, find_loops
from layercut.geometry.precision import GRID_MM

SMALLEST_MM = GRID_MM / 2
"""Hulls smaller than this, mm, that are not apart are a crossing."""

NODE_MM = 5 * GRID_MM
"""So near to a common end, mm, curves may do as they like."""

MOST_HULLS = 64
"""Curves with more pairs of halved hulls than this that are not apart run along each other: they count as met."""

MOST_PAIRS = 200_000
"""Pairs looked at together, for the memory's sake."""


def find_crossings(controls: Places, polylines: NDArray[np.object_], group: Indices) -> Flags:
    """Which curves, (k, 4), meet themselves, or another of the same group though their polylines don't.

    Curves that share an end may meet there; equal curves, and those whose polylines meet, may do so everywhere.
    """
    found = find_loops(controls)
    for number in np.unique(group):
        mine = np.flatnonzero(group == number)
        one, other = _near_pairs(controls[mine])
        pairs = np.stack([mine[one], mine[other]], axis=1)
        for begin in range(0, len(pairs), MOST_PAIRS):
            some = pairs[begin : begin + MOST_PAIRS]
            some = some[~_part_at_node(controls[some[:, 0]], controls[some[:, 1]])]
            some = some[~_meet_already(controls, polylines, some)]
            met = some[_crossing(controls[some[:, 0]], controls[some[:, 1]])]
            found[met.ravel()] = True
    return found


def _near_pairs(controls: Places) -> tuple[Indices, Indices]:
    """Pairs of curves whose control points' boxes meet and whose hulls are not plainly apart."""
    low_x, high_x = _range(controls.real)
    low_y, high_y = _range(controls.imag)
    boxes = shapely.box(low_x, low_y, high_x, high_y)
    one, other = STRtree(boxes).query(boxes)
    half = one < other
    one, other = one[half], other[half]
    order = np.lexsort((other, one))
    one, other = one[order], other[order]
    near = ~_apart(controls[one], controls[other])
    return one[near], other[near]


def _apart(a: Places, b: Places) -> Flags:
    """Pairs of hulls that a line parts: along x, y or either's chord."""
    result = _clear(a.real, b.real) | _clear(a.imag, b.imag)
    for chord in (a[:, 3] - a[:, 0], b[:, 3] - b[:, 0]):
        turned = np.conj(chord)[:, None]
        result |= _clear((a * turned).imag, (b * turned).imag)
    return result


def _clear(a: Floats, b: Floats) -> Flags:
    """Whether two sets of four numbers each leave a gap."""
    low_a, high_a = _range(a)
    low_b, high_b = _range(b)
    return np.asarray((high_a < low_b) | (high_b < low_a))


def _range(four: Floats) -> tuple[Floats, Floats]:
    """The least and the greatest of four numbers each; column by column, which is quicker than along the rows."""
    p, q, r, s = four.T
    return np.minimum(np.minimum(p, q), np.minimum(r, s)), np.maximum(np.maximum(p, q), np.maximum(r, s))


def _part_at_node(a: Places, b: Places) -> Flags:
    """Pairs that share an end and are parted by a line through it, so that they meet nowhere else."""
    result: Flags = np.zeros(len(a), dtype=np.bool_)
    for turned_a in (a, a[:, ::-1]):
        for turned_b in (b, b[:, ::-1]):
            node = turned_a[:, :1]
            here = node[:, 0] == turned_b[:, 0]
            legs_a, legs_b = turned_a[:, 1:] - node, turned_b[:, 1:] - node
            for way_a, way_b in ((_lead(legs_a), _lead(legs_b)), (_unit(legs_a[:, 2]), _unit(legs_b[:, 2]))):
                axis = np.conj(way_b - way_a)[:, None]
                one, other = (legs_a * axis).real, (legs_b * axis).real
                # A straight one has its handles at its ends, so a leg of no length counts as parted.
                clear = ((one < 0) | (legs_a == 0)).all(axis=1) & ((other > 0) | (legs_b == 0)).all(axis=1)
                result |= here & clear
    return result


def _lead(legs: Places) -> Places:
    """The direction in which a curve leaves its end: that of its first leg of any length."""
    first = np.where(legs[:, 0] != 0, legs[:, 0], np.where(legs[:, 1] != 0, legs[:, 1], legs[:, 2]))
    return _unit(first)


def _unit(legs: Places) -> Places:
    size = np.abs(legs)
    return np.asarray(legs / np.where(size > 0, size, 1))


def _meet_already(controls: Places, polylines: NDArray[np.object_], pairs: Indices) -> Flags:
    """Pairs whose polylines meet, other than at an end that they share, and those that are the same curve."""
    one, other = pairs[:, 0], pairs[:, 1]
    a, b = controls[one], controls[other]
    same = (a == b).all(axis=1) | (a == b[:, ::-1]).all(axis=1)
    ends = a[:, [0, 0, 3, 3]] == b[:, [0, 3, 0, 3]]
    share = ends.any(axis=1)
    result: Flags = same.copy()
    apart = np.flatnonzero(~share & ~same)
    result[apart] = shapely.intersects(polylines[one[apart]], polylines[other[apart]])
    beside = np.flatnonzero(share & ~same)
    meeting = shapely.get_num_coordinates(shapely.intersection(polylines[one[beside]], polylines[other[beside]]))
    result[beside] = meeting > ends[beside].sum(axis=1)
    return result


def _crossing(a: Places, b: Places) -> Flags:
    """Which pairs of curves meet, but for what is near to a common end."""
    met = np.zeros(len(a), dtype=np.bool_)
    nodes = [np.where(a[:, i] == b[:, j], a[:, i], np.nan) for i in (0, 3) for j in (0, 3)]
    pair = np.arange(len(a))
    # Subdivision: a pair whose hulls lie apart doesn't meet, any other is halved four ways, until it is a point.
    while len(pair):
        open_ = ~met[pair] & ~_apart(a, b)
        # Curves that go on from each other meet at their common node by design, so what is near it is let go.
        for node in nodes:
            there = node[pair]
            with np.errstate(invalid="ignore"):
                far_a, far_b = (_range(np.abs(part - there[:, None]))[1] for part in (a, b))
                near = (far_a < NODE_MM) & (far_b < NODE_MM)
            open_ &= ~near
        a, b, pair = a[open_], b[open_], pair[open_]
        small = np.maximum(_size(a), _size(b)) < SMALLEST_MM
        met[pair[small]] = True
        # Curves that run along each other would be halved for ever; so many hulls at once mean just that.
        along = np.bincount(pair, minlength=len(met)) > MOST_HULLS
        met |= along
        small |= along[pair]
        a, b, pair = a[~small], b[~small], pair[~small]
        a0, a1 = halves(a, 0.5)
        b0, b1 = halves(b, 0.5)
        a, b = np.concatenate([a0, a0, a1, a1]), np.concatenate([b0, b1, b0, b1])
        pair = np.tile(pair, 4)
    return met


def _size(controls: Places) -> Floats:
    low_x, high_x = _range(controls.real)
    low_y, high_y = _range(controls.imag)
    return np.maximum(high_x - low_x, high_y - low_y)


def halves(controls: Places, t: Floats | float) -> tuple[Places, Places]:
    """Curves (k, 4) cut in two at a parameter each (de Casteljau)."""
    share = np.broadcast_to(np.asarray(t, dtype=np.float64), (len(controls),))[:, None]
    first = controls[:, :-1] + share * np.diff(controls, axis=1)
    second = first[:, :-1] + share * np.diff(first, axis=1)
    third = second[:, :-1] + share * np.diff(second, axis=1)
    front = np.concatenate([controls[:, :1], first[:, :1], second[:, :1], third], axis=1)
    back = np.concatenate([third, second[:, 1:], first[:, 2:], controls[:, 3:]], axis=1)
    return front, back
