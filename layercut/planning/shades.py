"""Shades: from a colour as drawn to base, middle and light, in OKLab.

Enters: a colour, `#rrggbb`. Leaves: `Shades`. Holds: the middle shade is the colour as drawn; hue stays; every
shade is a colour of sRGB; white stays white.
"""

import math

from layercut.workplan import Shades

Lab = tuple[float, float, float]

BASE_SHARE = 0.8
"""The base shade has this part of the drawn colour's lightness: dark enough to read as shadow in a relief (own
choice)."""

LIGHT_SHARE = 0.35
"""The light shade lies so far on the way from the drawn colour's lightness to white (own choice)."""

WHITE_LIGHTNESS, WHITE_CHROMA = 0.95, 0.02
"""A colour at least so light and at most so strong is white: a shade of it would be a grey that nobody drew."""

HALVINGS = 24
"""Steps of the search for the strongest chroma within sRGB; the last is far below a digit of a hexadecimal colour."""

GAMUT_SLACK = 1e-4
"""How far a channel may lie outside 0 to 1 and still be that bound: rounding, a fortieth of a digit."""


def shades_of(colour: str) -> Shades:
    """Base, middle and light shade of a colour.

    In OKLab, lightness L runs from 0 to 1. The drawn colour is the middle shade, L. The base has 0.8 L, the light
    shade L + 0.35 (1 - L). Hue and chroma are kept; where sRGB has no such colour, chroma is lowered until it has.
    White, with L of 0.95 and more and a chroma of 0.02 and less, keeps to itself in all three.
    """
    lightness, a, b = oklab_of(colour)
    if lightness >= WHITE_LIGHTNESS and math.hypot(a, b) <= WHITE_CHROMA:
        return Shades(colour, colour, colour)
    base = _within_srgb((BASE_SHARE * lightness, a, b))
    light = _within_srgb((lightness + LIGHT_SHARE * (1 - lightness), a, b))
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
    return _within_srgb((total[0], total[1], total[2]))


def oklab_of(colour: str) -> Lab:
    """OKLab of a colour `#rrggbb`: lightness 0 to 1, a, b.

    B. Ottosson, "A perceptual color space for image processing" (2020); sRGB's curve by IEC 61966-2-1.
    """
    red, green, blue = (_linear(value / 255) for value in bytes.fromhex(colour.removeprefix("#")))
    cone = (
        0.4122214708 * red + 0.5363325363 * green + 0.0514459929 * blue,
        0.2119034982 * red + 0.6806995451 * green + 0.1073969566 * blue,
        0.0883024619 * red + 0.2817188376 * green + 0.6299787005 * blue,
    )
    m1, m2, m3 = (math.cbrt(value) for value in cone)
    return (
        0.2104542553 * m1 + 0.7936177850 * m2 - 0.0040720468 * m3,
        1.9779984951 * m1 - 2.4285922050 * m2 + 0.4505937099 * m3,
        0.0259040371 * m1 + 0.7827717662 * m2 - 0.8086757660 * m3,
    )


def linear_srgb_of(lab: Lab) -> Lab:
    """Linear sRGB of an OKLab colour, outside 0 to 1 where sRGB has no such colour (Ottosson 2020)."""
    lightness, a, b = lab
    m1 = (lightness + 0.3963377774 * a + 0.2158037573 * b) ** 3
    m2 = (lightness - 0.1055613458 * a - 0.0638541728 * b) ** 3
    m3 = (lightness - 0.0894841775 * a - 1.2914855480 * b) ** 3
    return (
        4.0767416621 * m1 - 3.3077115913 * m2 + 0.2309699292 * m3,
        -1.2684380046 * m1 + 2.6097574011 * m2 - 0.3413193965 * m3,
        -0.0041960863 * m1 - 0.7034186147 * m2 + 1.7076147010 * m3,
    )


def _within_srgb(lab: Lab) -> str:
    """The colour of this lightness and hue with as much of the chroma as sRGB has."""
    if not _exists(lab):
        low, high = 0.0, 1.0
        for _ in range(HALVINGS):
            middle = (low + high) / 2
            low, high = (middle, high) if _exists(_weakened(lab, middle)) else (low, middle)
        lab = _weakened(lab, low)
    channels = (round(255 * _curved(min(max(value, 0.0), 1.0))) for value in linear_srgb_of(lab))
    return "#" + bytes(channels).hex()


def _weakened(lab: Lab, share: float) -> Lab:
    return (lab[0], share * lab[1], share * lab[2])


def _exists(lab: Lab) -> bool:
    return all(-GAMUT_SLACK <= value <= 1 + GAMUT_SLACK for value in linear_srgb_of(lab))


def _linear(value: float) -> float:
    return value / 12.92 if value <= 0.04045 else float(((value + 0.055) / 1.055) ** 2.4)


def _curved(value: float) -> float:
    return 12.92 * value if value <= 0.0031308 else float(1.055 * value ** (1 / 2.4) - 0.055)
