"""Smoothing: polylines back to as few smooth curves as keep within a deviation.

Enters: closed and open polylines, mm. Leaves: a `Path` of lines and cubics, a subpath for each. Holds: curve and
polyline are nowhere further apart than allowed (Fréchet distance, so both ways), corners stay corners, straight
stretches stay straight, curves go on in the same direction but where the line was drawn with a bend, and they meet
only where their polylines do. Equal stretches give equal curves, wherever their lines begin and whichever way they
run. docs/design.md, 4 has the reasons.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray

from layercut.geometry.curves import Path
from layercut.geometry.fitting.corners import Tracks, find_tracks
from layercut.geometry.fitting.crossing import find_crossings
from layercut.geometry.fitting.cubic_fit import Flags, Floats, Indices
from layercut.geometry.fitting.greedy import Pieces, Runs, fit_runs
from layercut.geometry.precision import FLATTEN_MM, GRID_MM, OUTPUT_DECIMALS

THIN_SHARE = 1 / 48
"""Part of the deviation that is spent on leaving out vertices before fitting, which is less work then."""

ROUNDING_MM = np.sqrt(0.5) * 10**-OUTPUT_DECIMALS
"""What rounding control points to the digits written may move a curve, mm: no point of a curve moves further than the
farthest of its control points."""

TIGHTER = (1 / 2, 1 / 4)
"""Shares of the deviation with which curves that cross are fitted again; after the last the polyline stands."""


@dataclass(frozen=True, slots=True)
class _Table:
    """All pieces, in order of run and place. `source` is the first vertex of each among all, `until` its last;
    `level` is how often it was fitted again."""

    pieces: Pieces
    source: Indices
    until: Indices
    level: Indices

    def take(self, which: Indices | Flags) -> "_Table":
        parts = self.pieces
        picked = Pieces(
            parts.run[which], parts.first[which], parts.last[which], parts.controls[which], parts.straight[which]
        )
        return _Table(picked, self.source[which], self.until[which], self.level[which])


def smooth_lines(
    lines: Sequence[NDArray[np.float64]],
    deviation_mm: float,
    *,
    flat_mm: float = FLATTEN_MM,
    groups: Sequence[int] | None = None,
) -> Path:
    """Lines and cubics for each polyline (n, 2), a subpath each, beginning where the polyline does.

    A closed polyline ends where it begins; its curves begin at the end of one of them that is nearest to there. No
    curve is further than `deviation_mm` from its polyline; coordinates are rounded to the digits that are written,
    which is part of it. `flat_mm` is how far the polylines' edges are from the curves they were: it tells corners
    from bends. Only lines of the same group (`groups`, one for each) are kept from crossing each other.
    """
    group = np.zeros(len(lines), dtype=np.int64) if groups is None else np.asarray(groups, dtype=np.int64)
    thin_mm = deviation_mm * THIN_SHARE
    fit_mm = deviation_mm - thin_mm - ROUNDING_MM
    if not len(lines) or fit_mm < GRID_MM:
        return _as_drawn(lines)
    # A run knows its directions at both ends, so that neighbours may be fitted apart and still go on from each other.
    tracks = find_tracks(list(lines), group, flat_mm + thin_mm, thin_mm)
    table = _fit(tracks, tracks.runs, np.full(len(tracks.line), fit_mm), np.arange(len(tracks.line)), 0)
    table = _uncrossed(tracks, table, fit_mm, group)
    return _joined(tracks, table)


def _as_drawn(lines: Sequence[NDArray[np.float64]]) -> Path:
    """The polylines as they are."""
    ends = [np.stack([line[:-1], line[:-1], line[1:], line[1:]], axis=1) for line in lines]
    sizes = [len(part) for part in ends]
    starts = tuple(int(total) for total in np.cumsum([0, *sizes[:-1]])) if sizes else ()
    closed = tuple(bool(len(line) > 3 and (line[0] == line[-1]).all()) for line in lines)
    segments = np.concatenate(ends) if ends else np.empty((0, 4, 2))
    return Path(segments, np.ones(len(segments), dtype=np.bool_), starts, closed)


def _fit(tracks: Tracks, runs: Runs, tolerance_mm: Floats, numbers: Indices, level: int) -> _Table:
    """The pieces of some runs, which bear these numbers; rounded as they will be written."""
    # Rounded before crossings are looked for: what is written is what must not cross.
    pieces = fit_runs(runs, tolerance_mm, float(GRID_MM))
    controls = np.round(pieces.controls.real, OUTPUT_DECIMALS) + 1j * np.round(pieces.controls.imag, OUTPUT_DECIMALS)
    pieces = replace(pieces, run=numbers[pieces.run], controls=controls)
    source, until = tracks.kept[pieces.first], tracks.kept[pieces.last]
    return _Table(pieces, source, until, np.full(len(source), level))


def _uncrossed(tracks: Tracks, table: _Table, fit_mm: float, group: Indices) -> _Table:
    """The pieces with those that cross fitted again, tighter, and in the end left as they were drawn."""
    for level in range(1, len(TIGHTER) + 2):
        polylines = _polylines(tracks, table)
        bad = find_crossings(table.pieces.controls, polylines, group[tracks.line[table.pieces.run]])
        bad |= _collapsed(tracks, table)
        bad &= table.level <= len(TIGHTER)
        if not bad.any():
            break
        # Only what crosses is fitted again, within its old ends: whatever is beside it stays as it is.
        worse = table.take(bad)
        again = _edges(tracks, worse) if level > len(TIGHTER) else _again(tracks, worse, fit_mm, level)
        table = _merged(table.take(~bad), again)
    return table


def _collapsed(tracks: Tracks, table: _Table) -> Flags:
    """The pieces of closed lines that are so thin that one edge there and back keeps within the deviation."""
    line = tracks.line[table.pieces.run]
    bends = np.bincount(line, weights=~table.pieces.straight, minlength=len(tracks.closed))
    pieces = np.bincount(line, minlength=len(tracks.closed))
    flat: Flags = tracks.closed & (bends == 0) & (pieces < 3)
    return flat[line]


def _again(tracks: Tracks, table: _Table, fit_mm: float, level: int) -> _Table:
    runs, pieces = tracks.runs, table.pieces
    part = replace(
        runs,
        first=pieces.first,
        last=pieces.last,
        smooth_first=(pieces.first != runs.first[pieces.run]) | runs.smooth_first[pieces.run],
        smooth_last=(pieces.last != runs.last[pieces.run]) | runs.smooth_last[pieces.run],
    )
    return _fit(tracks, part, np.full(len(pieces.run), fit_mm * TIGHTER[level - 1]), pieces.run, level)


def _edges(tracks: Tracks, table: _Table) -> _Table:
    """Pieces as the edges that they stand for."""
    pieces = table.pieces
    count = table.until - table.source
    owner = np.repeat(np.arange(len(count)), count)
    source = table.source[owner] + np.arange(len(owner)) - (np.cumsum(count) - count)[owner]
    a, b = tracks.places[source], tracks.places[source + 1]
    a, b = (np.round(p.real, OUTPUT_DECIMALS) + 1j * np.round(p.imag, OUTPUT_DECIMALS) for p in (a, b))
    edges = Pieces(
        pieces.run[owner],
        pieces.first[owner],
        pieces.last[owner],
        np.stack([a, a, b, b], axis=1),
        np.ones(len(owner), dtype=np.bool_),
    )
    return _Table(edges, source, source + 1, np.full(len(owner), len(TIGHTER) + 1))


def _merged(one: _Table, other: _Table) -> _Table:
    joined = Pieces(
        *(np.concatenate([getattr(table.pieces, name) for table in (one, other)]) for name in Pieces.__slots__)
    )
    source, until, level = (
        np.concatenate([getattr(table, name) for table in (one, other)]) for name in ("source", "until", "level")
    )
    return _Table(joined, source, until, level).take(np.argsort(source, kind="stable"))


def _polylines(tracks: Tracks, table: _Table) -> NDArray[np.object_]:
    """What each piece stands for: every vertex from its first to its last, as lines."""
    count = table.until - table.source + 1
    owner = np.repeat(np.arange(len(count)), count)
    places = tracks.places[table.source[owner] + np.arange(len(owner)) - (np.cumsum(count) - count)[owner]]
    return np.asarray(shapely.linestrings(places.real, places.imag, indices=owner))


def _joined(tracks: Tracks, table: _Table) -> Path:
    """The pieces in the order of their lines, each closed line turned to begin at the piece's end that is nearest to
    where its polyline does: in the middle of a piece it would cost one more."""
    run = table.pieces.run
    back = tracks.reverse[run]
    count = len(run)
    order = np.lexsort((np.where(back, -np.arange(count), np.arange(count)), run))
    place = np.empty(count, dtype=np.int64)
    place[order] = np.arange(count)
    controls = np.where(back[:, None], table.pieces.controls[:, ::-1], table.pieces.controls)
    line = tracks.line[run]
    rings = np.flatnonzero(tracks.closed)
    piece = np.searchsorted(table.source, tracks.start[rings], side="right") - 1
    way = np.abs(controls[piece][:, [0, 3]] - tracks.places[tracks.start[rings], None])
    begin = np.full(len(tracks.closed), -1)
    # Behind its last piece a line begins at its first, as no piece comes then before another.
    begin[rings] = place[piece] + (way[:, 1] < way[:, 0])
    order = np.lexsort((place, place < begin[line], line))
    controls, straight = controls[order], table.pieces.straight[order]
    starts = np.searchsorted(line[order], np.arange(len(tracks.closed)))
    segments = np.stack([controls.real, controls.imag], axis=-1)
    return Path(segments, straight, tuple(starts.tolist()), tuple(tracks.closed.tolist()))
