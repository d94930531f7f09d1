"""Ways found by a general solver, to judge ours by. The solver (fast_tsp, MIT) is a judge only, never a dependency.

It wants a symmetric matrix of whole numbers up to 65,535. A piece of line is two nodes 0 apart; everything else costs
`FAR` more, so that every shortest tour runs along all pieces. The free end is a node 0 apart from the beginning's.
"""

from collections.abc import Sequence

import fast_tsp
import numpy as np
from shapely import LineString

FAR = 30_000


def solver_travel_mm(lines: Sequence[LineString], seconds: float) -> float:
    """Length, mm, of the solver's way from (0, 0) through lines, each in either direction."""
    ends = np.array([(line.coords[0], line.coords[-1]) for line in lines]).reshape(-1, 2)
    points = np.vstack([ends, [[0, 0], [0, 0]]])
    apart = np.hypot(*(points[:, None] - points).transpose(2, 0, 1))
    apart[-1] = apart[:, -1] = 0
    cost = np.round(apart * FAR / apart.max()).astype(int) + FAR
    node = np.arange(len(points))
    cost[node, node ^ 1] = cost[node, node] = 0
    tour = np.array(fast_tsp.find_tour(cost.tolist(), duration_seconds=seconds))
    steps = np.column_stack([tour, np.roll(tour, -1)])
    between = steps[steps[:, 0] // 2 != steps[:, 1] // 2]
    assert len(between) == len(points) // 2, "the solver left a piece of line out"
    return float(apart[between[:, 0], between[:, 1]].sum())
