"""OKLab against the values its author published, and against an independent library.

B. Ottosson, "A perceptual color space for image processing" (2020): the table of XYZ (D65) and OKLab, to three
decimals. The values of sRGB colours are those of the published matrices in full precision.
"""

import numpy as np
import pytest
from coloraide import Color

from layercut.colour.oklab import linear_srgb_of, oklab_of

XYZ_TO_LINEAR_SRGB = np.linalg.inv(
    np.array(
        [
            [0.4123907993, 0.3575843394, 0.1804807884],
            [0.2126390059, 0.7151686788, 0.0721923154],
            [0.0193308187, 0.1191947798, 0.9505321522],
        ]
    )
)
"""IEC 61966-2-1: primaries of sRGB under D65, as CSS Color 4 has them in full."""


@pytest.mark.parametrize(
    ("xyz", "lab"),
    [
        ((0.950, 1, 1.089), (1.000, 0.000, 0.000)),
        ((1, 0, 0), (0.450, 1.236, -0.019)),
        ((0, 1, 0), (0.922, -0.671, 0.263)),
        ((0, 0, 1), (0.153, -1.415, -0.449)),
    ],
)
def test_the_authors_table_read_backwards(xyz: tuple[float, ...], lab: tuple[float, float, float]) -> None:
    """The table's three decimals leave so much: the way back magnifies them by up to about ten."""
    linear = XYZ_TO_LINEAR_SRGB @ np.array(xyz)
    assert linear_srgb_of(lab) == pytest.approx(tuple(linear), abs=0.02)


@pytest.mark.parametrize(
    ("colour", "lab"),
    [
        ("#ff0000", (0.627955, 0.224863, 0.125846)),
        ("#00ff00", (0.866440, -0.233888, 0.179498)),
        ("#0000ff", (0.452014, -0.032457, -0.311528)),
        ("#808080", (0.599871, 0.0, 0.0)),
        ("#c08040", (0.653354, 0.050249, 0.100685)),
        ("#ffffff", (1.0, 0.0, 0.0)),
        ("#000000", (0.0, 0.0, 0.0)),
    ],
)
def test_srgb_colours(colour: str, lab: tuple[float, float, float]) -> None:
    assert oklab_of(colour) == pytest.approx(lab, abs=2e-6)


@pytest.mark.parametrize("colour", ["#123456", "#f0e442", "#0a0a0b", "#d55e00", "#fefefe", "#00c8ff"])
def test_an_independent_library_agrees(colour: str) -> None:
    # It takes the matrices of another rounding, so that the sixth decimal may differ.
    assert oklab_of(colour) == pytest.approx(Color(colour).convert("oklab").coords(), abs=5e-6)


@pytest.mark.parametrize("colour", ["#ff0000", "#123456", "#f0e442", "#808080"])
def test_there_and_back(colour: str) -> None:
    there = np.array(linear_srgb_of(oklab_of(colour)))
    back = np.where(there <= 0.0031308, 12.92 * there, 1.055 * np.abs(there) ** (1 / 2.4) - 0.055)
    assert (255 * back) == pytest.approx(list(bytes.fromhex(colour[1:])), abs=0.01)
