"""Order: in which order, and from where, the beam visits marks and contours.

Enters: lines or closed rings, in any order, and where the beam is. Leaves: a `Route`. Holds: a ring never comes
before one inside it; within that the travel is short. `route.py` finds an order through one point of each closed
contour; then the points where they are entered are chosen for that order, and so on while the way grows shorter. The
same input gives the same route.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString, Polygon, STRtree

from layercut.sheets.route import Way, shortest_way

Points = NDArray[np.float64]
Places = NDArray[np.complex128]
Indices = NDArray[np.int64]

ROUNDS = 3
"""How often order and gates are fitted to each other, at most; a third round gains under 0.5 %."""

GATES = 24
"""Points of a ring that are weighed exactly as its gate, at most; all of them are tried afterwards."""

SWEEPS = 2
"""How often every point of every ring is tried as its gate, with its neighbours' gates as they are."""


@dataclass(frozen=True, slots=True)
class Route:
    """What to burn, in order and direction, the way between in mm, and where the beam ends."""

    stops: tuple[LineString, ...]
    travel_mm: float
    end_mm: tuple[float, float]


@dataclass(frozen=True, slots=True)
class _Stop:
    """The ways to burn one thing: where each is entered and where it's left, (m,) each, as x + iy.

    An open line has two, forwards and backwards; a closed one as many as points, entered and left at one place.
    """

    enter: Places
    leave: Places
    closed: bool


def order_lines(lines: Sequence[LineString], start_mm: tuple[float, float]) -> Route:
    """A short way through lines: open ones in either direction, closed ones from any point. Empty for none."""
    return _order(lines, (), start_mm)


def order_rings(rings: Sequence[Polygon], start_mm: tuple[float, float]) -> Route:
    """A short way through closed rings, inner ones before those around them. Empty for none."""
    return _order([LineString(ring.exterior.coords) for ring in rings], _rings_around(rings), start_mm)


def _order(lines: Sequence[LineString], around: Sequence[int], start_mm: tuple[float, float]) -> Route:
    """A short way through lines and rings; `around[k]` is the ring that may only come after k, -1 for none."""
    if not lines:
        return Route((), 0.0, start_mm)
    stops = [_stop_of(line) for line in lines]
    start = complex(*start_mm)
    way = shortest_way(np.array([_middle(stop) for stop in stops]), np.array(start_mm), around)
    chosen, travel = _choose(stops, way, start)
    for _ in range(ROUNDS if any(stop.closed for stop in stops) else 0):
        ends = _ends(stops, way, chosen)
        turned = np.array([option == 1 and not stops[k].closed for k, option in zip(way.stops, chosen, strict=True)])
        other = shortest_way(ends, np.array(start_mm), around, Way(way.stops, turned))
        chosen_now, travel_now = _choose(stops, other, start)
        if travel_now >= travel:
            break
        way, chosen, travel = other, chosen_now, travel_now
    route = tuple(_burnt(lines[k], option) for k, option in zip(way.stops.tolist(), chosen, strict=True))
    last = stops[way.stops[-1]].leave[chosen[-1]]
    return Route(route, travel, (float(last.real), float(last.imag)))


def _stop_of(line: LineString) -> _Stop:
    places = shapely.get_coordinates(line) @ np.array([1, 1j])
    if places[0] == places[-1]:
        return _Stop(places[:-1], places[:-1], closed=True)
    return _Stop(places[[0, -1]], places[[-1, 0]], closed=False)


def _burnt(line: LineString, option: int) -> LineString:
    """The line as one of its stop's options burns it."""
    if line.coords[0] != line.coords[-1]:
        return line.reverse() if option else line
    loop = np.roll(shapely.get_coordinates(line)[:-1], -option, axis=0)
    return LineString(np.vstack([loop, loop[:1]]))


def _middle(stop: _Stop) -> list[list[float]]:
    """Where a stop's two ends are before its gate is known: a closed line is taken for the middle of its box."""
    ends = stop.enter
    if stop.closed:
        x, y = ends.real, ends.imag
        ends = np.full(2, complex(x.min() + x.max(), y.min() + y.max()) / 2)
    return [[float(end.real), float(end.imag)] for end in ends]


def _ends(stops: list[_Stop], way: Way, chosen: list[int]) -> Points:
    """Both ends of every stop, (n, 2, 2): of an open line its own, of a closed one its gate twice."""
    ends = np.empty((len(stops), 2), dtype=np.complex128)
    for k, option in zip(way.stops.tolist(), chosen, strict=True):
        ends[k] = stops[k].enter[option] if stops[k].closed else stops[k].enter
    return np.stack([ends.real, ends.imag], axis=2)


def _choose(stops: list[_Stop], way: Way, start: complex) -> tuple[list[int], float]:
    """For each stop of the way the option that makes the way shortest, and its length, mm.

    Exact over at most `GATES` options a stop (dynamic programming, Bellman 1957); where there are more, all are tried
    in turn after that.
    """
    row = [stops[k] for k in way.stops.tolist()]
    picks = [
        np.unique(np.linspace(0, len(stop.enter) - 1, min(len(stop.enter), GATES)).astype(np.int64)) for stop in row
    ]
    chosen = _best_options(
        [stop.enter[pick] for stop, pick in zip(row, picks, strict=True)],
        [stop.leave[pick] for stop, pick in zip(row, picks, strict=True)],
        start,
    )
    options = [int(pick[k]) for pick, k in zip(picks, chosen, strict=True)]
    for _ in range(SWEEPS):
        _try_all_gates(row, options, start)
    enter = np.array([stop.enter[k] for stop, k in zip(row, options, strict=True)])
    leave = np.array([start, *(stop.leave[k] for stop, k in zip(row, options, strict=True))])
    return options, float(np.abs(enter - leave[:-1]).sum())


def _best_options(enter: list[Places], leave: list[Places], start: complex) -> list[int]:
    """The option of each stop on the shortest way through all of them in this order."""
    cost = np.abs(enter[0] - start)
    came_from: list[Indices] = []
    for here, there in zip(leave, enter[1:], strict=False):
        total = cost[:, None] + np.abs(here[:, None] - there)
        best = total.argmin(axis=0)
        came_from.append(best)
        cost = total[best, np.arange(len(there))]
    options = [int(cost.argmin())]
    for best in reversed(came_from):
        options.append(int(best[options[-1]]))
    return options[::-1]


def _try_all_gates(row: list[_Stop], options: list[int], start: complex) -> None:
    """Give each ring of many points, in turn, the gate that fits the stops beside it best; changes `options`."""
    for k, stop in enumerate(row):
        if len(stop.enter) <= GATES:
            continue
        cost = np.abs(stop.enter - (row[k - 1].leave[options[k - 1]] if k else start))
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
