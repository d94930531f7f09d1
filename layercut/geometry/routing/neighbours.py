"""Neighbours: which points a short way may join to each.

Enters: points. Leaves: the nearest others of each point, and the edges of their Delaunay triangulation. Holds: the
same points have the same neighbours on every machine.
"""

from itertools import pairwise

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import STRtree

Points = NDArray[np.float64]
Indices = NDArray[np.int64]

NEAR = 16
"""Nearest others of a point that a move may join it to. Ten are enough for points (Johnson and McGeoch 1997); where
lines meet, several of them are at one place, and on 2,000 lines sixteen gain 1 % in the same time."""


def near_lists(points: Points, near: Indices, distance: Points) -> list[list[tuple[int, float]]]:
    """For each point, (n, 2), its neighbours and how far they are, nearest first.

    They are the `near` ones, at a `distance`, both (n, k), and those that it shares an edge of the Delaunay
    triangulation with: where points lie in clusters, all the nearest may be in one, which no move would ever join to
    another.
    """
    count = len(points)
    edges = delaunay_edges(points)
    one = np.concatenate([np.repeat(np.arange(count), near.shape[1]), edges[:, 0], edges[:, 1]])
    other = np.concatenate([near.ravel(), edges[:, 1], edges[:, 0]])
    lengths = np.hypot(*(points[edges[:, 0]] - points[edges[:, 1]]).T)
    away = np.concatenate([distance.ravel(), lengths, lengths])
    _, first = np.unique(one * count + other, return_index=True)
    ranked = first[np.lexsort((away[first], one[first]))]
    pairs = list(zip(other[ranked].tolist(), away[ranked].tolist(), strict=True))
    ends = np.searchsorted(one[ranked], np.arange(count + 1)).tolist()
    return [pairs[begin:end] for begin, end in pairwise(ends)]


def nearest(points: Points, count: int) -> tuple[Indices, Points]:
    """For each point, (n, 2), its `count` nearest others and their distances, both (n, count), nearest first.

    The count is n - 1 where there are no more. Points at one place are told apart by a hair's breadth, so that no
    place has more neighbours than asked for.
    """
    n = len(points)
    count = min(count, n - 1)
    if count < 1:
        return np.zeros((n, 0), dtype=np.int64), np.zeros((n, 0))
    spread = points + _sunflower(n)
    reach = _reach(spread, count) * (1 + 1e-9) + 1e-12 * (1.0 + float(np.abs(points).max()))
    tree = STRtree(shapely.points(spread))
    x, y = spread.T
    a, b = tree.query(shapely.box(x - reach, y - reach, x + reach, y + reach))
    distance = np.hypot(*(spread[a] - spread[b]).T)
    keep = (a != b) & (distance <= reach[a])
    a, b, distance = a[keep], b[keep], distance[keep]
    ranked = np.lexsort((b, distance, a))
    pick = ranked[np.searchsorted(a[ranked], np.arange(n))[:, None] + np.arange(count)]
    return b[pick].astype(np.int64), np.hypot(*(points[a[pick]] - points[b[pick]]).transpose(2, 0, 1))


def _sunflower(n: int) -> Points:
    """n places within a nanometre or so, no two the same, (n, 2)."""
    k = np.arange(n)
    angle = k * 2.399963229728653  # the golden angle: spirals without rows
    radius = 1e-6 * np.sqrt(k / n)
    return np.column_stack([radius * np.cos(angle), radius * np.sin(angle)])


def _reach(points: Points, count: int) -> Points:
    """For each point a distance within which it has `count` others, (n,): that of its neighbours on a Z curve."""
    n = len(points)
    low = points.min(axis=0)
    cell = ((points - low) / max(float((points - low).max()), 1e-12) * 65535).astype(np.int64)
    code = np.zeros(n, dtype=np.int64)
    for bit in range(16):
        code |= ((cell[:, 0] >> bit) & 1) << (2 * bit) | ((cell[:, 1] >> bit) & 1) << (2 * bit + 1)
    curve = np.argsort(code, kind="stable")
    along = points[curve]
    window = min(n - 1, 2 * count)
    steps = [step for step in range(-(window // 2), window - window // 2 + 1) if step]
    gaps = np.array([np.hypot(*(along - np.roll(along, step, axis=0)).T) for step in steps])
    reach = np.empty(n)
    reach[curve] = np.partition(gaps, count - 1, axis=0)[count - 1]
    return reach


def delaunay_edges(points: Points) -> Indices:
    """The edges of the Delaunay triangulation of points, (n, 2), as pairs of their numbers, (m, 2).

    Of points at one place it joins the first; places on a line are joined in a row. Empty for fewer than two places.
    """
    places, first = np.unique(points @ np.array([1, 1j]), return_index=True)
    net = shapely.delaunay_triangles(shapely.multipoints(points[first]), only_edges=True)
    ends = shapely.get_coordinates(net) @ np.array([1, 1j])
    found: Indices = first[np.searchsorted(places, ends)].reshape(-1, 2)
    return found
