"""Path data, as far as the outside contract goes: absolute moves, lines, cubic curves and closings.

Enters: the `d` of a path. Leaves: its contours as points. Holds: what isn't wholly of that grammar is refused, never
read in part.
"""

import re
from collections.abc import Iterator
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
    r"(?:\s*+Z)?+)++\s*+"
)
_RUN = re.compile(r"[ML][^MCZ]*+|C[^MLZ]*+|Z")
_LETTERS = str.maketrans("MLC,", "    ")


@dataclass(frozen=True, slots=True)
class Contour:
    """Points along a contour, (n, 2), mm; a closed one ends where it began."""

    points: Points
    closed: bool


def read_path(data: str) -> tuple[Contour, ...]:
    """The contours of a path. Raises ValueError, with the reason, for what isn't of the grammar or leads nowhere."""
    if _PATH.fullmatch(data) is None:
        raise ValueError(f"a path '{data[:40]}' that isn't made of M, L, C and Z with their coordinates")
    return tuple(_contours(data))


def _contours(data: str) -> Iterator[Contour]:
    parts: list[Points] = []
    for run in _RUN.findall(data):
        letter = run[0]
        if letter == "Z":
            yield _contour(parts, closed=True)
            parts = []
            continue
        points = np.array(run.translate(_LETTERS).split(), dtype=np.float64).reshape(-1, 2)
        if not (np.abs(points) <= FARTHEST_MM).all():
            raise ValueError("a coordinate that is no place on a sheet")
        if letter == "M" and parts:
            yield _contour(parts, closed=False)
            parts = []
        parts.append(flatten_cubics(parts[-1][-1], points) if letter == "C" else points)
    if parts:
        yield _contour(parts, closed=False)


def _contour(parts: list[Points], *, closed: bool) -> Contour:
    points = np.concatenate(parts)
    if closed and (points[0] != points[-1]).any():
        points = np.vstack([points, points[:1]])
    return Contour(points, closed)


def flatten_cubics(start: Points, controls: Points) -> Points:
    """The points along cubics that follow each other, without `start`, (2,); `controls` is (3 n, 2).

    Chords of equal parameter steps h stay within h^2 / 8 times the largest second derivative, which the second
    differences of the control points bound (Farin, "Curves and Surfaces for CAGD", on the convex hull property).
    """
    ends = np.vstack([start[None], controls[2::3]])
    points = np.stack([ends[:-1], controls[0::3], controls[1::3], controls[2::3]], axis=1)
    bends = np.hypot(*np.moveaxis(np.diff(points, n=2, axis=1), 2, 0)).max(axis=1)
    steps = np.maximum(np.ceil(np.sqrt(6 * bends / (8 * FLAT_MM))), 1).astype(np.int64)
    first = np.cumsum(steps) - steps
    t = ((np.arange(int(steps.sum())) - np.repeat(first, steps) + 1) / np.repeat(steps, steps))[:, None]
    p0, p1, p2, p3 = (np.repeat(points[:, k], steps, axis=0) for k in range(4))
    return np.asarray((1 - t) ** 3 * p0 + 3 * (1 - t) ** 2 * t * p1 + 3 * (1 - t) * t**2 * p2 + t**3 * p3)
