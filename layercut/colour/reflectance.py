"""Reflectances: what a paint of a colour throws back along the spectrum, and what a mixture of paints does.

Enters: colours `#rrggbb`. Leaves: reflectances at 36 wavelengths, and the colours of mixtures. Holds: a reflectance
has its colour, a paint mixed with itself stays what it is, and the order of the paints says nothing.

A colour on a screen doesn't tell a paint's spectrum. The smoothest one that has the colour is taken: S. A. Burns,
"Numerical methods for smoothest reflectance reconstruction", Color Research and Application 45 (1), 2020, his method
of the least slope squared of the hyperbolic tangent's argument (LHTSS), whose reflectances lie between 0 and 1.
Paints mix by the theory of P. Kubelka and F. Munk, "Ein Beitrag zur Optik der Farbanstriche", Zeitschrift fuer
technische Physik 12, 1931, with a single constant: absorption over scattering, K/S = (1 - R)^2 / (2 R), adds up by
amounts, as if all paints scattered alike. So it is a guess to begin with, never a recipe.
"""

from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from layercut.colour.cielab import SRGB_TO_XYZ, colours_of_linear

FloatArray = NDArray[np.float64]
Number = TypeVar("Number", np.float32, np.float64)

DARKEST, LIGHTEST = 0.04, 0.95
"""What black and white paint reflect. A film of index 1.5 throws back 4 % at its surface (Fresnel), whatever lies in
it; white house paints reflect about 95 % (common practice). A screen's black and white are taken for these, or a drop
of black would drown every other paint."""

STEPS, CLOSE = 40, 1e-10
"""Newton's steps at most, and when a reflectance has its colour; about six are the rule."""

_OBSERVER_AND_LIGHT = np.array(
    [
        (0.001368, 0.000039, 0.00645, 49.9755),
        (0.004243, 0.00012, 0.02005, 54.6482),
        (0.01431, 0.000396, 0.06785, 82.7549),
        (0.04351, 0.00121, 0.2074, 91.486),
        (0.13438, 0.004, 0.6456, 93.4318),
        (0.2839, 0.0116, 1.3856, 86.6823),
        (0.34828, 0.023, 1.74706, 104.865),
        (0.3362, 0.038, 1.77211, 117.008),
        (0.2908, 0.06, 1.6692, 117.812),
        (0.19536, 0.09098, 1.28764, 114.861),
        (0.09564, 0.13902, 0.81295, 115.923),
        (0.03201, 0.20802, 0.46518, 108.811),
        (0.0049, 0.323, 0.272, 109.354),
        (0.0093, 0.503, 0.1582, 107.802),
        (0.06327, 0.71, 0.07825, 104.79),
        (0.1655, 0.862, 0.04216, 107.689),
        (0.2904, 0.954, 0.0203, 104.405),
        (0.43345, 0.99495, 0.00875, 104.046),
        (0.5945, 0.995, 0.0039, 100.0),
        (0.7621, 0.952, 0.0021, 96.3342),
        (0.9163, 0.87, 0.00165, 95.788),
        (1.0263, 0.757, 0.0011, 88.6856),
        (1.0622, 0.631, 0.0008, 90.0062),
        (1.0026, 0.503, 0.00034, 89.5991),
        (0.85445, 0.381, 0.00019, 87.6987),
        (0.6424, 0.265, 0.00005, 83.2886),
        (0.4479, 0.175, 0.00002, 83.6992),
        (0.2835, 0.107, 0.0, 80.0268),
        (0.1649, 0.061, 0.0, 80.2146),
        (0.0874, 0.032, 0.0, 82.2778),
        (0.04677, 0.017, 0.0, 78.2842),
        (0.0227, 0.00821, 0.0, 69.7213),
        (0.011359, 0.004102, 0.0, 71.6091),
        (0.00579, 0.002091, 0.0, 74.349),
        (0.002899, 0.001047, 0.0, 61.604),
        (0.00144, 0.00052, 0.0, 69.8856),
    ]
)
"""At 380, 390 ... 730 nm: the 1931 standard observer's x, y and z (CIE 018, ISO/CIE 11664-1), and the power of D65
(CIE 015, ISO/CIE 11664-2)."""


def _seen_by() -> FloatArray:
    """What each wavelength adds to linear sRGB, (3, 36); what reflects all alike is grey, to the last digit."""
    observer, light = _OBSERVER_AND_LIGHT[:, :3].T, _OBSERVER_AND_LIGHT[:, 3]
    seen = np.linalg.inv(SRGB_TO_XYZ) @ (observer * light)
    return np.asarray(seen / seen.sum(axis=1, keepdims=True))


SEEN = _seen_by()


def reflectances(linear: FloatArray) -> FloatArray:
    """The smoothest reflectances of some colours, linear sRGB (n, 3): (n, 36), each between 0 and 1 (Burns 2020)."""
    wanted = DARKEST + (LIGHTEST - DARKEST) * linear
    count, waves = len(wanted), SEEN.shape[1]
    slopes = 4 * np.eye(waves) - 2 * np.eye(waves, k=1) - 2 * np.eye(waves, k=-1)
    slopes[0, 0] = slopes[-1, -1] = 2
    z = np.tile(np.arctanh(2 * wanted.mean(axis=1) - 1)[:, None], waves)
    weights = np.zeros((count, 3))
    matrix = np.zeros((count, waves + 3, waves + 3))
    for _ in range(STEPS):
        curve = np.tanh(z)
        first = (1 - curve**2) / 2
        pull = weights @ SEEN
        missing = (curve + 1) / 2 @ SEEN.T - wanted
        uneven = z @ slopes + first * pull
        if np.abs(missing).max(initial=0.0) < CLOSE and np.abs(uneven).max(initial=0.0) < CLOSE:
            break
        matrix[:, :waves, :waves] = slopes
        matrix[:, range(waves), range(waves)] -= 2 * curve * first * pull
        matrix[:, :waves, waves:] = first[:, :, None] * SEEN.T
        matrix[:, waves:, :waves] = SEEN * first[:, None, :]
        step = np.linalg.solve(matrix, -np.concatenate([uneven, missing], axis=1)[:, :, None])[:, :, 0]
        z, weights = z + step[:, :waves], weights + step[:, waves:]
    return np.asarray((np.tanh(z) + 1) / 2)


def absorbed(reflectance: FloatArray) -> FloatArray:
    """Absorption over scattering, K/S, of a layer that hides what lies under it (Kubelka and Munk 1931)."""
    return (1 - reflectance) ** 2 / (2 * reflectance)


def mixed_linear(absorption: NDArray[Number]) -> NDArray[Number]:
    """Linear sRGB, 0 to 1, of what has this K/S: (..., 36) to (..., 3), in the number type that it comes in."""
    # 1 / (1 + k + root) is 1 + k - root, without the digits that this loses.
    root = absorption * (absorption + 2)
    np.sqrt(root, out=root)
    root += absorption
    root += 1
    light = np.reciprocal(root, out=root) @ SEEN.T.astype(absorption.dtype)
    return np.asarray(np.clip((light - DARKEST) / (LIGHTEST - DARKEST), 0, 1))


def colours_of(absorption: FloatArray) -> list[str]:
    """The colours `#rrggbb` of what has this K/S, (n, 36)."""
    return colours_of_linear(mixed_linear(absorption))
