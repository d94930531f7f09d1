"""Path data, as far as the outside contract goes: absolute moves, lines, cubic curves and closings.

Enters: the `d` of paths. Leaves: their contours as points. Holds: what isn't wholly of that grammar is refused, never
read in part. All paths of a sheet are read together, as arrays: foliage has thousands of them.
"""

import itertools
import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Points = NDArray[np.float64]

FLAT_MM = 0.001
"""Largest distance between a cubic and the chords that stand for it, mm: the last digit written."""

FARTHEST_MM = 1e6
"""A coordinate beyond a kilometre is no place on a sheet, mm."""

_NUMBER = r"[-+]?+(?:\d++(?:\.\d*+)?+|\.\d++)(?:[eE][-+]?+\d++)?+"
_GAP = r"[\s,]++"
_PAIR = rf"\s*+{_NUMBER}{_GAP}{_NUMBER}"
_THREE = rf"{_PAIR}(?:{_GAP}{_NUMBER}{_GAP}{_NUMBER}){{2}}+"
# Possessive throughout: a path of a megabyte is matched, or refused, in one pass.
_PATH = re.compile(
    rf"(?:\s*+M{_PAIR}(?:{_GAP}{_NUMBER}{_GAP}{_NUMBER})*+"
    rf"(?:\s*+(?:L{_PAIR}(?:{_GAP}{_NUMBER}{_GAP}{_NUMBER})*+|C{_THREE}(?:{_GAP}{_NUMBER}(?:{_GAP}{_NUMBER}){{5}}+)*+))*+"
    r"(?:\s*+Z)?+)++\s*+",
    re.ASCII,
)
_LETTERS = str.maketrans({"M": " nan 0 ", "L": " nan 1 ", "C": " nan 2 ", "Z": " nan 3 ", ",": " "})
"""Letters as numbers, each announced by what no number of a path can be."""
_MOVE, _CURVE, _CLOSE = 0, 2, 3


@dataclass(frozen=True, slots=True)
class Contour:
    """Points along a contour, (n, 2), mm; a closed one ends where it began."""

    points: Points
    closed: bool


def read_path(data: str) -> tuple[Contour, ...]:
    """The contours of a path. Raises ValueError, with the reason, for what isn't of the grammar or leads nowhere."""
    return read_paths([data])[0]


def read_paths(data: Sequence[str]) -> list[tuple[Contour, ...]]:
    """The contours of each path. Raises ValueError as `read_path` does."""
    for path in data:
        if _PATH.fullmatch(path) is None:
            raise ValueError(f"a path '{path[:40]}' that isn't made of M, L, C and Z with their coordinates")
    if not data:
        return []
    contours = _contours("".join(data))
    ends = list(itertools.accumulate((path.count("M") for path in data), initial=0))
    return [tuple(contours[start:end]) for start, end in itertools.pairwise(ends)]


def _contours(data: str) -> list[Contour]:
    """The contours of path data that is known to be of the grammar."""
    numbers = np.fromstring(data.translate(_LETTERS), sep=" ")
    marks = np.flatnonzero(np.isnan(numbers))
    letters = numbers[marks + 1].astype(np.int64)
    pairs = (np.diff(marks, append=len(numbers)) - 2) // 2  # how many points follow each letter
    points = np.delete(numbers, np.concatenate((marks, marks + 1))).reshape(-1, 2)
    if not (np.abs(points) <= FARTHEST_MM).all():
        raise ValueError("a coordinate that is no place on a sheet")
    first = np.cumsum(pairs) - pairs
    in_curve = np.repeat(letters == _CURVE, pairs)
    place = np.arange(len(points)) - np.repeat(first, pairs)
    last_controls = np.flatnonzero(in_curve & (place % 3 == 2))
    # Each point but the two in the middle of a cubic ends a line or a cubic, which begins at the point before it.
    flat, steps = _with_chords(points, last_controls)
    moves = np.flatnonzero(letters == _MOVE)
    starts = (np.cumsum(steps) - steps)[first[moves]].tolist()
    closed = letters[np.append(moves[1:], len(letters)) - 1] == _CLOSE
    return [
        _contour(flat[start:end], closed=bool(shut))
        for (start, end), shut in zip(itertools.pairwise([*starts, len(flat)]), closed, strict=True)
    ]


def _contour(points: Points, *, closed: bool) -> Contour:
    if closed and (points[0] != points[-1]).any():
        points = np.vstack([points, points[:1]])
    return Contour(points, closed)


def _with_chords(points: Points, ends: NDArray[np.int64]) -> tuple[Points, NDArray[np.int64]]:
    """The points with chords in place of the cubics that end at `ends`, and how many points each has become."""
    chords, count = flatten_cubics(points[ends[:, None] + np.arange(-3, 1)])
    steps = np.ones(len(points), dtype=np.int64)
    steps[ends - 2] = steps[ends - 1] = 0
    steps[ends] = count
    curved = np.zeros(len(points), dtype=bool)
    curved[ends] = True
    flat = np.repeat(points, steps, axis=0)
    flat[np.repeat(curved, steps)] = chords
    return flat, steps


def flatten_cubics(cubics: Points) -> tuple[Points, NDArray[np.int64]]:
    """The points along cubics, (n, 4, 2), without the first point of each, and how many each has.

    Chords of equal parameter steps h stay within h^2 / 8 times the largest second derivative, which the second
    differences of the control points bound (Farin, "Curves and Surfaces for CAGD", on the convex hull property).
    """
    bends = np.hypot(*np.moveaxis(np.diff(cubics, n=2, axis=1), 2, 0)).max(axis=1)
    steps = np.maximum(np.ceil(np.sqrt(6 * bends / (8 * FLAT_MM))), 1).astype(np.int64)
    first = np.cumsum(steps) - steps
    t = ((np.arange(int(steps.sum())) - np.repeat(first, steps) + 1) / np.repeat(steps, steps))[:, None]
    p0, p1, p2, p3 = (np.repeat(cubics[:, k], steps, axis=0) for k in range(4))
    return np.asarray((1 - t) ** 3 * p0 + 3 * (1 - t) ** 2 * t * p1 + 3 * (1 - t) * t**2 * p2 + t**3 * p3), steps
