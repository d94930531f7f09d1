"""Fewer pots: which of many colours one pot can stand for, and what that costs the eye.

Enters: colours and how much is seen of each, mm2. Leaves: for each colour the one that stands for it. Holds: a colour
that stands for others stands for itself, and the same colours give the same answer in whatever order they come.

`merge_alike` joins what no eye tells apart. `lower_to` goes on to a number of pots, with the least sum of visible
area times squared difference: the p-median problem. Where there are few choices all are tried. Else colours are added
one after another, each the one that helps most, and swapped for as long as that helps (M. B. Teitz, P. Bart,
"Heuristic Methods for Estimating the Generalized Vertex Median of a Weighted Graph", Operations Research 16, 1968);
how far that may be from the least is told by a bound from below (G. Cornuejols, M. L. Fisher, G. L. Nemhauser,
"Location of Bank Accounts to Optimize Float", Management Science 23, 1977: Lagrangian relaxation).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from math import comb

import numpy as np
from numpy.typing import NDArray

from layercut.colour.cielab import difference, lab_of

FloatArray = NDArray[np.float64]
Indices = NDArray[np.int64]

STEEPEST = 1.75
"""A step of CIEDE2000 is at most so many steps of L*: its weight of lightness is greatest at black and white."""

ALL_TRIED = 20_000
"""Up to so many choices of pots all are tried."""

MOST_KEPT = 200
"""So many colours, those with most area, may be kept where pots are counted: more nobody mixes."""

ROUNDS = 300
"""Steps of the bound from below: more move it by less than a thousandth."""

MOST_SERVED = 1000
"""The cost of so many colours, those with most area, decides which are kept."""

LOOKS = 200_000_000
"""So many costs are looked at for swaps: each swap helps, and for a hundred colours that is enough for all."""


@dataclass(frozen=True, slots=True)
class Merged:
    """A colour that another stands for: both `#rrggbb`, and how they differ (CIEDE2000)."""

    colour: str
    into: str
    difference: float


@dataclass(frozen=True, slots=True)
class Pots:
    """Which colour stands for each, by their places (n,); the sum of area times squared difference that this costs,
    over those with most area; and a bound below which no choice of as many pots can come."""

    stands: Indices
    cost: float
    bound: float


def merge_alike(colours: Sequence[str], area_mm2: Sequence[float], limit: float) -> Indices:
    """For each colour the one that stands for it, (n,): of those that are kept, differ by at most `limit` (CIEDE2000)
    and have no less area, the nearest; else itself. Of equal areas the colour that comes first in the alphabet counts
    as larger."""
    count = len(colours)
    stands = np.arange(count)
    if count < 2 or limit <= 0:
        return stands
    labs = lab_of(colours)
    order = np.array(sorted(range(count), key=lambda k: (-area_mm2[k], colours[k])))
    rank = np.empty(count, dtype=np.int64)
    rank[order] = np.arange(count)
    by_light = np.argsort(labs[:, 0], kind="stable")
    nearest = np.full(count, np.inf)
    for one in order.tolist():
        if nearest[one] <= limit:
            continue
        # It is kept, and stands for what is near and has less area, unless something nearer does.
        some = _near(labs, by_light, one, limit)
        some = some[rank[some] > rank[one]]
        off = difference(labs[one], labs[some])
        better = (off <= limit) & (off < nearest[some])
        nearest[some[better]] = off[better]
        stands[some[better]] = one
    return stands


def have_alike(colours: Sequence[str], limit: float) -> NDArray[np.bool_]:
    """Whether any other colour differs from each by at most `limit` (CIEDE2000), (n,): the areas of the rest decide
    nothing."""
    labs = lab_of(colours)
    by_light = np.argsort(labs[:, 0], kind="stable")
    found = np.zeros(len(colours), dtype=np.bool_)
    for one in range(len(colours)):
        if not found[one]:
            some = _near(labs, by_light, one, limit)
            some = some[some != one]
            some = some[difference(labs[one], labs[some]) <= limit]
            found[some] = True
            found[one] = len(some) > 0
    return found


def _near(labs: FloatArray, by_light: Indices, one: int, limit: float) -> Indices:
    """All colours that can be within the limit of one, and some more.

    A step of CIEDE2000 is at most 1.75 of L*, and its form in chroma and hue is at least 0.134 of their squares,
    since what turns it is at most 2 sin 60; a step of these weighs at most 1 + 0.045 C', and C' is at most 1.5 C.
    """
    light = labs[by_light, 0]
    low, high = np.searchsorted(light, [labs[one, 0] - STEEPEST * limit, labs[one, 0] + STEEPEST * limit])
    some = by_light[low:high]
    step = limit / 0.134**0.5
    if 0.0225 * step >= 1:
        return some
    reach = step * (1 + 0.0675 * np.hypot(labs[one, 1], labs[one, 2])) / (1 - 0.0225 * step)
    return np.asarray(some[np.hypot(labs[some, 1] - labs[one, 1], labs[some, 2] - labs[one, 2]) <= reach])


def lower_to(colours: Sequence[str], area_mm2: Sequence[float], keep: Indices, most: int) -> Pots:
    """Of the colours at `keep` (m,) the `most` that stand for all (n,) with the least area times squared difference.

    At least one of `keep`. Where more than `MOST_KEPT` may be kept, those with most area are looked at.
    """
    areas = np.asarray(area_mm2, dtype=float)
    keep = keep[np.lexsort((np.array(colours)[keep], -areas[keep]))]
    looked_at = keep[:MOST_KEPT]
    labs = lab_of(colours)
    off = difference(labs[:, None], labs[None, looked_at])
    costs = (areas[:, None] * off**2)[np.argsort(-areas, kind="stable")[:MOST_SERVED]]
    most = min(most, len(looked_at))
    few = comb(len(looked_at), most) <= ALL_TRIED
    chosen = _all_tried(costs, most) if few else _swapped(costs, _added(costs, most))
    reached = float(costs[:, chosen].min(axis=1).sum())
    bound = reached if few else _bound_below(costs, most, reached)
    # The nearest of the chosen also stands for a colour that isn't seen and costs nothing.
    stands = looked_at[chosen[off[:, chosen].argmin(axis=1)]]
    stands[looked_at[chosen]] = looked_at[chosen]
    return Pots(stands, reached, bound)


def _all_tried(costs: FloatArray, most: int) -> Indices:
    """The best choice of columns, by trying each; of equal ones the first."""
    every = np.array(list(combinations(range(costs.shape[1]), most)))
    total = np.zeros(len(every))
    for row in costs:
        total += row[every].min(axis=1)
    return np.asarray(every[int(total.argmin())])


def _added(costs: FloatArray, most: int) -> Indices:
    """Columns added one after another, each the one that lowers the sum most."""
    best = np.full(len(costs), np.inf)
    chosen: list[int] = []
    for _ in range(most):
        total = np.minimum(best[:, None], costs).sum(axis=0)
        total[chosen] = np.inf
        chosen.append(int(total.argmin()))
        best = np.minimum(best, costs[:, chosen[-1]])
    return np.array(chosen)


def _swapped(costs: FloatArray, chosen: Indices) -> Indices:
    """The columns after every swap of one for another that lowers the sum, the best swap first."""
    chosen = chosen.copy()
    total = float(costs[:, chosen].min(axis=1).sum())
    for _ in range(LOOKS // (costs.size * len(chosen))):
        found = (total * (1 - 1e-12), -1, -1)
        for out in range(len(chosen)):
            left = np.delete(chosen, out)
            best = costs[:, left].min(axis=1) if len(left) else np.full(len(costs), np.inf)
            sums = np.minimum(best[:, None], costs).sum(axis=0)
            into = int(sums.argmin())
            found = min(found, (float(sums[into]), out, into), key=lambda one: one[0])
        if found[1] < 0:
            break
        total, chosen[found[1]] = found[0], found[2]
    return chosen


def _bound_below(costs: FloatArray, most: int, reached: float) -> float:
    """A sum below which no choice of so many columns can come: each row pays a price for being served, and columns
    are chosen for what they gain by it; prices move by subgradients for as long as the bound rises."""
    scale = float(costs.max()) or 1.0
    costs, reached = costs / scale, reached / scale
    price = np.sort(costs, axis=1)[:, : most + 1][:, -1] if costs.shape[1] > most else costs.max(axis=1)
    bound, step, idle = 0.0, 2.0, 0
    for _ in range(ROUNDS):
        gains = np.minimum(costs - price[:, None], 0.0)
        chosen = np.argsort(gains.sum(axis=0), kind="stable")[:most]
        value = float(price.sum() + gains[:, chosen].sum())
        idle = 0 if value > bound else idle + 1
        bound = max(bound, value)
        if idle == 10:
            step, idle = step / 2, 0
        served = (gains[:, chosen] < 0).sum(axis=1)
        slope = 1 - served
        if reached - value <= 1e-9 or not slope.any():
            break
        price = np.maximum(price + step * (reached - value) / float((slope**2).sum()) * slope, 0.0)
    return min(bound, reached) * scale
