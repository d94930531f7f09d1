"""Shades: from a colour as drawn to base, middle and light, by steps that look equally large.

Enters: a colour, `#rrggbb`. Leaves: `Shades`. Holds: the middle shade is the colour as drawn; hue and chroma stay as
far as sRGB has them; base and light lie one step of CIELAB's L* away, less where black or white is near; white stays
white.
"""

import math
from functools import lru_cache

from layercut.colour.oklab import Lab, linear_srgb_of, oklab_of, within_srgb
from layercut.workplan import Shades

STEP = 12.0
"""How far base and light lie from the drawn colour, in L*: enough to be seen beside it from across a room, and little
enough to be the same colour still (own choice)."""

NEAR_SHARE = 0.5
"""No step goes further than this share of the way to black or to white (own choice)."""

WHITE_LIGHTNESS, WHITE_CHROMA = 0.95, 0.02
"""A colour at least so light and at most so strong is white: a shade of it would be a grey that nobody drew."""

HALVINGS = 14
"""Steps of the search for a lightness; the last is a two-hundredth of a step of L*."""


@lru_cache(maxsize=4096)
def shades_of(colour: str) -> Shades:
    """Base, middle and light shade of a colour.

    The drawn colour is the middle shade. The base is 12 L* darker, the light shade 12 L* lighter (CIELAB under D65),
    but never more than half the way to black or to white. OKLab's hue and chroma are kept; where sRGB has no such
    colour, chroma is lowered until it has. White, with OKLab's L of 0.95 and more and a chroma of 0.02 and less,
    keeps to itself in all three: it is laid on in several coats of one paint.
    """
    lightness, a, b = oklab_of(colour)
    if lightness >= WHITE_LIGHTNESS and math.hypot(a, b) <= WHITE_CHROMA:
        return Shades(colour, colour, colour)
    light = lstar_of(colour)
    base = _at_lightness((lightness, a, b), light - min(STEP, NEAR_SHARE * light))
    lighter = _at_lightness((lightness, a, b), light + min(STEP, NEAR_SHARE * (100 - light)))
    return Shades(base, colour, lighter)


def lstar_of(colour: str) -> float:
    """L* of a colour, 0 to 100 (CIE 015, under D65)."""
    return _lstar(linear_srgb_of(oklab_of(colour)))


def _lstar(linear: Lab) -> float:
    y = 0.2126390 * linear[0] + 0.7151687 * linear[1] + 0.0721923 * linear[2]
    return 116 * math.cbrt(y) - 16 if y > (6 / 29) ** 3 else y * (29 / 3) ** 3


def _at_lightness(lab: Lab, wanted: float) -> str:
    """The colour of this hue, and of as much of this chroma as sRGB has, whose L* is nearest to what is wanted."""
    low, high = 0.0, 1.0
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        low, high = (middle, high) if lstar_of(within_srgb((middle, *lab[1:]))) < wanted else (low, middle)
    ends = [within_srgb((end, *lab[1:])) for end in (low, high)]
    return min(ends, key=lambda one: abs(lstar_of(one) - wanted))


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
