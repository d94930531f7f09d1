"""Mixes of the maker's own paints: two or three of them, in whole drops, that come nearer to a colour than any alone.

Enters: the own paints, and colours. Leaves: `OwnMix`, or None where no mix is worth the trouble. Holds: drops are
whole and few, a mix's colour is a prediction, and its difference is that of the colour told.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
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

AT_ONCE = 2000
"""So many sets of paints are mixed at once: what that takes stays near the processor."""

PER_LSTAR = 0xFFFF / 100
"""Lightness is kept in so many parts of a step of L*."""

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class _Mixes:
    """The paints that are mixed and their K/S (n, 36); and all mixes in the order of their lightness, in 65,536ths of
    white: that, L*, a*, b* (m, 3), and the place of each among all `blocks` one after the other. A block is a split
    of drops and sets of paints (k, 2 or 3) that are so mixed; `starts` is where each begins."""

    names: tuple[tuple[str, str], ...]
    absorption: FloatArray
    light: NDArray[np.uint16]
    labs: NDArray[np.float32]
    places: NDArray[np.int64]
    blocks: tuple[tuple[tuple[int, ...], NDArray[np.uint8]], ...]
    starts: NDArray[np.int64]

    def split(self, place: int) -> list[tuple[int, int]]:
        """What a mix is made of: paints by their places, and how many drops of each, the most first."""
        at = int(self.places[place])
        block = int(np.searchsorted(self.starts, at, "right")) - 1
        drops, sets = self.blocks[block]
        paints = sets[at - int(self.starts[block])].tolist()
        return sorted(zip(paints, drops, strict=True), key=lambda part: (-part[1], part[0]))

    def told(self, split: Sequence[tuple[int, int]]) -> tuple[Drops, ...]:
        """The same, by the paints' names."""
        return tuple(Drops(self.names[paint][0], self.names[paint][1], drops) for paint, drops in split)

    def colours(self, splits: Sequence[Sequence[tuple[int, int]]]) -> list[str]:
        """The colours of some mixes."""
        weights = np.zeros((len(splits), len(self.names)))
        for row, split in enumerate(splits):
            for paint, drops in split:
                weights[row, paint] = drops / sum(some for _, some in split)
        return colours_of(weights @ self.absorption)


class Mixer:
    """Mixes the own paints; nothing is reckoned before it is asked for."""

    def __init__(self, own: OwnPaints) -> None:
        """Take the paints."""
        self._paints = _spread(own.paints)
        self._mixes: _Mixes | None = None

    def best(self, colour: str, nearest: float) -> OwnMix | None:
        """The mix that differs least from a colour; None where it isn't nearer by `WORTH` than the nearest paint,
        which differs by `nearest`. Of equal ones that of fewer paints, then of fewer drops."""
        limit = nearest - WORTH
        if limit < 0 or len(self._paints) < 2:
            return None
        if self._mixes is None:
            self._mixes = _mix_all(self._paints)
        wanted = lab_of([colour])[0]
        # What is nearer than the best so far can't be further off in lightness than so much.
        reach = min(FIRST_REACH, STEEPEST * limit)
        while True:
            found = _nearest(self._mixes, wanted, *_between(self._mixes.light, wanted[0] - reach, wanted[0] + reach))
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
    splits = [mixes.split(int(low + place)) for place in np.argpartition(rough, count - 1)[:count]]
    colours = mixes.colours(splits)
    exact = difference(wanted, lab_of(colours))
    drops = [sum(part for _, part in split) for split in splits]
    ranks = [(round(float(exact[k]), 2), len(split), drops[k], split) for k, split in enumerate(splits)]
    first = min(range(count), key=ranks.__getitem__)
    return OwnMix(mixes.told(splits[first]), colours[first], float(exact[first]))


def _between(light: NDArray[np.uint16], low: float, high: float) -> tuple[int, int]:
    """The places of all mixes that are so light, and of some that are hardly not."""
    ends = np.clip([np.floor(low * PER_LSTAR), np.ceil(high * PER_LSTAR)], 0, 0xFFFF).astype(np.uint16)
    return int(np.searchsorted(light, ends[0], "left")), int(np.searchsorted(light, ends[1], "right"))


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
    labs, blocks = [], []
    for size in (2, 3):
        sets = np.array(list(combinations(range(len(paints)), size)), dtype=np.uint8).reshape(-1, size)
        for some in (sets[begin : begin + AT_ONCE] for begin in range(0, len(sets), AT_ONCE)):
            of_each = [single[some[:, place]] for place in range(size)]
            for split in _splits(size):
                labs.append(_mixed_labs(of_each, split))
                blocks.append((split, some))
    every = np.concatenate(labs)
    light = np.clip(np.rint(every[:, 0] * PER_LSTAR), 0, 0xFFFF).astype(np.uint16)
    order = np.argsort(light, kind="stable")  # whole numbers are sorted ten times as quickly
    starts = np.cumsum([0, *(len(some) for _, some in blocks[:-1])])
    return _Mixes(paints, absorption, light[order], every[order], order, tuple(blocks), starts)


def _mixed_labs(of_each: Sequence[NDArray[np.float32]], split: Sequence[int]) -> NDArray[np.float32]:
    """L*, a*, b* of sets of paints (k, 36) each, in one split of drops: (k, 3)."""
    mixed = of_each[0] * np.float32(split[0] / sum(split))
    for one, drops in zip(of_each[1:], split[1:], strict=True):
        mixed += one * np.float32(drops / sum(split))
    return lab_of_linear(mixed_linear(mixed)).astype(np.float32, copy=False)


@cache
def _splits(size: int) -> list[tuple[int, ...]]:
    """All ways to take drops of so many paints, at least one of each, without a common divisor."""
    counts = range(1, MOST_DROPS)
    some = product(counts, repeat=size)
    return [split for split in some if sum(split) <= MOST_DROPS and gcd(*split) == 1]
