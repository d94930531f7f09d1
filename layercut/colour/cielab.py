"""CIELAB and the difference that the trade compares paints by, CIEDE2000, for many colours at once.

Enters: colours `#rrggbb`. Leaves: arrays of L*, a*, b* under D65, the light of sRGB, so that nothing is adapted
on the way, and differences. Holds: a grey has a* = b* = 0, and a difference is the same both ways.
"""

from collections.abc import Sequence
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
Number = TypeVar("Number", np.float32, np.float64)

SRGB_TO_XYZ = np.array(
    [
        [506752 / 1228815, 87881 / 245763, 12673 / 70218],
        [87098 / 409605, 175762 / 245763, 12673 / 175545],
        [7918 / 409605, 87881 / 737289, 1001167 / 1053270],
    ]
)
"""Linear sRGB to XYZ, from the primaries and the white of IEC 61966-2-1, as CSS Color 4 prints it (section 18)."""

WHITE = SRGB_TO_XYZ.sum(axis=1)
"""XYZ of sRGB's white, D65."""

_DELTA = 6 / 29
"""Where CIELAB's curve turns straight (CIE 015)."""

_25_POW_7 = 25.0**7


def linear_of(colours: Sequence[str]) -> FloatArray:
    """The light of each channel, 0 to 1: (n, 3), by IEC 61966-2-1."""
    digits = bytes.fromhex("".join(colour.removeprefix("#") for colour in colours))
    values = np.frombuffer(digits, dtype=np.uint8).reshape(-1, 3) / 255
    return np.where(values <= 0.04045, values / 12.92, ((values + 0.055) / 1.055) ** 2.4)


def colours_of_linear(linear: FloatArray) -> list[str]:
    """The colours `#rrggbb` of linear sRGB (n, 3), each channel 0 to 1 (IEC 61966-2-1)."""
    channels = np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * linear ** (1 / 2.4) - 0.055)
    return [f"#{bytes(row).hex()}" for row in np.rint(channels * 255).astype(np.uint8)]


def lab_of(colours: Sequence[str]) -> FloatArray:
    """L*, a*, b* of colours, under D65: (n, 3). Empty for none."""
    return lab_of_linear(linear_of(colours))


def lab_of_linear(linear: NDArray[Number]) -> NDArray[Number]:
    """L*, a*, b* of linear sRGB (..., 3), in the number type that it comes in (CIE 015)."""
    ratio = linear @ (SRGB_TO_XYZ / WHITE[:, None]).T.astype(linear.dtype)
    curve = np.where(ratio > _DELTA**3, np.cbrt(ratio), ratio / (3 * _DELTA**2) + 4 / 29)
    x, y, z = curve[..., 0], curve[..., 1], curve[..., 2]
    return np.stack([116 * y - 16, 500 * (x - y), 200 * (y - z)], axis=-1)


def difference(one: FloatArray, other: FloatArray) -> FloatArray:
    """CIEDE2000 of colours in CIELAB, (..., 3) each and broadcast over one another: (...,).

    G. Sharma, W. Wu, E. N. Dalal, "The CIEDE2000 Color-Difference Formula: Implementation Notes, Supplementary Test
    Data, and Mathematical Observations", Color Research and Application 30 (1), 2005, equations 2 to 22, with all
    parametric factors 1.
    """
    l1, a1, b1 = np.moveaxis(np.asarray(one, dtype=float), -1, 0)
    l2, a2, b2 = np.moveaxis(np.asarray(other, dtype=float), -1, 0)
    mean_chroma = (np.hypot(a1, b1) + np.hypot(a2, b2)) / 2
    stretch = 1 + 0.5 * (1 - np.sqrt(mean_chroma**7 / (mean_chroma**7 + _25_POW_7)))
    a1, a2 = a1 * stretch, a2 * stretch
    c1, c2 = np.hypot(a1, b1), np.hypot(a2, b2)
    h1, h2 = np.degrees(np.arctan2(b1, a1)) % 360, np.degrees(np.arctan2(b2, a2)) % 360
    grey = c1 * c2 == 0
    turn = np.where(grey, 0.0, (h2 - h1 + 180) % 360 - 180)
    # Where the hues lie just opposite, the formula turns to the side that it names: h2 - h1 = 180 counts as 180.
    turn = np.where(~grey & (h2 - h1 == 180), 180.0, turn)
    far = np.abs(h1 - h2) > 180
    mean_hue = np.where(far, (h1 + h2 + np.where(h1 + h2 < 360, 360, -360)) / 2, (h1 + h2) / 2)
    mean_hue = np.where(grey, h1 + h2, mean_hue)
    return _weighted((l1, l2), (c1, c2), turn, mean_hue)


def _weighted(
    light: tuple[FloatArray, FloatArray],
    chroma: tuple[FloatArray, FloatArray],
    turn: FloatArray,
    mean_hue: FloatArray,
) -> FloatArray:
    """The difference from lightness, chroma and hue of both (Sharma, Wu and Dalal, equations 8 to 22)."""
    mean_l, mean_c = (light[0] + light[1]) / 2, (chroma[0] + chroma[1]) / 2
    hue_step = 2 * np.sqrt(chroma[0] * chroma[1]) * np.sin(np.radians(turn) / 2)
    t = (
        1
        - 0.17 * np.cos(np.radians(mean_hue - 30))
        + 0.24 * np.cos(np.radians(2 * mean_hue))
        + 0.32 * np.cos(np.radians(3 * mean_hue + 6))
        - 0.20 * np.cos(np.radians(4 * mean_hue - 63))
    )
    from_50 = (mean_l - 50) ** 2
    by_light = (light[1] - light[0]) / (1 + 0.015 * from_50 / np.sqrt(20 + from_50))
    by_chroma = (chroma[1] - chroma[0]) / (1 + 0.045 * mean_c)
    by_hue = hue_step / (1 + 0.015 * mean_c * t)
    angle = np.radians(60 * np.exp(-(((mean_hue - 275) / 25) ** 2)))
    rotation = -2 * np.sqrt(mean_c**7 / (mean_c**7 + _25_POW_7)) * np.sin(angle)
    squares = by_light**2 + by_chroma**2 + by_hue**2 + rotation * by_chroma * by_hue
    return np.asarray(np.sqrt(np.maximum(squares, 0.0)))
