"""Tour: a cycle of nodes, made shorter move by move.

Enters: nodes, the near neighbours of each, and a cycle through them. Leaves: a shorter cycle. Holds: no move makes
the way longer, takes a piece of line apart, or puts a node before one that must come first; the work is counted,
never timed.

A piece of line is two nodes joined by an edge that no move takes. An open way has a last node that lies at distance
0 from every other and is joined to its first. Moves are 2-opt (Croes 1958), or-opt, which carries up to three stops
elsewhere (Or 1976), and the swap of two neighbouring runs of any length (Lin 1965: 3-opt without a reversal),
over near neighbours with a queue of nodes to look at (the don't-look bits of Bentley, "Fast algorithms for geometric
traveling salesman problems", 1992). After that short runs are swapped by chance, what that spoils is mended, and only
the good outcomes stay (Martin, Otto, Felten 1991; with local kicks: Applegate, Cook, Rohe, "Chained Lin-Kernighan for
large traveling salesman problems", 2003). Every move is made of reversals, which are their own undoing.
"""

import math
import random
from collections import deque
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Neighbours = list[list[tuple[int, float]]]
Move = tuple[float, tuple[int, ...]]
Run = tuple[int, int, int, float, float]
"""A run that may be moved: its nodes less one, its far end, the node behind that, and the lengths, mm, of the edge
behind it and of the one that closes the gap."""

RUN = 3
"""Stops that an or-opt move takes along, at most (Or 1976 uses three)."""

REACH = 30
"""Nodes in each of the two runs that are swapped by chance, at most: few, so that mending it stays local."""

LONGEST = 5000
"""Nodes that a move may reverse or jump over while a kick is mended: beyond that it costs large sheets more than it
gives. Before the kicks there is no such limit: one of 1000 left the way 4 to 8 % longer."""

GAIN_MM = 1e-9
"""A move must save more than this, mm: less is rounding, and would let two moves undo each other for ever."""

SEED = 1
"""Seed of the kicks' places. Python promises the same `random()` for a seed in every version."""


@dataclass(frozen=True, slots=True)
class Nodes:
    """What a tour visits.

    `points` is (n, 2), mm. `mate` is the partner at the other end of a piece of line, -1 for none. `start` and `end`
    are the first and last node of an open way, -1 where the tour is closed; they are each other's mates. `around`
    gives the node that may only come after another; it takes an open way.
    """

    points: NDArray[np.float64]
    mate: list[int]
    start: int
    end: int
    around: dict[int, int]


class Tour:
    """A cycle of nodes to be made shorter; `order` is the cycle, `place` each node's place in it."""

    def __init__(self, nodes: Nodes, near: Neighbours, order: Iterable[int]) -> None:
        self.order = list(order)
        self.place = [0] * len(self.order)
        for place, node in enumerate(self.order):
            self.place[node] = place
        self._spots = [complex(x, y) for x, y in nodes.points.tolist()]
        self._nodes, self._near, self._mate, self._end = nodes, near, nodes.mate, nodes.end
        self._nearest = [known[0][1] if known else math.inf for known in near]
        self._done: list[tuple[int, int]] = []
        self._longest = len(self.order)

    def search(self, queue: Iterable[int]) -> float:
        """Make every move that helps at these nodes and those that moves touch; gives the length saved, mm."""
        todo = deque(queue)
        waiting = set(todo)
        saved = 0.0
        while todo:
            node = todo.popleft()
            # Its don't-look bit is set: it comes again only when a move has touched it.
            waiting.discard(node)
            while move := self._improve(node):
                gain, touched = move
                saved += gain
                for other in touched:
                    if other not in waiting:
                        waiting.add(other)
                        todo.append(other)
        return saved

    def settle(self) -> None:
        """Search from every node until nothing helps any more."""
        while self.search(self.order.copy()) > GAIN_MM:
            self._done.clear()

    def kick(self, times: int) -> None:
        """Swap two short runs by chance, mend that, and keep it if the way is no longer; so many times."""
        chance = random.Random(SEED)
        self._longest = LONGEST
        for _ in range(times):
            self._done.clear()
            cuts = self._cuts(chance)
            if cuts is None:
                continue
            saved = self._swap_runs(cuts)
            if not self._keeps_law(0) or saved + self.search(cuts) < -GAIN_MM:
                self._undo(0)

    def _improve(self, a: int) -> Move | None:
        """The first move found that joins node a to a near one and makes the way shorter: its gain, its nodes."""
        order, at, spot_a = self.order, self.place[a], self._spots[a]
        kept, reach = (self._mate[a], self._end), self._nearest[a]
        # Places below 0 count from the end of the cycle, so neither step needs a remainder.
        for way, b in ((1, order[at + 1 - len(order)]), (-1, order[at - 1])):
            if b not in kept:
                gap = abs(spot_a - self._spots[b])
                if gap - reach > GAIN_MM and (move := self._part(a, b, way, gap)):
                    return move
        return None

    def _part(self, a: int, b: int, way: int, gap: float) -> Move | None:
        """The same, for moves that part node a from b, the one after it in the direction of `way`.

        Whatever doesn't depend on the near node is found once, and a search is only called where a bound of what it
        could save allows a move: most of the time is spent here.
        """
        spots, mate, order, place, end = self._spots, self._mate, self.order, self.place, self._end
        nearest, spot_b = self._nearest, spots[b]
        ahead, back = (1 - len(order), -1) if way == 1 else (-1, 1 - len(order))
        runs, best = self._runs(a, b, way)
        for c, reach in self._near[a]:
            # Near nodes come nearest first, so from here on none is near enough for joining a to it to save anything.
            gain = gap - reach
            if gain <= GAIN_MM:
                break
            at, kept, spot_c = place[c], mate[c], spots[c]
            d, before = order[at + ahead], order[at + back]
            # 2-opt: a to c and b to d instead of a to b and c to d. An edge of a piece of line (`kept`) never goes.
            if kept != d:
                more = gain if d == end else gain + abs(spot_c - spots[d]) - abs(spot_b - spots[d])
                if more > GAIN_MM and self._turn((b, c) if way == 1 else (c, b)):
                    return more, (a, b, c, d)
            # Or-opt: `best` is the most that any run at a saves by leaving, whatever gap it goes to.
            if gain + best > 0 and (move := self._move_run((a, b, way), c, gain, runs)):
                return move
            # The swap of two runs takes the edge before c as well, and must make up for it with a node near that.
            if before not in (kept, end):
                rest = gain + abs(spots[before] - spot_c)
                if rest - nearest[before] > GAIN_MM and (move := self._move_any((a, b, way), c, before, rest)):
                    return move
        return None

    def _runs(self, a: int, b: int, way: int) -> tuple[list[Run], float]:
        """The runs of up to `RUN` stops that begin at node a and go away from b, shortest first, and the most that
        taking one away saves, mm."""
        spots, mate, order, end = self._spots, self._mate, self.order, self._end
        spot_b, n = spots[b], len(order)
        first = self.place[a] + (-1 if way == 1 else 1 - n)
        runs: list[Run] = []
        e, best = a, -math.inf
        for length in range(min(2 * RUN, n - 3)):
            f = order[first - way * length]
            if mate[e] != f:
                gone = come = 0.0
                if f != end:
                    gone, come = abs(spots[e] - spots[f]), abs(spots[f] - spot_b)
                best = max(best, gone - come)
                runs.append((length, e, f, gone, come))
                if len(runs) == RUN:
                    break
            if f == end:
                break
            e = f
        return runs, best

    def _move_any(self, joint: tuple[int, int, int], d: int, c: int, gap: float) -> Move | None:
        """Swap the run from node b to the one before d with one that begins at d, whatever their length.

        `joint` is a, b, way. In the direction of `way` the cycle is a, b to c, d to e, f; it becomes a, d to e,
        b to c, f. `gap` is what taking c from d and joining a to d instead of b saves.
        """
        (a, b, way), end = joint, self._end
        spots, mate, order, place = self._spots, self._mate, self.order, self.place
        back = -1 if way == 1 else 1 - len(order)
        low, high = (place[d], place[a]) if way == 1 else (place[a] - 1, place[d] - 1)
        wraps, spot_b = low > high, spots[b]
        for f, reach in self._near[c]:
            less = gap - reach
            if less <= GAIN_MM:
                break
            at = place[f]
            # f lies behind d, at a at the latest: places low + 1 to high, or round the end of the list.
            if (low >= at > high) if wraps else not low < at <= high:
                continue
            e = order[at + back]
            if mate[f] == e:
                continue
            more = less if e == end else less + abs(spots[e] - spots[f]) - abs(spots[e] - spot_b)
            if more > GAIN_MM and self._swap((a, b, c, d, e, f)):
                return more, (a, b, c, d, e, f)
        return None

    def _move_run(self, joint: tuple[int, int, int], c: int, gain: float, runs: list[Run]) -> Move | None:
        """Take a run of stops that begins at node a and goes away from b to one of the two gaps beside node c.

        `joint` is a, b, and the direction from a to b; `gain` is what joining a to c instead of b saves. The run's
        other end is e, f lies behind that; d is c's other neighbour in the gap: edges ab, ef, cd go, ac, bf, de come.
        """
        (a, b, way), end = joint, self._end
        spots, order, place = self._spots, self.order, self.place
        n = len(order)
        behind = (place[a] - place[c]) * way % n
        for length, e, f, gone, come in runs:
            if length >= behind:
                break
            less = gain + gone - come
            # What the gap beside c costs only takes away from this.
            if less <= GAIN_MM:
                continue
            for d in (order[place[c] + 1 - n], order[place[c] - 1]):
                if d in (a, e, self._mate[c]):
                    continue
                more = less if d == end else less + abs(spots[c] - spots[d]) - abs(spots[e] - spots[d])
                if more > GAIN_MM and self._carry((e, a, f, b) if way == 1 else (a, e, b, f), c, d, a):
                    return more, (a, b, c, d, e, f)
        return None

    def _carry(self, run: tuple[int, int, int, int], c: int, d: int, a: int) -> bool:
        """Put a run between neighbours c and d, its end a next to c. False, and nothing done, where order forbids it.

        `run` is its first and last node and the nodes before and behind it, in the cycle's direction.
        """
        first, last, before, behind = run
        place, n = self.place, len(self.order)
        left, right = (c, d) if self.order[(place[c] + 1) % n] == d else (d, c)
        keeps_direction = (first == a) == (c == left) or first == last
        mark = len(self._done)
        # The run and what it jumps over change places by two or three reversals; it jumps the shorter way round.
        ahead, back = (place[left] - place[behind]) % n, (place[before] - place[right]) % n
        if min(ahead, back) > self._longest:
            return False
        if ahead <= back:
            self._reverse_path(before, first, left)
            self._reverse_path(before, left, behind)
        else:
            self._reverse_path(left, right, last)
            self._reverse_path(first, before, right)
        if keeps_direction:
            self._reverse_path(left, last, first)
        return self._allowed(mark)

    def _swap(self, cuts: tuple[int, ...]) -> bool:
        """Swap the two runs between three cuts. False, and nothing done, where order forbids it."""
        if max(abs(self.place[cuts[0]] - self.place[k]) for k in cuts) > self._longest:
            return False
        mark = len(self._done)
        self._swap_runs(cuts)
        return self._allowed(mark)

    def _turn(self, path: tuple[int, int]) -> bool:
        """Reverse a path, given in the cycle's direction. False, and nothing done, where order forbids it."""
        first, last = self.place[path[0]], self.place[path[1]]
        inside = (last - first) % len(self.order)
        if min(inside, len(self.order) - inside) > self._longest:
            return False
        mark = len(self._done)
        self._reverse(first, last)
        return self._allowed(mark)

    def _allowed(self, mark: int) -> bool:
        """Take back what was done since the mark if it broke the order that must be kept; True if not."""
        if self._nodes.around and not self._keeps_law(mark):
            self._undo(mark)
            return False
        return True

    def _undo(self, mark: int) -> None:
        while len(self._done) > mark:
            self._reverse_places(*self._done.pop())

    def _reverse_path(self, before: int, first: int, last: int) -> None:
        """Reverse the path from `first` to `last` that begins next to `before`, whichever way the cycle runs now."""
        place = self.place
        if self.order[(place[before] + 1) % len(place)] == first:
            self._reverse(place[first], place[last])
        else:
            self._reverse(place[last], place[first])

    def _reverse(self, i: int, j: int) -> None:
        """Reverse the places i to j, or all others, which gives the same cycle: whichever are fewer."""
        n = len(self.order)
        inside = (j - i) % n + 1
        if 2 * inside > n:
            i, j = (j + 1) % n, (i - 1) % n
        if inside < n:
            self._done.append((i, j))
            self._reverse_places(i, j)

    def _reverse_places(self, i: int, j: int) -> None:
        order, place = self.order, self.place
        if i <= j:
            part = order[i : j + 1]
            part.reverse()
            order[i : j + 1] = part
            for k, node in enumerate(part, i):
                place[node] = k
            return
        part = order[i:] + order[: j + 1]
        part.reverse()
        head = len(order) - i
        order[i:], order[: j + 1] = part[:head], part[head:]
        for k, node in enumerate(part[:head], i):
            place[node] = k
        for k, node in enumerate(part[head:]):
            place[node] = k

    def _keeps_law(self, mark: int) -> bool:
        """Whether what was done since the mark left every node before the one around it."""
        around, order, place, n = self._nodes.around, self.order, self.place, len(self.order)
        if not around or len(self._done) == mark:
            return True
        zero = place[self._nodes.start]
        way = 1 if order[zero - 1] == self._end else -1
        low = min(i for i, _ in self._done[mark:])
        high = max(j for _, j in self._done[mark:])
        wraps = any(i > j for i, j in self._done[mark:])
        # Only nodes that moved can be wrong, unless the way's beginning is among them: then the others are.
        moved = around if wraps or low <= zero <= high else order[low : high + 1]
        for node in moved:
            outer = around.get(node, -1)
            if outer >= 0 and (place[node] - zero) * way % n > (place[outer] - zero) * way % n:
                return False
        return True

    def _cuts(self, chance: random.Random) -> tuple[int, ...] | None:
        """Three near edges to cut, as six nodes along the cycle; None where the cycle is too short for them."""
        order, mate, n = self.order, self._mate, len(self.order)
        longest = min(REACH, n // 3)
        if longest < 1:
            return None
        at = int(chance.random() * n)
        nodes: list[int] = []
        first = at
        for k in range(3):
            at += 0 if k == 0 else 1 + int(chance.random() * longest)
            if mate[order[at % n]] == order[(at + 1) % n]:
                at += 1
            nodes += [order[at % n], order[(at + 1) % n]]
        return tuple(nodes) if at + 1 < first + n else None

    def _swap_runs(self, cuts: tuple[int, ...]) -> float:
        """Swap the two runs between three cuts; gives the length saved, mm, below 0 where the way grows longer."""
        a, b, c, d, e, f = cuts
        gap = self._gap
        saved = gap(a, b) + gap(c, d) + gap(e, f) - gap(a, d) - gap(e, b) - gap(c, f)
        self._reverse_path(a, b, e)  # a e..d c..b f
        self._reverse_path(a, e, d)  # a d..e c..b f
        self._reverse_path(e, c, b)  # a d..e b..c f
        return saved

    def _gap(self, a: int, b: int) -> float:
        return 0.0 if self._end in (a, b) else abs(self._spots[a] - self._spots[b])
