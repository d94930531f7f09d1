"""Shades: from a colour as drawn to base, middle and light, in OKLab.

Enters: a colour, `#rrggbb`. Leaves: `Shades`. Holds: the middle shade is the colour as drawn; hue stays; every
shade is a colour of sRGB; white stays white.
"""

import math

from layercut.colour.oklab import oklab_of, within_srgb
from layercut.workplan import Shades

BASE_SHARE = 0.8
"""The base shade has this part of the drawn colour's lightness: dark enough to read as shadow in a relief (own
choice)."""

LIGHT_SHARE = 0.35
"""The light shade lies so far on the way from the drawn colour's lightness to white (own choice)."""

WHITE_LIGHTNESS, WHITE_CHROMA = 0.95, 0.02
"""A colour at least so light and at most so strong is white: a shade of it would be a grey that nobody drew."""


def shades_of(colour: str) -> Shades:
    """Base, middle and light shade of a colour.

    In OKLab, lightness L runs from 0 to 1. The drawn colour is the middle shade, L. The base has 0.8 L, the light
    shade L + 0.35 (1 - L). Hue and chroma are kept; where sRGB has no such colour, chroma is lowered until it has.
    White, with L of 0.95 and more and a chroma of 0.02 and less, keeps to itself in all three.
    """
    lightness, a, b = oklab_of(colour)
    if lightness >= WHITE_LIGHTNESS and math.hypot(a, b) <= WHITE_CHROMA:
        return Shades(colour, colour, colour)
    base = within_srgb((BASE_SHARE * lightness, a, b))
    light = within_srgb((lightness + LIGHT_SHARE * (1 - lightness), a, b))
    return Shades(base, colour, light)


def mean_colour(stops: tuple[tuple[float, str], ...]) -> str:
    """The mean of a blend in OKLab, each part between two stops by its length; needs at least one stop."""
    padded = [(0.0, stops[0][1]), *stops, (1.0, stops[-1][1])]
    labs = [oklab_of(colour) for _, colour in padded]
    total = [0.0, 0.0, 0.0]
    for k in range(len(padded) - 1):
        share = padded[k + 1][0] - padded[k][0]
        for axis in range(3):
            total[axis] += share * (labs[k][axis] + labs[k + 1][axis]) / 2
    return within_srgb((total[0], total[1], total[2]))
