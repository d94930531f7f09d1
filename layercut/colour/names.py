"""A plain word for a colour, such as 'deep green' or 'light warm grey': what one calls it across a table.

Enters: a colour, `#rrggbb`. Leaves: a few words in lower case. Holds: the same colour has the same words, and a
neutral colour is never called by a hue.

The scheme is that of K. L. Kelly and D. B. Judd, "Color: Universal Language and Dictionary of Names" (NBS Special
Publication 440, 1976): a hue, and before it one word for how light and how strong it is. Where its words begin and
end is set there in Munsell's notation, block by block. Here the bounds are straight lines in OKLab and are our own
choice, as are 'warm', 'cool', 'cream' and 'beige', which painters say. So two colours with one name may be told apart
by eye: the number tells which is which.
"""

import math
from bisect import bisect_right
from typing import NamedTuple

from layercut.colour.oklab import oklab_of

NEUTRAL = 0.012
"""A chroma up to this has no hue that one would name: about that of white and grey house paints (own choice)."""

TINGED = 0.035
"""Up to this chroma a colour is a grey, warm or cool, unless it is light enough to be a cream (own choice)."""

WEAK, STRONG, VIVID = 0.075, 0.125, 0.19
"""Bounds of chroma between greyish, moderate, strong and vivid (own choice; about 5, 9 and 14 steps of Munsell's)."""

BLACK, WHITE = 0.25, 0.94
"""Below and above these lightnesses a colour without much of a hue is black or white (own choice)."""

HUES = (
    (0.0, "pink"),
    (8.0, "red"),
    (38.0, "orange"),
    (78.0, "yellow"),
    (113.0, "yellow-green"),
    (133.0, "green"),
    (170.0, "blue-green"),
    (222.0, "blue"),
    (278.0, "violet"),
    (305.0, "purple"),
    (340.0, "pink"),
)
"""Where each hue begins, degrees in OKLab; in between lie the colours that CSS Color 4 names so (own choice of
bounds)."""

DARK_NAMES = {"orange": "brown", "yellow": "olive", "pink": "purplish red"}
"""What one calls a hue when it is dark: brown is a dark orange, olive a dark yellow (Kelly and Judd)."""

DARK_BELOW = {"orange": 0.62, "yellow": 0.66, "pink": 0.52}
"""Below these lightnesses (own choice)."""

LIGHT_WORDS = (
    ("very dark", "very deep"),
    ("dark", "deep"),
    ("", "strong"),
    ("light", "bright"),
    ("very light", "bright"),
)
"""How light: the word for a moderate and for a strong colour (Kelly and Judd; they say
"brilliant" where this says bright)."""

LIGHT_STEPS = (0.33, 0.5, 0.68, 0.83)
"""Bounds of lightness between those words (own choice)."""


class _Seen(NamedTuple):
    """A colour as the eye has it: lightness and chroma as in OKLab, hue in degrees."""

    lightness: float
    chroma: float
    hue: float


def plain_name(colour: str) -> str:
    """What one calls a colour `#rrggbb`: a hue or a neutral, with a word before it for how light or strong it is.

    After Kelly and Judd (1976), with bounds of our own.
    """
    lightness, a, b = oklab_of(colour)
    seen = _Seen(lightness, math.hypot(a, b), math.degrees(math.atan2(b, a)) % 360)
    if seen.chroma <= NEUTRAL or (seen.chroma <= TINGED and not _is_cream(seen)) or seen.lightness < BLACK / 2:
        return _neutral(seen)
    return _hued(seen)


def _is_cream(seen: _Seen) -> bool:
    """Light, weak and warm: nobody calls that a grey."""
    return seen.lightness > 0.72 and 55 <= seen.hue <= 115 and 0.02 < seen.chroma <= 0.07


def _neutral(seen: _Seen) -> str:
    tint = "" if seen.chroma <= NEUTRAL else "warm " if seen.hue < 125 or seen.hue >= 325 else "cool "
    if seen.lightness < BLACK:
        return "black" if seen.lightness < BLACK * 0.7 else f"{tint}near-black"
    if seen.lightness >= WHITE:
        return f"{tint}white"
    words = ("very dark", "dark", "", "light", "very light")
    return f"{words[bisect_right(LIGHT_STEPS, seen.lightness)]} {tint}grey".strip()


def _hued(seen: _Seen) -> str:
    starts = [start for start, _ in HUES]
    hue = HUES[bisect_right(starts, seen.hue) - 1][1]
    light = bisect_right(LIGHT_STEPS, seen.lightness)
    if _is_cream(seen):
        return "cream" if seen.lightness >= 0.9 else "beige"
    if hue == "red" and light >= 3 and seen.chroma < 0.16:
        hue = "pink"
    if seen.lightness < DARK_BELOW.get(hue, 0.0):
        return f"{_dark_word(hue, seen)} {DARK_NAMES[hue]}".strip()
    return f"{_word(light, seen.chroma)} {hue}".strip()


def _dark_word(hue: str, seen: _Seen) -> str:
    """Brown and olive are dark already, so their words begin lower down."""
    share = seen.lightness / DARK_BELOW[hue]
    if share < 0.6:
        return "dark"
    if share > 0.85:
        return "light"
    return "strong" if seen.chroma >= STRONG else "greyish" if seen.chroma < 0.05 else ""


def _word(light: int, chroma: float) -> str:
    if chroma < WEAK:
        return ("blackish", "dark greyish", "greyish", "pale", "very pale")[light]
    if chroma >= VIVID + 0.06 * (light == 1) and light > 0:
        return "vivid"
    # A dark colour of sRGB can't be so strong, and looks deep before that.
    return LIGHT_WORDS[light][chroma >= (0.8 * STRONG if light < 2 else STRONG)]
