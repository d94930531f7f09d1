"""Setting type: letters to outlines, side by side.

Enters: `Letter`s. Leaves: `Glyph`s, path geometry in the text's user units, each at its place (SVG 2, 11.5). Two
setters know how wide a letter is and what it looks like: one with a font's outlines, one with single strokes.
"""

import math
import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np

from layercut.drawing.lettering.letters import Letter
from layercut.drawing.transforms import compose
from layercut.drawing.units import parse_length
from layercut.geometry.curves import Affine, Path, PathBuilder, map_points


@dataclass(frozen=True, slots=True)
class Cluster:
    """What one or more letters come out as: outlines as seen from the pen, y down, and how far the pen moves on.

    `first` is the index of the first letter in the run.
    """

    first: int
    path: Path
    advance: float


@dataclass(frozen=True, slots=True)
class Glyph:
    """A cluster at its place: a path, its map to the text's user space, and the letter that it begins with."""

    path: Path
    matrix: Affine
    letter: Letter


class Setter(Protocol):
    """Turns letters into clusters in the order in which they stand, left to right."""

    def set(self, letters: Sequence[Letter]) -> list[Cluster]:
        """The clusters of letters that follow each other; every letter belongs to one."""


class MixedDirectionsError(Exception):
    """Text runs both ways, or runs to the left in pieces; that needs more than setting letter after letter."""


def set_type(letters: Sequence[Letter], setter: Setter) -> list[Glyph]:
    """All letters at their places. Empty for none.

    Raises MixedDirectionsError.
    """
    pen = (0.0, 0.0)
    glyphs: list[Glyph] = []
    for chunk in _chunks(letters):
        pen, placed = _set_chunk(chunk, setter.set(chunk), pen)
        glyphs += placed
    return glyphs


def runs_left(letters: Sequence[Letter]) -> bool:
    """True for text that runs from right to left.

    Raises MixedDirectionsError where only parts of it do.
    """
    kinds = {unicodedata.bidirectional(letter.text) for letter in letters}
    if not kinds & {"R", "AL"}:
        return False
    one_style = len({letter.span for letter in letters}) == 1
    if kinds & {"L", "EN", "AN"} or not one_style or any(letter.moved for letter in letters):
        raise MixedDirectionsError
    return True


def join_paths(pieces: Sequence[tuple[Path, Affine]]) -> Path:
    """One path of many, each mapped. Empty for none."""
    if not pieces:
        return PathBuilder().build()
    starts: list[int] = []
    count = 0
    for path, _ in pieces:
        starts += (count + start for start in path.starts)
        count += len(path.segments)
    return Path(
        np.concatenate([map_points(path.segments, matrix) for path, matrix in pieces]),
        np.concatenate([path.straight for path, _ in pieces]),
        tuple(starts),
        tuple(closed for path, _ in pieces for closed in path.closed),
    )


def _chunks(letters: Sequence[Letter]) -> Iterator[Sequence[Letter]]:
    """Runs of letters that follow each other: an absolute position begins a new one."""
    begin = 0
    for index, letter in enumerate(letters):
        placed = (letter.x is not None or letter.y is not None) and not letter.combines
        if index > begin and placed:
            yield letters[begin:index]
            begin = index
    if begin < len(letters):
        yield letters[begin:]


def _set_chunk(
    chunk: Sequence[Letter], clusters: Sequence[Cluster], pen: tuple[float, float]
) -> tuple[tuple[float, float], list[Glyph]]:
    """Place clusters one after another, then shift all as `text-anchor` says; and where the pen ends up."""
    x = start = chunk[0].x if chunk[0].x is not None else pen[0]
    y = chunk[0].y if chunk[0].y is not None else pen[1]
    begin = x + chunk[0].dx
    # How far `text-anchor` shifts a chunk is known once all of it is set, so that it is set first.
    placed: list[tuple[Cluster, float, float]] = []
    for index, cluster in enumerate(clusters):
        letter = chunk[cluster.first]
        x, y = x + letter.dx, y + letter.dy
        placed.append((cluster, x, y))
        x += cluster.advance + _spacing(letter, last=index == len(clusters) - 1)
    lowest = min((at for _, at, _ in placed), default=start)
    highest = max((at + cluster.advance for cluster, at, _ in placed), default=start)
    shift = begin - _anchor(chunk[0], lowest, highest)
    glyphs = [
        Glyph(cluster.path, _at(px + shift, py, chunk[cluster.first].turn_deg), chunk[cluster.first])
        for cluster, px, py in placed
    ]
    return (x + shift, y), glyphs


def _anchor(letter: Letter, lowest: float, highest: float) -> float:
    """The point of a chunk that goes to where the chunk is put."""
    anchor = letter.here.style.get("text-anchor").lower()
    if letter.here.style.get("direction").lower() == "rtl":
        anchor = {"start": "end", "end": "start"}.get(anchor, anchor)
    return {"middle": (lowest + highest) / 2, "end": highest}.get(anchor, lowest)


def _spacing(letter: Letter, *, last: bool) -> float:
    """Extra room behind a letter. None behind the last, so that it doesn't shift centred text."""
    style = letter.here.style
    extra = 0.0 if last else parse_length(style.get("letter-spacing"), None, style.font_size) or 0.0
    if letter.text in (" ", "\u00a0"):
        extra += parse_length(style.get("word-spacing"), None, style.font_size) or 0.0
    return extra


def _at(x: float, y: float, turn_deg: float) -> Affine:
    place: Affine = (1.0, 0.0, 0.0, 1.0, x, y)
    if not turn_deg:
        return place
    cos, sin = math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))
    return compose(place, (cos, sin, -sin, cos, 0.0, 0.0))
