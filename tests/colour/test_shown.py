"""Where a coat is opaque enough: the region against the opacity sampled at places all over it."""

from typing import Literal

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import box

from layercut.colour.coats import Coat, Mask, Veil
from layercut.colour.sampling import mask_values, sample
from layercut.colour.shown import most_opaque, shown_region
from layercut.colour.washes import Affine, FlatWash, GradedWash, Gradient, Spread, Stop

SHAPE = box(0, 0, 40, 30)
RED = (1.0, 0.0, 0.0)
IDENTITY = (1, 0, 0, 1, 0, 0)

Kind = Literal["linear", "radial"]


def fading(
    kind: Kind,
    points: tuple[float, ...],
    spread: Spread,
    to_mm: Affine = IDENTITY,
    offsets: tuple[float, float] = (0, 1),
) -> GradedWash:
    stops = (Stop(offsets[0], RED, 1.0), Stop(offsets[1], (0, 0, 1), 0.0))
    return GradedWash(Gradient(kind, points, to_mm, spread, stops))


def opacity_at(coat: Coat, places: np.ndarray) -> np.ndarray:
    _, opacity = sample([coat.wash], places)
    for veil in coat.veils:
        opacity = opacity * veil.opacity
        if veil.mask is not None:
            let = np.zeros(len(places))
            for region, washes in veil.mask.parts:
                inside = shapely.contains_xy(region, *places.T)
                let[inside] = mask_values(washes, veil.mask.by, places[inside])
            opacity = opacity * let
    return opacity


def disagreeing(coat: Coat, least: float, slack: float = 1e-6) -> int:
    """At how many places region and opacity disagree, places left out where the opacity is the very limit."""
    places = np.random.default_rng(2).uniform((0, 0), (40, 30), (3000, 2))
    region = shown_region(coat, least)
    assert region.is_valid
    opacity = opacity_at(coat, places)
    told = shapely.contains_xy(region, *places.T)
    sure = np.abs(opacity - least) > slack
    return int((told[sure] != (opacity[sure] >= least)).sum())


TURNED = (0.8, 0.3, -0.5, 1.1, 4.0, -2.0)


@pytest.mark.parametrize("spread", ["pad", "reflect", "repeat"])
@pytest.mark.parametrize("to_mm", [IDENTITY, TURNED])
@pytest.mark.parametrize(
    ("kind", "points"),
    [
        ("linear", (5.0, 5.0, 30.0, 12.0)),
        ("linear", (15.0, 5.0, 18.0, 5.0)),
        ("radial", (20.0, 15.0, 0.0, 20.0, 15.0, 12.0)),
        ("radial", (24.0, 13.0, 2.0, 20.0, 15.0, 9.0)),
    ],
)
def test_bands_and_rings_are_exact(kind: Kind, points: tuple[float, ...], to_mm: Affine, spread: Spread) -> None:
    wash = fading(kind, points, spread, to_mm, (0.2, 0.9))
    # A circle is flattened within 0.002 mm, in which the opacity changes by less than 0.002.
    assert disagreeing(Coat(SHAPE, wash), 0.5, 2e-3) == 0
    assert disagreeing(Coat(SHAPE, wash, (Veil((1,), 0.8),)), 0.5, 2e-3) == 0


def test_what_is_even_is_all_or_nothing() -> None:
    coat = Coat(SHAPE, FlatWash(RED, 0.8), (Veil((1,), 0.7),))
    assert shown_region(coat, 0.56) is coat.region
    assert shown_region(coat, 0.57).is_empty
    assert most_opaque(coat) == pytest.approx(0.56)


def test_a_mask_of_hard_and_soft_parts() -> None:
    ramp = fading("linear", (20.0, 0.0, 40.0, 0.0), "pad")
    white = FlatWash((1, 1, 1))
    mask = Mask(((box(0, 0, 10, 30), (white,)), (box(20, 0, 40, 30), (ramp,))), "alpha")
    coat = Coat(SHAPE, FlatWash(RED), (Veil((1,), 1.0, mask),))
    assert shown_region(coat, 0.5).area == pytest.approx(10 * 30 + 10 * 30)
    assert disagreeing(coat, 0.5) == 0
    assert disagreeing(coat, 0.9) == 0


@settings(max_examples=15)
@given(st.floats(0.1, 0.9), st.sampled_from(["alpha", "luminance"]))
def test_products_of_fields_are_close(least: float, by: Literal["alpha", "luminance"]) -> None:
    """No formula gives the line where two gradients come to the limit together; it is found in small steps."""
    mask = Mask(((box(-5, -5, 45, 35), (fading("radial", (20, 15, 0, 20, 15, 25), "pad"),)),), by)
    coat = Coat(SHAPE, fading("linear", (0.0, 0.0, 60.0, 20.0), "pad"), (Veil((1,), 1.0, mask),))
    assert disagreeing(coat, least, 0.01) == 0


def test_a_focus_outside_its_circle_is_found_in_steps() -> None:
    coat = Coat(SHAPE, fading("radial", (30.0, 15.0, 0.0, 15.0, 15.0, 8.0), "pad"))
    assert disagreeing(coat, 0.5, 0.03) <= 25  # of 3,000: beside the cone's own edge the steps are seen
