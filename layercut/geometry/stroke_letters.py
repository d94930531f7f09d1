"""Letters of single strokes, from the open data that the package Hershey-Fonts holds (docs/single-line.md).

Enters: the name of one of its faces. Leaves: strokes in the data's units, y down. ASCII only.
"""

from dataclasses import dataclass
from functools import lru_cache

CAP_TOP, BASELINE = -12.0, 9.0
"""Where capitals and digits begin and end, in the data's units."""

CAP_UNITS = BASELINE - CAP_TOP
"""Height of a capital, and of a digit."""

PLAIN = "futural"
"""The plainest face: even strokes without feet."""


@dataclass(frozen=True, slots=True)
class StrokeLetter:
    """A letter: its left and right edge, with the room around it, and its strokes, each a row of points."""

    left: float
    right: float
    strokes: tuple[tuple[tuple[float, float], ...], ...]


@lru_cache(maxsize=8)
def load_strokes(face: str) -> dict[str, StrokeLetter]:
    """The letters of a face by their characters."""
    from HersheyFonts import HersheyFonts  # noqa: PLC0415 - 0.03 s, and few commands write letters

    data = HersheyFonts()
    data.load_default_font(face)
    return {
        char: StrokeLetter(
            float(glyph.left_offset),
            float(glyph.left_offset + glyph.char_width),
            tuple(tuple((float(x), float(y)) for x, y in stroke) for stroke in glyph.strokes),
        )
        for char, glyph in data.all_glyphs.items()
        if " " <= char <= "~"
    }


def digit_strokes(text: str) -> list[list[tuple[float, float]]]:
    """The strokes of a number around the origin, a unit high: its middle lies there."""
    letters = [load_strokes(PLAIN)[digit] for digit in text]
    x = -sum(letter.right - letter.left for letter in letters) / 2
    found = []
    for letter in letters:
        found += [
            [((x + px - letter.left) / CAP_UNITS, (py - CAP_TOP) / CAP_UNITS - 0.5) for px, py in stroke]
            for stroke in letter.strokes
        ]
        x += letter.right - letter.left
    return found
