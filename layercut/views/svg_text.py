"""Numbers, paths and names as SVG text.

Enters: regions, lines and words. Leaves: attribute values and element text. Holds: mm with at most the grid's digits
and no trailing zeros, and the same text for the same value.
"""

import itertools
import math
from collections.abc import Iterable
from functools import lru_cache
from html import escape

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Geometry, LineString

from layercut.geometry.path_text import curve_paths, curves_path, number, number_words
from layercut.geometry.precision import OUTPUT_DECIMALS
from layercut.geometry.regions import Region, polygons_of
from layercut.geometry.stroke_letters import CAP_UNITS, digit_strokes
from layercut.geometry.thinning import thinned

__all__ = [
    "curve_paths",
    "curves_path",
    "lines_path",
    "number",
    "plain",
    "region_path",
    "short_path",
    "short_paths",
    "stroke_digits",
]

DIGIT_PEN = 0.18
"""Width of the strokes of a digit, in heights of it."""


def region_path(region: Region) -> str:
    """The path data of a region, all its rings in one path for the even-odd rule; empty for an empty region."""
    polygons = polygons_of(region)
    if not polygons:
        return ""
    # One ragged array for all rings: foliage has thousands of them, and a call for each would cost most of the time.
    _, points, (ring_ends, _) = shapely.to_ragged_array(np.array(polygons, dtype=object))
    words = number_words(points)
    ends = (2 * ring_ends).tolist()
    # A ring's last point repeats its first, which `Z` says already.
    return "".join(f"M{' '.join(words[a : b - 2])}Z" for a, b in itertools.pairwise(ends))


def lines_path(lines: Iterable[LineString]) -> str:
    """The path data of any number of open or closed lines; empty for none."""
    points, line = shapely.get_coordinates(np.array(list(lines), dtype=object), return_index=True)
    words = number_words(points)
    ends = [0, *(2 * (np.flatnonzero(np.diff(line)) + 1)).tolist(), len(words)]
    return "".join(f"M{' '.join(words[a:b])}" for a, b in itertools.pairwise(ends) if a < b)


def short_path(shapes: Iterable[Geometry], step_mm: float) -> str:
    """The path data of regions and lines for a picture, all in one. Empty for none."""
    return "".join(short_paths(shapes, step_mm))


def short_paths(shapes: Iterable[Geometry], step_mm: float) -> list[str]:
    """The path data of each of many regions and lines for a picture: without detail finer than `step_mm`, in as few
    letters as it takes.

    Steps from point to point are shorter to write than places, and many are alike.
    """
    coarse = thinned(np.array(list(shapes), dtype=object), step_mm)
    lines, owner = _lines(coarse)
    points, line = shapely.get_coordinates(lines, return_index=True)
    if not len(points):
        return [""] * len(coarse)
    digits = max(0, min(OUTPUT_DECIMALS, math.ceil(-math.log10(step_mm))))
    places = np.rint(points * 10**digits).astype(np.int64)
    starts = np.flatnonzero(np.diff(line, prepend=-1))
    ends = np.append(starts[1:], len(points)) - 1
    moves = np.diff(places, axis=0, prepend=0)
    moves[starts] = places[starts]
    # Each different step is made text once: foliage has hundreds of thousands of steps, but few hundreds of kinds.
    values, which = np.unique(moves, return_inverse=True)
    words = np.array([_shortest(value, digits) for value in values.tolist()], dtype=object)[which].reshape(-1, 2)
    # A line begins with a place (M), then come steps (l, said once), and a closed one's last step is left to z.
    seconds = starts[ends > starts] + 1
    words[starts, 0] = ["M" + word.removeprefix(" ") for word in words[starts, 0]]
    words[seconds, 0] = ["l" + word.removeprefix(" ") for word in words[seconds, 0]]
    words[ends[(places[starts] == places[ends]).all(axis=1) & (ends > starts + 1)]] = ("z", "")
    edges = 2 * np.searchsorted(owner[line], np.arange(len(coarse) + 1))
    texts = words.ravel().tolist()
    return ["".join(texts[a:b]) for a, b in itertools.pairwise(edges.tolist())]


@lru_cache(maxsize=1 << 16)
def _shortest(value: int, digits: int) -> str:
    """A number of steps of 10^-digits as text, parted from what stands before it."""
    text = f"{abs(value) / 10**digits:.{digits}f}"
    text = text.rstrip("0").rstrip(".") if digits else text
    return ("-" if value < 0 else " ") + (text.removeprefix("0") or "0")


def _lines(shapes: NDArray[np.object_]) -> tuple[NDArray[np.object_], NDArray[np.int64]]:
    """The rings of regions, and lines as they are, in order, and of which shape each is."""
    parts, shape = shapely.get_parts(shapes, return_index=True)
    polygonal = shapely.get_type_id(parts) == shapely.GeometryType.POLYGON
    rings, polygon = shapely.get_rings(parts[polygonal], return_index=True)
    part = np.concatenate([np.flatnonzero(polygonal)[polygon], np.flatnonzero(~polygonal)])
    order = np.argsort(part, kind="stable")
    return np.concatenate([rings, parts[~polygonal]])[order], shape[part[order]]


def stroke_digits(value: int, height_mm: float) -> str:
    """A whole number as strokes around the origin, `height_mm` high, in the stroke colour of the group around it: so
    a picture needs no font, and is the same everywhere."""
    strokes = digit_strokes(str(value))
    steps = CAP_UNITS  # whole numbers of the letters' own units
    path = "".join("M" + " ".join(f"{number(x * steps)} {number(y * steps)}" for x, y in line) for line in strokes)
    look = f'fill="none" stroke-width="{number(DIGIT_PEN * steps)}" stroke-linecap="round" stroke-linejoin="round"'
    return f'<g transform="scale({number(height_mm / steps)})" {look}><path d="{path}"/></g>'


def plain(text: str) -> str:
    """Text for an element or a quoted attribute: escaped, without the characters that XML 1.0 forbids."""
    return escape("".join(char for char in text if char.isprintable()), quote=True)
