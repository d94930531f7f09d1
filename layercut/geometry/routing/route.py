"""Route: a short way through points and pieces of line; knows nothing of what is burnt there.

Enters: points, or the two ends of every piece, and where the way begins. Leaves: the order, and which pieces are
run from their far end. Holds: the same input gives the same way on every machine, for the amount of work is
counted and never timed; a stop never comes before one that has to be done first.

The way begins with the greedy edges (Bentley, "Fast algorithms for geometric traveling salesman problems", 1992);
`tour.py` shortens it.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from layercut.geometry.routing.neighbours import NEAR, near_lists, nearest
from layercut.geometry.routing.tour import Nodes, Tour

Points = NDArray[np.float64]
Indices = NDArray[np.int64]
Flags = NDArray[np.bool_]

KICKS_PER_NODE = 2
"""Kicks for each node of a small tour. Five make most published examples 0.1 to 0.5 % shorter; on a sheet that is
less than a second for the machine, and several times the work here."""

MAX_KICKS = 200
"""Kicks at most, however many nodes, so that the work grows no faster than they do."""

ALIKE, TOUCHING_MM = 0.01, 1e-3
"""Edges whose lengths differ by less than this share, or that are shorter than this, mm, are alike at first."""

SLANT = np.array([math.cos(1.0), math.sin(1.0)])
"""Alike edges are joined by their place along this direction, so that a hatching is begun to and fro: joined in any
order they leave breaks that no move mends. A hatching along the direction itself would suffer; few are."""


@dataclass(frozen=True, slots=True)
class Route:
    """The stops in order, (n,), and for each of them whether it is run from its second end to its first."""

    stops: Indices
    turned: Flags


def shortest_route(
    ends: Points,
    start: Points,
    around: Sequence[int] = (),
    first: Route | None = None,
    kicks_per_node: int = KICKS_PER_NODE,
) -> Route:
    """A short way from `start`, (2,), through pieces given by their ends, (n, 2, 2), in either direction.

    Where both ends are equal the piece is a point. `around[k]` is the stop that may only come after stop k, -1 for
    none; both have to be points. `first` is a way to begin with, never made longer; it must already respect `around`.
    """
    if len(ends) < 2 and first is None:
        first = Route(np.arange(len(ends), dtype=np.int64), np.zeros(len(ends), dtype=bool))
    nodes, stop, side = _nodes_of(ends, start, around)
    begin = None if first is None else _node_order(nodes, stop, first)
    tour = _straight(shorten(nodes, begin, kicks_per_node), nodes)
    entered = [node for k, node in enumerate(tour[1:-1]) if k == 0 or nodes.mate[node] != tour[k]]
    return Route(stop[entered], side[entered] == 1)


def _nodes_of(ends: Points, start: Points, around: Sequence[int]) -> tuple[Nodes, Indices, Indices]:
    """The nodes of an open way, and for each which stop it belongs to and which end of it, (n,) each."""
    single = (ends[:, 0] == ends[:, 1]).all(axis=1)
    stop = np.repeat(np.arange(len(ends)), np.where(single, 1, 2))
    node = np.cumsum(np.where(single, 1, 2)) - np.where(single, 1, 2)
    side = np.arange(len(stop)) - node[stop]
    count = len(stop)
    mate = np.where(single[stop], -1, node[stop] + 1 - side).tolist()
    points = np.vstack([ends[stop, side], start[None], start[None]])
    after = {int(node[k]): int(node[outer]) for k, outer in enumerate(around) if outer >= 0}
    return Nodes(points, [*mate, count + 1, count], count, count + 1, after), stop, side


def _node_order(nodes: Nodes, stop: Indices, way: Route) -> list[int]:
    """A way's nodes in order."""
    first = np.searchsorted(stop, way.stops)
    order = [nodes.start]
    for node, turned in zip(first.tolist(), way.turned.tolist(), strict=True):
        if nodes.mate[node] < 0:
            order.append(node)
        else:
            order += [node + 1, node] if turned else [node, node + 1]
    return [*order, nodes.end]


def _straight(tour: list[int], nodes: Nodes) -> list[int]:
    """The cycle of an open way, turned so that it runs from its first node to its last."""
    at = tour.index(nodes.start)
    turned = tour[at:] + tour[:at]
    if turned[-1] == nodes.end:
        return turned
    return [turned[0], *reversed(turned[1:])]


def shorten(nodes: Nodes, first: list[int] | None, kicks_per_node: int) -> list[int]:
    """A short cycle of nodes; from `first`, or else from the greedy edges."""
    real = len(nodes.points) - (nodes.end >= 0)  # the last node is near to nothing
    near, distance = nearest(nodes.points[:real], NEAR)
    begin = first if first is not None else _lawful_order(_greedy(nodes, near, distance), nodes)
    lists = near_lists(nodes.points[:real], near, distance)
    tour = Tour(nodes, [*lists, *([] for _ in range(len(nodes.points) - real))], begin)
    tour.settle()
    tour.kick(min(kicks_per_node * len(begin), MAX_KICKS))
    return tour.order


def _greedy(nodes: Nodes, near: Indices, distance: Points) -> list[int]:
    """The cycle made of the shortest edges that fit (Bentley 1992: greedy beats other starts for 2-opt)."""
    pieces = _Pieces(len(nodes.mate))
    for a, b in enumerate(nodes.mate):
        if b > a:
            pieces.join(a, b)
    pieces.join_nearest(np.arange(len(near)), near, distance, nodes.points)
    while pieces.count > 1:
        free = np.array([a for a, links in enumerate(pieces.links) if len(links) < 2 and a != nodes.end])
        near, distance = nearest(nodes.points[free], NEAR)
        pieces.join_nearest(free, free[near], distance, nodes.points)
    return pieces.walk()


class _Pieces:
    """Paths that grow together, edge by edge, to one."""

    def __init__(self, n: int) -> None:
        self.links: list[list[int]] = [[] for _ in range(n)]
        self.count = n
        self._root = list(range(n))

    def join(self, a: int, b: int) -> None:
        """Join two nodes unless that closes a ring."""
        one, other = self._find(a), self._find(b)
        if one != other:
            self._root[one] = other
            self.links[a].append(b)
            self.links[b].append(a)
            self.count -= 1

    def join_nearest(self, who: Indices, near: Indices, distance: Points, points: Points) -> None:
        """Join what fits, shortest first; about as short ones go by place."""
        one, other = np.repeat(who, near.shape[1]), near.ravel()
        size = np.round(np.log(np.maximum(distance.ravel(), TOUCHING_MM)) / ALIKE)
        along = (points[one] + points[other]) @ SLANT
        ranked = np.lexsort((other, one, along, size))
        links = self.links
        for a, b in zip(one[ranked].tolist(), other[ranked].tolist(), strict=True):
            if len(links[a]) < 2 and len(links[b]) < 2:
                self.join(a, b)

    def walk(self) -> list[int]:
        """The nodes of the one path, from end to end."""
        here = next(a for a, links in enumerate(self.links) if len(links) < 2)
        order, before = [here], -1
        while len(order) < len(self.links):
            before, here = here, next(a for a in self.links[here] if a != before)
            order.append(here)
        return order

    def _find(self, a: int) -> int:
        root = self._root
        while root[a] != a:
            root[a] = root[root[a]]
            a = root[a]
        return a


def _lawful_order(order: list[int], nodes: Nodes) -> list[int]:
    """The same order, but each node that comes too early put right behind the last one it has to wait for."""
    if not nodes.around:
        return order
    straight = _straight(order, nodes)
    latest, depth = dict.fromkeys(straight, 0), dict.fromkeys(straight, 0)
    for place, node in enumerate(straight):
        up = node
        while up >= 0:
            latest[up] = max(latest[up], place)
            up = nodes.around.get(up, -1)
            depth[node] += 1
    return sorted(straight, key=lambda node: (latest[node], -depth[node]))
