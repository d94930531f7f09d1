"""Where lines break: their ends, their corners, and where they meet.

Enters: polylines, mm. Leaves: `Tracks`, their runs between breaks, with directions. Holds: a run has the same
vertices in the same order whichever line it is part of, in whichever direction and from wherever that line begins, so
that equal stretches are treated equally.
"""

import math
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from layercut.geometry.fitting.cubic_fit import Flags, Indices, Places
from layercut.geometry.fitting.directions import find_directions
from layercut.geometry.fitting.greedy import Runs
from layercut.geometry.thinning import thinned

SHARPEST_RAD = math.radians(60)
"""A vertex that turns more than this is a corner, whatever its edges are."""

SHARP_RAD = math.radians(12)
"""A vertex that turns more than this is a corner if it turns much more than its neighbours."""

OUTSTANDING = 2.5
"""So many times as much as both neighbours' turns."""

SAGITTAS = 2.0
"""An edge that is the chord of a curve lies within the flattening tolerance of it; one that would lie further off
than this many tolerances is a straight edge of the drawing, and ends in corners."""


@dataclass(frozen=True, slots=True)
class Tracks:
    """The runs of some lines. Run k is part of line `line[k]`, `reverse[k]` to it; in order along each line.

    `places` are all vertices of all runs, `kept` those that are vertices of `runs`, by index. `start[i]` is the index
    of line i's first vertex in `places`, `start_run[i]` the run that it is in.
    """

    runs: Runs
    places: Places
    kept: Indices
    line: Indices
    reverse: Flags
    closed: Flags
    start: Indices
    start_run: Indices


@dataclass(frozen=True, slots=True)
class _Loops:
    """Vertices of many lines in one row, a closed line's first vertex not repeated.

    `size` and `offset` per line; `line`, `before` and `after` per vertex, -1 where an open line ends.
    """

    places: Places
    closed: Flags
    size: Indices
    offset: Indices
    line: Indices
    before: Indices
    after: Indices


def find_tracks(lines: list[NDArray[np.float64]], group: Indices, flat_mm: float, thin_mm: float) -> Tracks:
    """Split lines at corners and where they meet lines of the same group, and leave out vertices that say nothing.

    Each line is (n, 2), n >= 2; a closed one ends where it begins. `flat_mm` is the tolerance of its flattening,
    `thin_mm` how far a vertex that is left out may lie off the rest.
    """
    loops = _loops(lines)
    ids = _identities(loops, group)
    meets = _meetings(loops, ids)
    loops, order = _turned(loops, np.where(meets, ids, ids + len(ids)))
    first_vertex = np.empty(len(order), dtype=np.int64)
    first_vertex[order] = np.arange(len(order))
    offsets = np.cumsum([0, *loops.size[:-1]])
    ids, meets = ids[order], meets[order]
    kept = _thinned(loops, ids, meets, thin_mm)
    corner, tangent = _shape(loops, kept, flat_mm)
    ends = (loops.before < 0) | (loops.after < 0)
    return _runs(loops, ids, corner | meets | ends, corner | ends, kept, tangent, first_vertex[offsets])


def _loops(lines: list[NDArray[np.float64]]) -> _Loops:
    """All lines in one row, repeated vertices dropped."""
    places = np.concatenate(lines) @ np.array([1, 1j]) if lines else np.empty(0, dtype=np.complex128)
    sizes = np.array([len(line) for line in lines], dtype=np.int64)
    line = np.repeat(np.arange(len(lines)), sizes)
    offset = np.cumsum(sizes) - sizes
    closed = (places[offset] == places[offset + sizes - 1]) & (sizes > 3) if len(lines) else np.empty(0, np.bool_)
    fresh = np.append(True, (places[1:] != places[:-1]) | (line[1:] != line[:-1]))[: len(places)]
    # Of the vertices at a closed line's end that are its first again, one is left by now.
    fresh[np.maximum.reduceat(np.where(fresh, np.arange(len(fresh)), 0), offset)[closed]] = False
    # A line that is a single point keeps two vertices, so that it stays a line.
    lonely = np.bincount(line[fresh], minlength=len(lines)) < 2
    fresh[(offset + 1)[lonely]] = True
    return _linked(places[fresh], closed & ~lonely, np.bincount(line[fresh], minlength=len(lines)))


def _linked(places: Places, closed: Flags, size: Indices) -> _Loops:
    offset = np.cumsum(size) - size
    line = np.repeat(np.arange(len(size)), size)
    index = np.arange(len(places))
    after, before = index + 1, index - 1
    first, last = offset, offset + size - 1
    after[last] = np.where(closed, first, -1)
    before[first] = np.where(closed, last, -1)
    return _Loops(places, closed, size, offset, line, before, after)


def _identities(loops: _Loops, group: Indices) -> Indices:
    """A number for each vertex, in the order of group, x and y: equal places of a group have the same."""
    of = group[loops.line]
    x, y = loops.places.real, loops.places.imag
    order = np.lexsort((y, x, of))
    new = np.append(False, (np.diff(of[order]) != 0) | (np.diff(loops.places[order]) != 0))[: len(order)]
    ids = np.empty(len(order), dtype=np.int64)
    ids[order] = np.cumsum(new)
    return ids


def _meetings(loops: _Loops, ids: Indices) -> Flags:
    """Vertices where lines part: other occurrences of the same place have other neighbours."""
    if not len(ids):
        return np.empty(0, dtype=np.bool_)
    before = np.where(loops.before < 0, -1, ids[loops.before])
    after = np.where(loops.after < 0, -1, ids[loops.after])
    order = np.argsort(ids, kind="stable")
    starts = np.flatnonzero(np.append(True, np.diff(ids[order]) != 0))
    parts = np.zeros(len(starts), dtype=np.bool_)
    for side in (np.minimum(before, after)[order], np.maximum(before, after)[order]):
        parts |= np.minimum.reduceat(side, starts) != np.maximum.reduceat(side, starts)
    return np.asarray(parts[ids])


def _turned(loops: _Loops, rank: Indices) -> tuple[_Loops, Indices]:
    """Closed lines begun at their vertex of least rank; and where each vertex comes from."""
    if not len(rank):
        return loops, np.empty(0, dtype=np.int64)
    least = np.minimum.reduceat(rank, loops.offset)
    at = np.where(rank == least[loops.line], np.arange(len(rank)), len(rank))
    return _turned_to(loops, np.minimum.reduceat(at, loops.offset))


def _turned_to(loops: _Loops, first: Indices) -> tuple[_Loops, Indices]:
    """Closed lines begun at a given vertex; and where each vertex comes from."""
    index = np.arange(len(loops.places))
    offset = loops.offset[loops.line]
    begin = np.where(loops.closed, first - loops.offset, 0)[loops.line]
    order = offset + (index - offset + begin) % loops.size[loops.line]
    return _linked(loops.places[order], loops.closed, loops.size), order


def _spans(cut: Flags, loops: _Loops) -> tuple[Indices, Indices]:
    """First vertex and number of vertices, the next cut's counted, of the stretches between cuts.

    Every line's first vertex must be cut; a closed line's last stretch ends in its first vertex.
    """
    first = np.flatnonzero(cut)
    line = loops.line[first]
    here = np.append(line[1:] == line[:-1], False)
    end = loops.offset[line] + loops.size[line]
    until = np.where(here, np.append(first[1:], 0), end)
    count = until - first + np.where(here | loops.closed[line], 1, 0)
    real = count > 1
    return first[real], count[real]


def _gather(first: Indices, count: Indices, loops: _Loops) -> tuple[Indices, Indices]:
    """Vertex indices of stretches, one after another, wrapping round closed lines; and where each stretch begins."""
    starts = np.cumsum(count) - count
    owner = np.repeat(np.arange(len(count)), count)
    line = loops.line[first][owner]
    step = np.arange(int(count.sum())) - starts[owner] + first[owner] - loops.offset[line]
    return loops.offset[line] + step % loops.size[line], starts


def _backwards(picked: Indices, starts: Indices, count: Indices, ids: Indices) -> Flags:
    """Which stretches run from their greater end to their lesser."""
    last = starts + count - 1
    begin, end = ids[picked[starts]], ids[picked[last]]
    second, before_last = ids[picked[starts + 1]], ids[picked[last - 1]]
    return np.asarray((begin > end) | ((begin == end) & (second > before_last)))


def _flipped(starts: Indices, count: Indices, back: Flags) -> Indices:
    """The order that turns some stretches round."""
    owner = np.repeat(np.arange(len(count)), count)
    step = np.arange(int(count.sum())) - starts[owner]
    return np.asarray(starts[owner] + np.where(back[owner], count[owner] - 1 - step, step))


def _thinned(loops: _Loops, ids: Indices, needed: Flags, thin_mm: float) -> Flags:
    """The vertices that say something (Douglas and Peucker 1973), all of them between those that are needed."""
    cut = needed.copy()
    cut[loops.offset] = True
    cut[(loops.offset + loops.size - 1)[~loops.closed]] = True
    first, count = _spans(cut, loops)
    kept = cut.copy()
    if not len(first) or thin_mm <= 0:
        kept[:] = True
        return kept
    picked, starts = _gather(first, count, loops)
    picked = picked[_flipped(starts, count, _backwards(picked, starts, count, ids))]
    owner = np.repeat(np.arange(len(count)), count)
    x, y = loops.places[picked].real, loops.places[picked].imag
    # The index rides along as height; simplifying looks at x and y only.
    stretches = shapely.linestrings(np.column_stack([x, y, picked]), indices=owner)
    simple = thinned(stretches, thin_mm)
    kept[shapely.get_coordinates(simple, include_z=True)[:, 2].astype(np.int64)] = True
    return kept


def _shape(loops: _Loops, kept: Flags, flat_mm: float) -> tuple[Flags, Places]:
    """Which vertices are corners, and the line's direction at each (that of the circle through it and its
    neighbours); neither is said of vertices that aren't kept."""
    corner, tangent = np.zeros(len(kept), dtype=np.bool_), np.ones(len(kept), dtype=np.complex128)
    index = np.flatnonzero(kept)
    part = _linked(loops.places[index], loops.closed, np.bincount(loops.line[index], minlength=len(loops.size)))
    inner = np.flatnonzero((part.before >= 0) & (part.after >= 0))
    if not len(inner):
        return corner, tangent
    turn, there = np.zeros(len(index)), np.zeros(len(index), dtype=np.bool_)
    into = part.places[inner] - part.places[part.before[inner]]
    out = part.places[part.after[inner]] - part.places[inner]
    turn[inner] = np.angle(out * np.conj(into))
    a, b, t = np.abs(into), np.abs(out), np.abs(turn[inner])
    both = np.where(a + b > 0, a + b, 1)
    sagitta = t * np.maximum(a, b) ** 2 / (4 * both)
    beside = np.maximum(np.abs(turn[part.before[inner]]), np.abs(turn[part.after[inner]]))
    there[inner] = (
        (t > SHARPEST_RAD) | (sagitta > SAGITTAS * flat_mm) | ((t > SHARP_RAD) & (t > OUTSTANDING * beside))
    )
    corner[index] = there
    tangent[index[inner]] = into / np.where(a > 0, a, 1) * np.exp(1j * turn[inner] * a / both)
    return corner, tangent


def _runs(  # noqa: PLR0917 - what is known of every vertex, all of one length
    loops: _Loops,
    ids: Indices,
    cut: Flags,
    sharp: Flags,
    kept: Flags,
    tangent: Places,
    begin: Indices,
) -> Tracks:
    """The runs between cuts, each in its own direction."""
    bare = np.bincount(loops.line[cut], minlength=len(loops.size)) == 0
    cut = cut.copy()
    cut[loops.offset[bare]] = True
    # A closed line that is cut somewhere, but not at its first vertex, begins at its first cut.
    first_cut = np.full(len(loops.size), len(cut))
    np.minimum.at(first_cut, loops.line[cut], np.flatnonzero(cut))
    turned, order = _turned_to(loops, first_cut)
    where = np.empty(len(order), dtype=np.int64)
    where[order] = np.arange(len(order))
    first, count = _spans(cut[order], turned)
    picked, starts = _gather(first, count, turned)
    picked = order[picked]
    back = _backwards(picked, starts, count, ids) if len(first) else np.empty(0, dtype=np.bool_)
    picked = picked[_flipped(starts, count, back)]
    owner = np.repeat(np.arange(len(count)), count)
    stays = kept[picked]
    stays[starts], stays[starts + count - 1] = True, True
    thin = np.cumsum(stays) - 1
    inside = np.flatnonzero(stays)
    tangents = tangent[picked[inside]] * np.where(back[owner[inside]], -1, 1)
    run_first, run_last = thin[starts], thin[starts + count - 1]
    at_first, at_last = ~sharp[picked[starts]], ~sharp[picked[starts + count - 1]]
    places = loops.places[picked]
    ways = find_directions(places[inside], tangents, run_first, run_last, at_first, at_last)
    runs = Runs(places[inside], run_first, run_last, *ways, at_first, at_last)
    home = np.empty(len(order), dtype=np.int64)
    home[picked[::-1]] = np.arange(len(picked))[::-1]
    start = home[begin]
    return Tracks(runs, places, inside, turned.line[first], back, loops.closed, start, owner[start])
