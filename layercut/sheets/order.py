"""Order: in which order, and from where, the beam visits marks and contours.

Enters: lines or closed rings, in any order, and where the beam is. Leaves: a `Route`. Holds: a ring never comes
before one inside it; within that the travel is short: nearest neighbour first (with its start point free on a
closed ring), then 2-opt and or-opt moves (Croes 1958; Or 1976) while they help. The same input gives the same route.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString, Polygon, STRtree

Points = NDArray[np.float64]
Indices = NDArray[np.int64]

MAX_ROUNDS = 40
"""Rounds of improvement at most; the gain of later ones is lost in the machine's own spread."""

MAX_WORK = 6_000_000
"""Rounds times the square of the number of stops, at most: a fixed amount of work, so that the route doesn't depend
on how fast the machine is."""

MAX_GATES = 12
"""Points of a ring that the first pass considers for its start; the last pass considers all."""

SEGMENT = 3
"""Longest run of stops that an or-opt move takes along (Or 1976 uses three)."""


@dataclass(frozen=True, slots=True)
class Route:
    """What to burn, in order and direction, the way between in mm, and where the beam ends."""

    stops: tuple[LineString, ...]
    travel_mm: float
    end_mm: tuple[float, float]


def order_lines(lines: Sequence[LineString], start_mm: tuple[float, float]) -> Route:
    """A short way through open lines, each in either direction. Empty for none."""
    if not lines:
        return Route((), 0.0, start_mm)
    ends = np.array([(line.coords[0], line.coords[-1]) for line in lines], dtype=float)[:, :, :2]
    stop, flipped = _nearest_lines(ends, np.array(start_mm))
    entry, leave = _oriented(ends, stop, flipped)
    place = _improve(entry, leave, np.array(start_mm), None)
    turned = place < 0
    place = np.abs(place) - 1
    stop, flipped = stop[place], flipped[place] ^ turned
    entry, leave = _oriented(ends, stop, flipped)
    route = tuple(lines[s].reverse() if flip else lines[s] for s, flip in zip(stop, flipped, strict=True))
    return Route(route, _travel(entry, leave, np.array(start_mm)), _pair(leave[-1]))


def order_rings(rings: Sequence[Polygon], start_mm: tuple[float, float]) -> Route:
    """A short way through closed rings, inner ones before those around them. Empty for none."""
    if not rings:
        return Route((), 0.0, start_mm)
    points = [shapely.get_coordinates(ring.exterior)[:-1] for ring in rings]
    parents = _parents(rings)
    stop, gate = _nearest_rings(points, parents, np.array(start_mm))
    gates = np.array([points[s][g] for s, g in zip(stop, gate, strict=True)])
    before = _must_follow(stop, parents)
    place = np.abs(_improve(gates, gates, np.array(start_mm), before)) - 1
    stop, gates = stop[place], gates[place]
    chosen = _choose_gates([points[s] for s in stop], gates, np.array(start_mm))
    route, where = [], []
    for s, first in zip(stop, chosen, strict=True):
        loop = np.roll(points[s], -first, axis=0)
        route.append(LineString(np.vstack([loop, loop[:1]])))
        where.append(loop[0])
    spots = np.array(where)
    return Route(tuple(route), _travel(spots, spots, np.array(start_mm)), _pair(spots[-1]))


def _nearest_lines(ends: Points, start: Points) -> tuple[Indices, NDArray[np.bool_]]:
    """Nearest neighbour over open lines: which next, and whether from its far end."""
    flat = ends.reshape(-1, 2)
    free = np.ones(len(flat), dtype=bool)
    order = []
    here = start
    for _ in range(len(ends)):
        distance = np.hypot(flat[:, 0] - here[0], flat[:, 1] - here[1])
        distance[~free] = np.inf
        best = int(np.argmin(distance))
        order.append(best)
        free[best - best % 2 : best - best % 2 + 2] = False
        here = flat[best ^ 1]
    picked = np.array(order, dtype=np.int64)
    return picked // 2, picked % 2 == 1


def _oriented(ends: Points, stop: Indices, flipped: NDArray[np.bool_]) -> tuple[Points, Points]:
    side = flipped.astype(np.int64)
    return ends[stop, side], ends[stop, 1 - side]


def _parents(rings: Sequence[Polygon]) -> Indices:
    """For each ring the smallest ring around it, -1 for none."""
    filled = np.array([Polygon(ring.exterior) for ring in rings], dtype=object)
    inner, outer = STRtree(filled).query(shapely.point_on_surface(filled), predicate="within")
    area = shapely.area(filled)
    parents = np.full(len(rings), -1, dtype=np.int64)
    for i, o in sorted(zip(inner, outer, strict=True), key=lambda pair: -area[pair[1]]):
        if area[o] > area[i]:
            parents[i] = o
    return parents


def _nearest_rings(points: list[Points], parents: Indices, start: Points) -> tuple[Indices, Indices]:
    """Nearest neighbour over rings whose inner rings are all done: which next, and from which vertex."""
    steps = [np.unique(np.linspace(0, len(ring) - 1, min(len(ring), MAX_GATES)).astype(int)) for ring in points]
    flat = np.vstack([ring[step] for ring, step in zip(points, steps, strict=True)])
    gate = np.concatenate(steps)
    owner = np.repeat(np.arange(len(points)), [len(step) for step in steps])
    pending = np.bincount(parents[parents >= 0], minlength=len(points))
    free = pending[owner] == 0
    order, gates = [], []
    here = start
    for _ in range(len(points)):
        distance = np.hypot(flat[:, 0] - here[0], flat[:, 1] - here[1])
        distance[~free] = np.inf
        best = int(np.argmin(distance))
        ring = int(owner[best])
        order.append(ring)
        gates.append(int(gate[best]))
        free[owner == ring] = False
        here = flat[best]
        parent = int(parents[ring])
        if parent >= 0:
            pending[parent] -= 1
            if pending[parent] == 0:
                free[owner == parent] = True
    return np.array(order, dtype=np.int64), np.array(gates, dtype=np.int64)


def _must_follow(stop: Indices, parents: Indices) -> Indices | None:
    """For each stop the later stop that must stay behind it, -1 for none; None when no ring lies in another."""
    if (parents < 0).all():
        return None
    where = np.empty(len(stop), dtype=np.int64)
    where[stop] = np.arange(len(stop))
    around = parents[stop]
    return np.where(around >= 0, where[around], -1)


def _improve(entry: Points, leave: Points, start: Points, before: Indices | None) -> Indices:
    """Better order of the stops: their numbers from 1, negative where a stop is turned round."""
    tour = np.arange(1, len(entry) + 1, dtype=np.int64)
    for _ in range(min(MAX_ROUNDS, 1 + MAX_WORK // len(entry) ** 2)):
        turned = _two_opt_round(tour, entry, leave, start, before)
        moved = _or_opt_round(tour, entry, leave, start, before)
        if not (turned or moved):
            break
    return tour


def _ends(tour: Indices, entry: Points, leave: Points, start: Points) -> tuple[Points, Points]:
    """Where each stop of the tour is entered, and where the one before it was left, (n, 2) each."""
    at, turned = np.abs(tour) - 1, (tour < 0)[:, None]
    enter = np.where(turned, leave[at], entry[at])
    exit_ = np.where(turned, entry[at], leave[at])
    return enter, np.vstack([start[None], exit_])


def _two_opt_round(tour: Indices, entry: Points, leave: Points, start: Points, before: Indices | None) -> bool:
    """One pass of the best turn of a run of stops from each place on; the way's end is free."""
    changed = False
    n = len(tour)
    for i in range(n - 1):
        enter, left = _ends(tour[i:], entry, leave, _left_at(tour, i, entry, leave, start))
        now = np.hypot(*(enter - left[:-1]).T)
        first = np.hypot(*(left[1:] - left[0]).T)  # from before the run to the run's last stop
        last = np.zeros(n - i)
        last[:-1] = np.hypot(*(enter[0] - enter[1:]).T)  # from the run's first stop to the one behind the run
        behind = np.append(now[1:], 0.0)
        gain = now[0] + behind - first - last
        gain[0] = 0.0
        best = int(np.argmax(gain))
        if gain[best] > 1e-9 and _may_turn(tour[i : i + best + 1], before):
            tour[i : i + best + 1] = -tour[i : i + best + 1][::-1]
            changed = True
    return changed


def _left_at(tour: Indices, place: int, entry: Points, leave: Points, start: Points) -> Points:
    """Where the beam is before a place of the tour."""
    if place == 0:
        return start
    stop = int(tour[place - 1])
    where: Points = entry[-stop - 1] if stop < 0 else leave[stop - 1]
    return where


def _may_turn(run: Indices, before: Indices | None) -> bool:
    """Whether no stop of the run has to stay before another of it."""
    if before is None:
        return True
    stops = np.abs(run) - 1
    return not np.isin(before[stops], stops).any()


def _or_opt_round(tour: Indices, entry: Points, leave: Points, start: Points, before: Indices | None) -> bool:
    """One pass of moving short runs of stops to where they cost least; only where no ring lies in another."""
    if before is not None or len(tour) < 3:
        return False
    changed = False
    for length in range(1, min(SEGMENT, len(tour) - 1) + 1):
        i = 0
        while i + length <= len(tour):
            changed |= _move_run(tour, i, length, (entry, leave, start))
            i += 1
    return changed


def _move_run(tour: Indices, i: int, length: int, where: tuple[Points, Points, Points]) -> bool:
    """Take one run out and put it where it costs least, either way round; in place. True when that helped."""
    run = tour[i : i + length]
    rest = np.concatenate([tour[:i], tour[i + length :]])
    enter, left = _ends(rest, *where)
    run_enter, run_left = _ends(run, *where)
    head, tail = run_enter[0], run_left[-1]
    gap = np.append(np.hypot(*(enter - left[:-1]).T), 0.0)
    after = np.vstack([enter, enter[-1:]])
    open_end = np.ones(len(gap))
    open_end[-1] = 0.0
    ahead = np.hypot(*(left - head).T) + open_end * np.hypot(*(after - tail).T) - gap
    turned = np.hypot(*(left - tail).T) + open_end * np.hypot(*(after - head).T) - gap
    cost = np.minimum(ahead, turned)
    best = int(np.argmin(cost))
    if cost[best] >= ahead[i] - 1e-9:
        return False
    piece = run if ahead[best] <= turned[best] else -run[::-1]
    tour[:] = np.concatenate([rest[:best], piece, rest[best:]])
    return True


def _choose_gates(rings: list[Points], gates: Points, start: Points) -> list[int]:
    """For each ring, in order, the vertex to start from that makes the way shortest, by sweeps along the way."""
    spots = gates.copy()
    chosen = [0] * len(rings)
    for _ in range(3):
        for k, ring in enumerate(rings):
            here = start if k == 0 else spots[k - 1]
            way = np.hypot(*(ring - here).T)
            if k + 1 < len(rings):
                way = way + np.hypot(*(ring - spots[k + 1]).T)
            chosen[k] = int(np.argmin(way))
            spots[k] = ring[chosen[k]]
    return chosen


def _travel(entry: Points, leave: Points, start: Points) -> float:
    return float(np.hypot(*(entry - np.vstack([start[None], leave[:-1]])).T).sum())


def _pair(point: Points) -> tuple[float, float]:
    return (float(point[0]), float(point[1]))
