"""Curves of earlier readings, for whoever reads a drawing again after each save.

Enters: path data and placed paths. Leaves: what `parse_path` and `flatten` give for them, made once. Holds: a cache
belongs to whoever made it; nothing outlives a reading that was handed none.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import chain

import numpy as np
from numpy.typing import NDArray

from layercut.drawing.pathdata import parse_path
from layercut.geometry.curves import FloatArray, Path, Polyline, flatten

KEPT_PATHS, KEPT_LENGTH = 4096, 20_000
"""Paths that are kept, and the longest of them in letters: those of a drawing that anybody draws by hand."""

KEPT_BATCHES = 64
"""Batches whose polylines are kept for the next reading of the same drawing."""

Lines = tuple[Polyline, ...]


@dataclass(frozen=True, slots=True)
class _Batch:
    """Placed paths to be flattened. `key` is all that their polylines depend on, and alone tells batches apart."""

    key: tuple[object, ...]
    paths: Sequence[Path] = field(compare=False)
    placed: FloatArray = field(compare=False)
    counts: NDArray[np.int64] = field(compare=False)


def _parse(text: str) -> tuple[Path, bool]:
    path, good = parse_path(text)
    path.segments.flags.writeable = path.straight.flags.writeable = False  # it is everybody's now
    return path, good


def _flatten(batch: _Batch) -> list[Lines]:
    lines = flatten(batch.paths, batch.placed, batch.counts)
    for line in chain.from_iterable(lines):
        line.points.flags.writeable = line.nodes.flags.writeable = False
    return lines


@dataclass(frozen=True, slots=True)
class CurveCache:
    """Keeps the paths and polylines that were asked for last."""

    _parsed: Callable[[str], tuple[Path, bool]] = field(default_factory=lambda: lru_cache(KEPT_PATHS)(_parse))
    _flattened: Callable[[_Batch], list[Lines]] = field(default_factory=lambda: lru_cache(KEPT_BATCHES)(_flatten))

    def parse(self, text: str) -> tuple[Path, bool]:
        """As `parse_path`: symbols are used many times over, and from save to save most paths stay as they are."""
        return self._parsed(text) if len(text) <= KEPT_LENGTH else parse_path(text)

    def flatten(self, paths: Sequence[Path], placed: FloatArray, counts: NDArray[np.int64]) -> list[Lines]:
        """As `flatten`: a drawing that is read again after a save has most of its batches as before."""
        forms = [(path.straight.tobytes(), path.starts, path.closed) for path in paths]
        return self._flattened(_Batch((placed.tobytes(), *forms), paths, placed, counts))
