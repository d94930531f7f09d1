"""The longest cubics that keep within a tolerance, one after another along many polylines in lock-step.

Enters: runs, polylines without corners, with directions at their vertices. Leaves: the pieces of each run, cubic or
straight. Holds: each piece is certified; pieces of a run follow each other and end in its vertices.
"""

from dataclasses import dataclass

import numpy as np

from layercut.geometry.fitting.cubic_fit import Flags, Floats, Indices, Places, Stretches, fit_cubics, lines_up

MOST_TURN = 4.5
"""A cubic isn't tried around more than this turn, radians (258 degrees): few would do, at any useful tolerance."""

TRIES = 10
"""How often the end of a piece is moved in search of the farthest that will do, once one does."""

LONGER = 1.3
"""How much longer than the piece before it one is tried at first."""

SHORTER, HALF = 0.6, 0.5
"""Where between the farthest end that did and the one tried next another is tried: at first, and later."""

ERROR_POWER = 5.0
"""A cubic's deviation grows about with this power of its length, which tells where to try next."""

FREE_AT_CORNER = 0.1
"""How far the end of a handle at a corner may lie beside its direction, in chords: there only one side tells it."""

WORST_RATIO = 1e4
"""Deviations are taken for no more than this many tolerances when the next try is chosen."""


@dataclass(frozen=True, slots=True)
class Runs:
    """Polylines without corners, all vertices in one row: run k goes from `first[k]` to `last[k]`.

    `arriving` and `leaving` are unit directions before and after each vertex; at a run's ends they are only binding
    where `smooth_first` and `smooth_last` say so.
    """

    vertices: Places
    first: Indices
    last: Indices
    arriving: Places
    leaving: Places
    smooth_first: Flags
    smooth_last: Flags


@dataclass(frozen=True, slots=True)
class Pieces:
    """Pieces in order of run and place: from vertex `first` to `last`, four control points, straight or not."""

    run: Indices
    first: Indices
    last: Indices
    controls: Places
    straight: Flags


@dataclass(slots=True)
class _Search:
    """Where the search of each run stands: the piece's beginning, the farthest end that did and the nearest that
    didn't, the two ends tried next (two, since few runs cost about as much as many) and the best controls so far."""

    begin: Indices
    good: Indices
    bad: Indices
    trial: Indices
    lesser: Indices
    tries: Indices
    best: Places
    curved: Flags


def fit_runs(runs: Runs, tolerance_mm: Floats, straight_mm: float) -> Pieces:
    """The longest pieces within each run's tolerance, from its first vertex on.

    What keeps within `straight_mm` of a straight line becomes one.
    """
    turn = _turns(runs)
    search = _start(runs, turn)
    found: list[tuple[Indices, ...]] = []
    controls: list[Places] = []
    active = np.flatnonzero(runs.last > runs.first)
    # All runs in lock-step: a fit in numpy costs about as much for one stretch as for hundreds.
    while len(active):
        _try_next(runs, search, active, tolerance_mm)
        done = active[_settled(search, active)]
        if len(done):
            found.append((done, search.begin[done], search.good[done], search.curved[done].astype(np.int64)))
            controls.append(search.best[done])
            _begin_next(runs, search, done, turn)
            active = active[search.begin[active] < runs.last[active]]
    if not found:
        none = np.empty(0, dtype=np.int64)
        return Pieces(none, none, none, np.empty((0, 4), dtype=np.complex128), none.astype(np.bool_))
    run, first, last, curved = (np.concatenate(part) for part in zip(*found, strict=True))
    order = np.lexsort((first, run))
    return _straightened(
        runs, run[order], first[order], last[order], np.concatenate(controls)[order], curved[order] == 1, straight_mm
    )


def _turns(runs: Runs) -> Floats:
    """How far all runs have turned up to each vertex, radians; grows from run to run too."""
    edges = np.diff(runs.vertices)
    with np.errstate(all="ignore"):
        angle = np.abs(np.angle(edges[1:] / edges[:-1]))
    angle = np.where(np.isfinite(angle), angle, 0.0)
    inner = np.concatenate([[0.0], angle, [0.0]])[: len(runs.vertices)]
    inner[runs.first], inner[runs.last] = 0.0, 0.0
    return np.asarray(np.cumsum(inner))


def _start(runs: Runs, turn: Floats) -> _Search:
    count = len(runs.first)
    none = np.zeros(count, dtype=np.int64)
    search = _Search(
        begin=runs.first.copy(),
        good=none.copy(),
        bad=none.copy(),
        trial=none.copy(),
        lesser=none.copy(),
        tries=none.copy(),
        best=np.zeros((count, 4), dtype=np.complex128),
        curved=np.zeros(count, dtype=np.bool_),
    )
    live = np.flatnonzero(runs.last > runs.first)
    _open(runs, search, live, turn)
    return search


def _begin_next(runs: Runs, search: _Search, which: Indices, turn: Floats) -> None:
    before = np.where(search.curved[which], search.good[which] - search.begin[which], len(turn))
    search.begin[which] = search.good[which]
    more = search.begin[which] < runs.last[which]
    which = which[more]
    _open(runs, search, which, turn)
    hoped = search.begin[which] + np.ceil(LONGER * before[more]).astype(np.int64)
    search.trial[which] = np.minimum(search.trial[which], np.maximum(hoped, search.begin[which] + 2))
    _add_lesser(search, which, SHORTER)


def _open(runs: Runs, search: _Search, which: Indices, turn: Floats) -> None:
    """Begin the search of a piece: one edge always does, as a line; first tried is all that doesn't turn too far."""
    begin = search.begin[which]
    reach = np.searchsorted(turn, turn[begin] + MOST_TURN, side="right")
    trial = np.minimum(reach, runs.last[which])
    search.good[which] = begin + 1
    search.bad[which] = trial + 1
    search.trial[which] = np.maximum(trial, begin + 1)
    _add_lesser(search, which, SHORTER)
    search.tries[which] = 0
    search.best[which] = 0.0
    search.curved[which] = False


def _add_lesser(search: _Search, which: Indices, share: float) -> None:
    """The second end to try: that share of what the first lies beyond the farthest that did; at least an edge."""
    good, trial = search.good[which], search.trial[which]
    search.lesser[which] = np.minimum(good + np.ceil(share * (trial - good)).astype(np.int64), trial)


def _try_next(runs: Runs, search: _Search, active: Indices, tolerance_mm: Floats) -> None:
    """Two fits for every run whose trial is more than an edge."""
    which = active[search.trial[active] > search.begin[active] + 1]
    if not len(which):
        return
    # A nearer end is fitted along with the far one: if that fails, the next trial begins from a fit that holds.
    both = search.lesser[which] < search.trial[which]
    both &= search.lesser[which] > search.begin[which] + 1
    owner = np.concatenate([which, which[both]])
    end = np.concatenate([search.trial[which], search.lesser[which[both]]])
    tolerance = tolerance_mm[owner]
    controls, bound = fit_cubics(_stretches(runs, owner, search.begin[owner], end), float(tolerance.max()))
    ratio = np.minimum(bound / tolerance, WORST_RATIO)
    _note(search, which, end[: len(which)], controls[: len(which)], ratio[: len(which)])
    # The lesser end only counts where the farther didn't do.
    second = np.arange(len(which), len(owner))[ratio[: len(which)][both] > 1]
    _note(search, owner[second], end[second], controls[second], ratio[second])
    # Where the far end failed and the near one was fitted, its deviation tells better how far to go next.
    tried, found = search.trial[which], ratio[: len(which)].copy()
    place = np.flatnonzero(both)[ratio[: len(which)][both] > 1]
    tried[place], found[place] = end[second], ratio[second]
    search.tries[which] += 1
    _aim(search, which, tried, found)


def _stretches(runs: Runs, run: Indices, begin: Indices, end: Indices) -> Stretches:
    """From one vertex to another of a run, with directions as far as they bind there."""
    return Stretches(
        runs.vertices,
        begin,
        end,
        runs.leaving[begin],
        runs.arriving[end],
        np.where((begin == runs.first[run]) & ~runs.smooth_first[run], FREE_AT_CORNER, 0.0),
        np.where((end == runs.last[run]) & ~runs.smooth_last[run], FREE_AT_CORNER, 0.0),
    )


def _note(search: _Search, which: Indices, end: Indices, controls: Places, ratio: Floats) -> None:
    """What a try has shown: an end that does, or one that doesn't."""
    fits = ratio <= 1
    search.best[which[fits]] = controls[fits]
    search.curved[which[fits]] = True
    search.good[which[fits]] = end[fits]
    misses = ~fits
    search.bad[which[misses]] = end[misses]


def _aim(search: _Search, which: Indices, tried: Indices, ratio: Floats) -> None:
    """Where to try next: as far as the deviation lets expect, within what is still open."""
    begin, good, bad = search.begin[which], search.good[which], search.bad[which]
    guess = begin + np.floor((tried - begin) * np.maximum(ratio, 0.05) ** (-1 / ERROR_POWER)).astype(np.int64)
    late = search.tries[which] > 2
    guess = np.where(late, good + 2 * (bad - good) // 3, guess + (bad - guess) // 4)
    search.trial[which] = np.clip(guess, good + 1, np.maximum(bad - 1, good + 1))
    _add_lesser(search, which, HALF)


def _settled(search: _Search, active: Indices) -> Flags:
    """Which runs have their piece."""
    near = search.bad[active] - search.good[active] <= 1
    return np.asarray(near | (search.curved[active] & (search.tries[active] >= TRIES)))


def _straightened(  # noqa: PLR0917 - what is known of every piece
    runs: Runs, run: Indices, first: Indices, last: Indices, controls: Places, curved: Flags, straight_mm: float
) -> Pieces:
    """The pieces, those that keep to their chord as lines."""
    ends = Stretches(runs.vertices, first, last, *(runs.leaving[first],) * 2, *(np.zeros(len(first)),) * 2)
    straight = ~curved | lines_up(ends, straight_mm)
    begin, end = runs.vertices[first], runs.vertices[last]
    chord = np.stack([begin, begin, end, end], axis=1)
    return Pieces(run, first, last, np.where(straight[:, None], chord, controls), straight)
