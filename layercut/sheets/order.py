"""Order: in which order, and from where, the beam visits marks and contours.

Enters: lines or closed rings, in any order, and where the beam is. Leaves: a `BurnRoute`. Holds: a ring never comes
before one inside it; within that the travel is short. `route.py` finds an order through one point of each closed
contour; then the points where they are entered are chosen for that order, and both once more. The same input gives
the same route.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString, Polygon, STRtree

from layercut.geometry.routing.route import KICKS_PER_NODE, Route, shortest_route

Points = NDArray[np.float64]
Places = NDArray[np.complex128]
Indices = NDArray[np.int64]

KICKS_PER_RING = 1
"""Kicks for each stop before the entry points are known, where there are rings; none afterwards."""

ENTRY_POINTS = 24
"""Points of a ring that are weighed exactly as its entry point, at most; all of them are tried afterwards."""

NEAREST_WORK = 20_000_000
"""Stops times points, at most, for which the nearest neighbour's way is tried as well: a tenth of a second."""

SWEEPS = 2
"""How often every point of every ring is tried as its entry point, with its neighbours' entry points as they are."""


@dataclass(frozen=True, slots=True)
class BurnRoute:
    """What to burn, in order and direction, the way between in mm, and where the beam ends."""

    stops: tuple[LineString, ...]
    travel_mm: float
    end_mm: tuple[float, float]


@dataclass(frozen=True, slots=True)
class BurnStop:
    """The ways to burn one thing: where each is entered and where it's left, (m,) each, as x + iy.

    An open line has two, forwards and backwards; a closed one as many as places to begin, each to enter and
    to leave.
    `penalty` is how much way, mm, is worth not to begin there, for each or for all of them.
    """

    enter: Places
    leave: Places
    closed: bool
    penalty: Points | float = 0.0

    def take(self, which: Indices) -> "BurnStop":
        """Some of the ways."""
        penalty = np.broadcast_to(np.asarray(self.penalty), self.enter.shape)[which]
        return BurnStop(self.enter[which], self.leave[which], self.closed, penalty)


@dataclass(frozen=True, slots=True)
class _Plan:
    """The stops in order, for each stop (by number, not by order) which of its options is taken, and the way's mm."""

    order: list[int]
    option: list[int]
    travel_mm: float


def order_lines(lines: Sequence[LineString], start_mm: tuple[float, float]) -> BurnRoute:
    """A short way through lines: open ones in either direction, closed ones from any point. Empty for none."""
    return _order(lines, (), start_mm)


def order_rings(rings: Sequence[Polygon], start_mm: tuple[float, float]) -> BurnRoute:
    """A short way through closed rings, inner ones before those around them. Empty for none."""
    return _order([LineString(ring.exterior.coords) for ring in rings], _rings_around(rings), start_mm)


def choose_starts(stops: Sequence[BurnStop], start_mm: tuple[float, float]) -> list[int]:
    """For stops that stay in their order the option of each that makes the way, penalties counted, short; [] for
    none."""
    if not stops:
        return []
    return _choose(list(stops), list(range(len(stops))), [0] * len(stops), complex(*start_mm)).option


def _order(lines: Sequence[LineString], around: Sequence[int], start_mm: tuple[float, float]) -> BurnRoute:
    """A short way through lines and rings; `around[k]` is the ring that may only come after k, -1 for none."""
    if not lines:
        return BurnRoute((), 0.0, start_mm)
    stops = [_stop_of(line) for line in lines]
    plan = _plan(stops, around, complex(*start_mm))
    last = stops[plan.order[-1]].leave[plan.option[plan.order[-1]]]
    route = tuple(_burnt(lines[k], plan.option[k]) for k in plan.order)
    return BurnRoute(route, plan.travel_mm, (float(last.real), float(last.imag)))


def _plan(stops: list[BurnStop], around: Sequence[int], start: complex) -> _Plan:
    """A short plan: order and entry points fitted to each other in turn, from the best beginning there is."""
    movable = any(stop.closed for stop in stops)
    kicks = KICKS_PER_RING if movable else KICKS_PER_NODE
    origin = np.array([start.real, start.imag])
    way = shortest_route(_ends(stops, None), origin, around, None, kicks)
    plan = _choose(stops, way.stops.tolist(), way.turned.astype(int)[np.argsort(way.stops)].tolist(), start)
    if not movable:
        return plan
    if len(stops) * sum(len(stop.enter) for stop in stops) <= NEAREST_WORK:
        nearest = _choose(stops, *_nearest_way(stops, around, start), start)
        plan = min(plan, nearest, key=lambda one: one.travel_mm)
    # Once more for the entry points as chosen; a third time gains nothing measurable.
    turned = np.array([plan.option[k] == 1 and not stops[k].closed for k in plan.order])
    first = Route(np.array(plan.order, dtype=np.int64), turned)
    way = shortest_route(_ends(stops, plan.option), origin, around, first, 0)
    again = _choose(stops, way.stops.tolist(), plan.option, start)
    return min(plan, again, key=lambda one: one.travel_mm)


def _stop_of(line: LineString) -> BurnStop:
    places = shapely.get_coordinates(line) @ np.array([1, 1j])
    if places[0] == places[-1]:
        return BurnStop(places[:-1], places[:-1], closed=True)
    return BurnStop(places[[0, -1]], places[[-1, 0]], closed=False)


def _burnt(line: LineString, option: int) -> LineString:
    """The line as one of its stop's options burns it."""
    if line.coords[0] != line.coords[-1]:
        return line.reverse() if option else line
    loop = np.roll(shapely.get_coordinates(line)[:-1], -option, axis=0)
    return LineString(np.vstack([loop, loop[:1]]))


def _ends(stops: list[BurnStop], option: list[int] | None) -> Points:
    """Both ends of every stop, (n, 2, 2): of an open line its own, of a closed one its entry point twice.

    Before its entry point is known, a closed line is taken for the middle of its box.
    """
    ends = np.empty((len(stops), 2), dtype=np.complex128)
    for k, stop in enumerate(stops):
        x, y = stop.enter.real, stop.enter.imag
        if not stop.closed:
            ends[k] = stop.enter
        elif option is None:
            ends[k] = complex(x.min() + x.max(), y.min() + y.max()) / 2
        else:
            ends[k] = stop.enter[option[k]]
    return np.stack([ends.real, ends.imag], axis=2)


def _nearest_way(stops: list[BurnStop], around: Sequence[int], start: complex) -> tuple[list[int], list[int]]:
    """The way that always goes on to the nearest point where something may be begun: its order, and each option.

    Few rings often need no better.
    """
    enter = np.concatenate([stop.enter for stop in stops])
    leave = np.concatenate([stop.leave for stop in stops])
    sizes = [len(stop.enter) for stop in stops]
    owner, first = np.repeat(np.arange(len(stops)), sizes), np.concatenate([[0], np.cumsum(sizes)])
    inside = np.bincount([outer for outer in around if outer >= 0], minlength=len(stops))
    # A place costs infinitely much while its stop still waits for a ring inside it, and once the stop is done.
    barred = np.where(inside[owner] > 0, np.inf, 0.0)
    here, order, option = start, [], [0] * len(stops)
    for _ in stops:
        best = int((np.abs(enter - here) + barred).argmin())
        k = int(owner[best])
        order.append(k)
        option[k] = best - int(first[k])
        barred[first[k] : first[k + 1]] = np.inf
        here = leave[best]
        outer = around[k] if around else -1
        if outer >= 0:
            inside[outer] -= 1
            if not inside[outer]:
                barred[first[outer] : first[outer + 1]] = 0.0
    return order, option


def _choose(stops: list[BurnStop], order: list[int], known: list[int], start: complex) -> _Plan:
    """For each stop the option that makes the way in this order, penalties counted, shortest: never worse than the
    known.

    Exact over at most `ENTRY_POINTS` options a stop and the known one (dynamic programming, Bellman 1957); where
    there are more, all are tried in turn after that.
    """
    row = [stops[k] for k in order]
    picks = [_some_options(stops[k], known[k]) for k in order]
    some = [stop.take(pick) for stop, pick in zip(row, picks, strict=True)]
    best = [int(pick[k]) for pick, k in zip(picks, _best_options(some, start), strict=True)]
    for _ in range(SWEEPS):
        _try_all_entries(row, best, start)
    entered = np.array([stop.enter[k] for stop, k in zip(row, best, strict=True)])
    left = np.array([start, *(stop.leave[k] for stop, k in zip(row, best, strict=True))])
    option = [0] * len(stops)
    for k, chosen in zip(order, best, strict=True):
        option[k] = chosen
    return _Plan(order, option, float(np.abs(entered - left[:-1]).sum()))


def _some_options(stop: BurnStop, known: int) -> Indices:
    count = len(stop.enter)
    if count <= ENTRY_POINTS:
        return np.arange(count)
    return np.union1d(np.linspace(0, count - 1, ENTRY_POINTS).astype(np.int64), [known])


def _best_options(row: list[BurnStop], start: complex) -> list[int]:
    """The option of each stop on the shortest way through all of them in this order."""
    cost = np.abs(row[0].enter - start) + row[0].penalty
    came_from: list[Indices] = []
    for here, there in pairwise(row):
        total = cost[:, None] + np.abs(here.leave[:, None] - there.enter)
        best = total.argmin(axis=0)
        came_from.append(best)
        cost = total[best, np.arange(len(there.enter))] + there.penalty
    options = [int(cost.argmin())]
    for best in reversed(came_from):
        options.append(int(best[options[-1]]))
    return options[::-1]


def _try_all_entries(row: list[BurnStop], options: list[int], start: complex) -> None:
    """Give each ring of many points, in turn, the entry point that fits the stops beside it best; changes
    `options`."""
    for k, stop in enumerate(row):
        if len(stop.enter) <= ENTRY_POINTS:
            continue
        cost = np.abs(stop.enter - (row[k - 1].leave[options[k - 1]] if k else start)) + stop.penalty
        if k + 1 < len(row):
            cost = cost + np.abs(stop.leave - row[k + 1].enter[options[k + 1]])
        options[k] = int(cost.argmin())


def _rings_around(rings: Sequence[Polygon]) -> list[int]:
    """For each ring the smallest ring around it, -1 for none."""
    filled = np.array([Polygon(ring.exterior) for ring in rings], dtype=object)
    inner, outer = STRtree(filled).query(shapely.point_on_surface(filled), predicate="within")
    area = shapely.area(filled)
    around = np.full(len(rings), -1, dtype=np.int64)
    for i, o in sorted(zip(inner, outer, strict=True), key=lambda pair: -area[pair[1]]):
        if area[o] > area[i]:
            around[i] = o
    result: list[int] = around.tolist()
    return result
