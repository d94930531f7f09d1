"""Tours that return to their beginning, made by the moves that make routes: published optima are of such tours."""

import numpy as np
from numpy.typing import NDArray

from layercut.geometry.routing.route import KICKS_PER_NODE, shorten, shortest_route
from layercut.geometry.routing.tour import Nodes

Points = NDArray[np.float64]
Indices = NDArray[np.int64]


def shortest_tour(points: Points, closed: bool = True) -> Indices:
    """A short tour through points, (n, 2): their numbers in order, beginning with 0.

    A closed one returns to its beginning, an open one begins at point 0 and ends where it likes. Not always the
    shortest: within 1 % of it on most published examples of a few hundred points. Empty for no points.
    """
    if len(points) < 3:
        return np.arange(len(points), dtype=np.int64)
    if not closed:
        rest = np.repeat(points[1:, None, :], 2, axis=1)
        return np.concatenate([[0], shortest_route(rest, points[0]).stops + 1])
    tour = shorten(Nodes(points, [-1] * len(points), -1, -1, {}), None, KICKS_PER_NODE)
    first = tour.index(0)
    return np.array(tour[first:] + tour[:first], dtype=np.int64)
