"""OKLab: lightness, hue and chroma as the eye has them, and the way there from sRGB and back.

Enters: colours `#rrggbb`. Leaves: `Lab`, and colours. Holds: what comes back is a colour of sRGB.
B. Ottosson, "A perceptual color space for image processing" (2020); sRGB's curve by IEC 61966-2-1.
"""

import math

Lab = tuple[float, float, float]
"""Lightness, 0 to 1, and the two axes of colour, a (red to green) and b (yellow to blue)."""

HALVINGS = 24
"""Steps of the search for the strongest chroma within sRGB; the last is far below a digit of a hexadecimal colour."""

GAMUT_SLACK = 1e-4
"""How far a channel may lie outside 0 to 1 and still be that bound: rounding, a fortieth of a digit."""


def oklab_of(colour: str) -> Lab:
    """OKLab of a colour `#rrggbb`: lightness 0 to 1, a, b (Ottosson 2020)."""
    red, green, blue = (linear(value / 255) for value in bytes.fromhex(colour.removeprefix("#")))
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


def within_srgb(lab: Lab) -> str:
    """The colour `#rrggbb` of this lightness and hue with as much of the chroma as sRGB has."""
    if not _exists(lab):
        low, high = 0.0, 1.0
        for _ in range(HALVINGS):
            middle = (low + high) / 2
            low, high = (middle, high) if _exists(_weakened(lab, middle)) else (low, middle)
        lab = _weakened(lab, low)
    channels = (round(255 * curved(min(max(value, 0.0), 1.0))) for value in linear_srgb_of(lab))
    return "#" + bytes(channels).hex()


def linear(value: float) -> float:
    """The light of an sRGB channel, both 0 to 1 (IEC 61966-2-1)."""
    return value / 12.92 if value <= 0.04045 else float(((value + 0.055) / 1.055) ** 2.4)


def curved(value: float) -> float:
    """The sRGB channel of some light, both 0 to 1 (IEC 61966-2-1)."""
    return 12.92 * value if value <= 0.0031308 else float(1.055 * value ** (1 / 2.4) - 0.055)


def _weakened(lab: Lab, share: float) -> Lab:
    return (lab[0], share * lab[1], share * lab[2])


def _exists(lab: Lab) -> bool:
    return all(-GAMUT_SLACK <= value <= 1 + GAMUT_SLACK for value in linear_srgb_of(lab))
