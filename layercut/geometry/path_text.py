"""Numbers and curves as the data of an SVG path.

Enters: mm. Leaves: text, with at most the grid's digits and no trailing zeros, the same for the same value.
"""

from collections.abc import Sequence
from typing import cast

import numpy as np
from numpy.typing import NDArray

from layercut.geometry.curves import Path
from layercut.geometry.precision import OUTPUT_DECIMALS


def number(value: float) -> str:
    """A number with the grid's digits and no trailing zeros."""
    text = f"{value:.{OUTPUT_DECIMALS}f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


_UNIT = 10**OUTPUT_DECIMALS
_PARTS = np.array([number(part / _UNIT).removeprefix("0") for part in range(_UNIT)], dtype=object)
"""What stands behind the whole of a number: nothing, `.001`, and so on."""


def number_words(points: NDArray[np.float64]) -> list[str]:
    """The numbers of points of shape (n, 2), 2n words. As `number`, but from tables, four times as quick."""
    steps = np.rint(points.ravel() * _UNIT).astype(np.int64)
    if not len(steps):
        return []
    whole, part = np.divmod(np.abs(steps), _UNIT)
    wholes = np.array([str(value) for value in range(int(whole.max()) + 1)], dtype=object)
    words = wholes[whole] + _PARTS[part]
    below = steps < 0
    words[below] = "-" + words[below]
    return cast(list[str], words.tolist())


def curves_path(paths: Sequence[Path]) -> str:
    """The path data of any number of curves, each of one subpath; empty for none."""
    return "".join(curve_paths(paths))


def curve_paths(paths: Sequence[Path]) -> list[str]:
    """The path data of each of some curves of one subpath. All at once, for a table of numbers is made first."""
    words = number_words(np.concatenate([np.empty((0, 2)), *(path.segments.reshape(-1, 2) for path in paths)]))
    ends = np.cumsum([8 * len(path.segments) for path in paths]).tolist()
    return [_contour(path, words[begin:end]) for path, begin, end in zip(paths, [0, *ends], ends, strict=False)]


def _contour(path: Path, words: list[str]) -> str:
    """The data of one subpath from the numbers of its segments, eight each. The last line of a closed one is left to
    its Z."""
    straight, closed = path.straight.tolist(), path.closed[0]
    last = len(straight) - (closed and straight[-1] and len(straight) > 1)
    # A line needs its end alone, a curve its handles too: of a segment's numbers the last two, or six.
    steps = (
        f"L{words[at + 6]} {words[at + 7]}" if line else f"C{' '.join(words[at + 2 : at + 8])}"
        for at, line in zip(range(0, 8 * last, 8), straight, strict=False)
    )
    return f"M{words[0]} {words[1]}{''.join(steps)}{'Z' if closed else ''}"
