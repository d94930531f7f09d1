"""Where a coat is opaque enough to be wood.

Enters: a `Coat`. Leaves: the part of its region in which its own opacity, that of the groups around it and what
their masks let through come, multiplied, to at least so much.
"""

import itertools
import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray

from layercut.colour.bands import value_bands
from layercut.colour.coats import Coat, Mask
from layercut.colour.folding import constant_value
from layercut.colour.sampling import LUMINANCE, mask_values
from layercut.colour.washes import GradedWash, Stop, Wash
from layercut.geometry.level import level_region
from layercut.geometry.regions import EMPTY, Region, as_region, union

FloatArray = NDArray[np.float64]

_SLACK = 1e-9
"""Opacities are products; one that falls short by its last digits still counts."""


@dataclass(frozen=True, slots=True)
class _Field:
    """Something that lets through more here and less there: washes of which the opacity or the luminance counts."""

    washes: tuple[Wash, ...]
    by: str

    def values(self, points: FloatArray) -> FloatArray:
        return mask_values(self.washes, self.by, points)


@dataclass(frozen=True, slots=True)
class _Piece:
    """A part of a coat's region, None for all of it: an even opacity, and fields to multiply it with."""

    region: Region | None
    opacity: float
    fields: tuple[_Field, ...] = ()


def shown_region(coat: Coat, least: float) -> Region:
    """The part of a coat that is at least so opaque; the very same region where all of it is, else often empty."""
    least -= _SLACK
    pieces = [_piece_of(coat)]
    for veil in coat.veils:
        if veil.mask is not None:
            pieces = [piece for one in pieces for piece in _masked(one, veil.mask)]
    kept = []
    for piece in pieces:
        part = _kept(piece, least, coat.region)
        if part is None:
            return coat.region
        kept.append(part)
    shown = [part for part in kept if not part.is_empty]
    if not shown:
        return EMPTY
    region = as_region(shapely.intersection(coat.region, union(shown)))
    return coat.region if region.area >= coat.region.area * (1 - 1e-9) else region


def most_opaque(coat: Coat) -> float:
    """The most that a coat's opacity can come to anywhere, masks left aside."""
    most = coat.wash.opacity * math.prod(veil.opacity for veil in coat.veils)
    if isinstance(coat.wash, GradedWash):
        most *= max(stop.opacity for stop in coat.wash.gradient.stops)
    return most


def is_even(wash: Wash) -> bool:
    """True when a wash is equally opaque everywhere."""
    return not isinstance(wash, GradedWash) or len({stop.opacity for stop in wash.gradient.stops}) == 1


def _piece_of(coat: Coat) -> _Piece:
    opacity = coat.wash.opacity * math.prod(veil.opacity for veil in coat.veils)
    if not isinstance(coat.wash, GradedWash):
        return _Piece(None, opacity)
    if is_even(coat.wash):
        return _Piece(None, opacity * coat.wash.gradient.stops[0].opacity)
    return _Piece(None, opacity, (_Field((replace(coat.wash, opacity=1.0),), "alpha"),))


def _masked(piece: _Piece, mask: Mask) -> Iterator[_Piece]:
    """A piece in the parts of a mask."""
    for region, washes in mask.parts:
        shared = region if piece.region is None else as_region(shapely.intersection(region, piece.region))
        if shared.is_empty:
            continue
        value = constant_value(washes, mask.by)
        if value is not None:
            yield _Piece(shared, piece.opacity * value, piece.fields)
        else:
            yield _Piece(shared, piece.opacity, (*piece.fields, _Field(washes, mask.by)))


def _kept(piece: _Piece, least: float, region: Region) -> Region | None:
    """The part of a piece that is opaque enough; None where that is everywhere."""
    if piece.opacity < least:
        return EMPTY
    if not piece.fields:
        return piece.region
    box = region.bounds if piece.region is None else as_region(shapely.intersection(region, piece.region)).bounds
    if not all(map(math.isfinite, box)):
        return EMPTY
    bands = _by_bands(piece.fields, least / piece.opacity, box)
    if bands is None:
        bands = level_region(_product(piece.fields), box, least / piece.opacity)
    return bands if piece.region is None else as_region(shapely.intersection(bands, piece.region))


def _by_bands(fields: Sequence[_Field], least: float, box: tuple[float, float, float, float]) -> Region | None:
    """The exact region where the one field is a gradient whose values run straight between its stops; else None."""
    if len(fields) != 1 or len(fields[0].washes) != 1:
        return None
    (field,), (wash,) = fields, fields[0].washes
    if not isinstance(wash, GradedWash):
        return None
    stops = wash.gradient.stops
    if field.by != "alpha" and not all(_runs_straight(*pair) for pair in itertools.pairwise(stops)):
        return None
    weights = [1.0 if field.by == "alpha" else float(LUMINANCE @ stop.colour) for stop in stops]
    values = [weight * stop.opacity * wash.opacity for weight, stop in zip(weights, stops, strict=True)]
    return value_bands(wash.gradient, values, least, box)


def _runs_straight(one: Stop, other: Stop) -> bool:
    return one.colour == other.colour or one.opacity == other.opacity


def _product(fields: Sequence[_Field]) -> Callable[[FloatArray], FloatArray]:
    return lambda points: np.prod([field.values(points) for field in fields], axis=0)
