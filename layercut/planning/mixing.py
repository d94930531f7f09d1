"""Mixes of the maker's own paints: two or three of them, in whole drops, that come nearer to a colour than any alone.

Enters: the own paints, and colours. Leaves: `OwnMix`, or None where no mix is worth the trouble. Holds: drops are
whole and few, a mix's colour is a prediction, and its difference is that of the colour told.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations, product
from math import gcd

import numpy as np
from numpy.typing import NDArray

from layercut.colour.cielab import difference, lab_of, lab_of_linear, linear_of
from layercut.colour.merging import STEEPEST
from layercut.colour.reflectance import absorbed, colours_of, mixed_linear, reflectances
from layercut.planning.own_paints import OwnPaints
from layercut.workplan import Drops, OwnMix

MOST_DROPS = 8
"""Drops in a mix at most: more are not counted twice the same (own choice)."""

WORTH = 1.0
"""A mix must come nearer than the nearest paint by so much (CIEDE2000): about what an eye sees side by side."""

MOST_MIXED = 60
"""Of a longer list so many paints, spread over all colours, are mixed: three of 60 make 34,220 sets."""

FIRST_REACH = 2.5
"""How far from the wanted lightness the search begins, in L*."""

CANDIDATES = 64
"""So many mixes, the nearest by distances weighed as at the wanted colour, are compared exactly."""

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class _Mixes:
    """The paints that are mixed and their K/S (n, 36), and all mixes in the order of their lightness: L*, a*, b*
    (m, 3), which paints (m, 3) and how many drops of each (m, 3), 0 of the third where there are two."""

    names: tuple[tuple[str, str], ...]
    absorption: FloatArray
    labs: NDArray[np.float32]
    paints: NDArray[np.uint8]
    drops: NDArray[np.uint8]

    def colours(self, some: NDArray[np.int64]) -> list[str]:
        """The colours of some mixes."""
        parts = self.absorption[self.paints[some]] * self.drops[some][:, :, None]
        return colours_of(parts.sum(axis=1) / self.drops[some].sum(axis=1)[:, None])

    def parts(self, place: int) -> tuple[Drops, ...]:
        """What a mix is made of, that of which most is taken first."""
        paints, drops = self.paints[place].tolist(), self.drops[place].tolist()
        parts = [
            Drops(self.names[paint][0], self.names[paint][1], count)
            for paint, count in zip(paints, drops, strict=True)
            if count
        ]
        return tuple(sorted(parts, key=lambda part: -part.drops))


class Mixer:
    """Mixes the own paints; nothing is reckoned before it is asked for."""

    def __init__(self, own: OwnPaints) -> None:
        """Take the paints."""
        self._own = own
        self._mixes: _Mixes | None = None

    def best(self, colour: str, nearest: float) -> OwnMix | None:
        """The mix that differs least from a colour; None where it isn't nearer by `WORTH` than the nearest paint,
        which differs by `nearest`. Of equal ones that of fewer paints, then of fewer drops."""
        limit = nearest - WORTH
        if limit < 0 or len(self._own.paints) < 2:
            return None
        if self._mixes is None:
            self._mixes = _mix_all(_spread(self._own.paints))
        wanted, light = lab_of([colour])[0], self._mixes.labs[:, 0]
        # What is nearer than the best so far can't be further off in lightness than so much.
        reach = min(FIRST_REACH, STEEPEST * limit)
        while True:
            low, high = np.searchsorted(light, np.array([wanted[0] - reach, wanted[0] + reach], dtype=np.float32))
            found = _nearest(self._mixes, wanted, int(low), int(high))
            needed = STEEPEST * (min(limit, found.difference) if found else limit)
            if reach >= needed:
                return found if found and found.difference <= limit else None
            reach = needed


def _nearest(mixes: _Mixes, wanted: FloatArray, low: int, high: int) -> OwnMix | None:
    """The best of the mixes from one place to another."""
    if high <= low:
        return None
    off = mixes.labs[low:high] - wanted.astype(np.float32)
    chroma = max(float(np.hypot(wanted[1], wanted[2])), 1e-6)
    along = (off[:, 1] * np.float32(wanted[1] / chroma) + off[:, 2] * np.float32(wanted[2] / chroma)) ** 2
    rough = off[:, 0] ** 2 + along / np.float32((1 + 0.045 * chroma) ** 2)
    rough += (off[:, 1] ** 2 + off[:, 2] ** 2 - along) / np.float32((1 + 0.015 * chroma) ** 2)
    count = min(CANDIDATES, len(rough))
    some = low + np.argpartition(rough, count - 1)[:count]
    colours = mixes.colours(some)
    exact = difference(wanted, lab_of(colours))
    used = mixes.drops[some]
    rank = np.lexsort((some, used.sum(axis=1), (used > 0).sum(axis=1), exact.round(2)))
    first = int(rank[0])
    return OwnMix(mixes.parts(int(some[first])), colours[first], float(exact[first]))


def _spread(paints: tuple[tuple[str, str], ...]) -> tuple[tuple[str, str], ...]:
    """All paints of different colours; of more than can be mixed those that lie furthest apart."""
    alone = tuple({colour: (name, colour) for name, colour in reversed(paints)}.values())[::-1]
    if len(alone) <= MOST_MIXED:
        return alone
    labs = lab_of([colour for _, colour in alone])
    chosen = [int(labs[:, 0].argmax())]
    apart = np.linalg.norm(labs - labs[chosen[0]], axis=1)
    while len(chosen) < MOST_MIXED:
        chosen.append(int(apart.argmax()))
        apart = np.minimum(apart, np.linalg.norm(labs - labs[chosen[-1]], axis=1))
    return tuple(alone[place] for place in sorted(chosen))


def _mix_all(paints: tuple[tuple[str, str], ...]) -> _Mixes:
    """Every mix of two or three of the paints in the fewest drops that make it."""
    absorption = absorbed(reflectances(linear_of([colour for _, colour in paints])))
    single = absorption.astype(np.float32)
    labs, used, drops = [], [], []
    for size in (2, 3):
        sets = np.array(list(combinations(range(len(paints)), size)), dtype=np.uint8).reshape(-1, size)
        of_each = [single[sets[:, place]] for place in range(size)]
        for split in _splits(size):
            total = np.float32(sum(split))
            both = sum(one * np.float32(part / total) for one, part in zip(of_each, split, strict=True))
            labs.append(lab_of_linear(mixed_linear(np.asarray(both))))
            padded = np.zeros((len(sets), 3), dtype=np.uint8)
            padded[:, :size] = sets
            used.append(padded)
            drops.append(np.tile(np.array([*split, 0][:3], dtype=np.uint8), (len(sets), 1)))
    every = np.concatenate(labs).astype(np.float32)
    order = np.argsort(every[:, 0], kind="stable")
    return _Mixes(paints, absorption, every[order], np.concatenate(used)[order], np.concatenate(drops)[order])


def _splits(size: int) -> list[tuple[int, ...]]:
    """All ways to take drops of so many paints, at least one of each, without a common divisor."""
    counts = range(1, MOST_DROPS)
    some = product(counts, repeat=size)
    return [split for split in some if sum(split) <= MOST_DROPS and gcd(*split) == 1]


def mixed_colour(parts: Sequence[Drops]) -> str:
    """The colour `#rrggbb` that drops of some paints come to (colour/reflectance.py)."""
    parts = sorted(parts, key=lambda part: (part.colour, part.drops))
    counts = np.array([part.drops for part in parts], dtype=float)
    absorption = absorbed(reflectances(linear_of([part.colour for part in parts])))
    return colours_of((counts @ absorption / counts.sum())[None])[0]
