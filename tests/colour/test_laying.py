"""Coats over each other, laid out in regions: boxes whose overlaps are known."""

import numpy as np
import pytest
import shapely
from shapely import Polygon, box

from layercut.colour.coats import Coat, Mask, Veil
from layercut.colour.laying import lay_out
from layercut.colour.sampling import sample
from layercut.colour.washes import FlatWash, Wash

RED, BLUE = FlatWash((1.0, 0.0, 0.0), 0.5), FlatWash((0.0, 0.0, 1.0), 0.5)
LEFT, RIGHT = box(0, 0, 20, 10), box(10, 0, 30, 10)


def opacities(*coats: Coat) -> dict[float, float]:
    """The opacity of each region, and how large it is, mm2."""
    laid = lay_out(coats)
    union = shapely.union_all([region for region, _ in laid])
    assert union.area == pytest.approx(sum(region.area for region, _ in laid))  # none lies over another
    return {_opacity(washes): round(region.area, 6) for region, washes in laid}


def _opacity(washes: tuple[Wash, ...]) -> float:
    return round(float(sample(washes, np.zeros((1, 2)))[1][0]), 6)


def test_where_two_lie_over_each_other_is_a_region_of_its_own() -> None:

    parts = lay_out([Coat(LEFT, RED), Coat(RIGHT, BLUE)])
    assert sorted(region.bounds for region, _ in parts) == [(0, 0, 10, 10), (10, 0, 20, 10), (20, 0, 30, 10)]


def test_neighbours_with_the_same_coats_are_one() -> None:
    (part,) = lay_out([Coat(LEFT, RED), Coat(box(20, 0, 30, 10), RED)])
    assert part[0].area == pytest.approx(300)


def test_a_group_is_laid_on_as_one() -> None:
    group = (Veil((1,), 0.5),)
    solid = FlatWash((1.0, 0.0, 0.0))
    assert opacities(Coat(LEFT, solid, group), Coat(RIGHT, solid, group)) == {0.5: 300.0}
    assert opacities(Coat(LEFT, solid, group), Coat(RIGHT, solid, (Veil((2,), 0.5),)))[0.75] == 100.0


def test_a_mask_thins_a_group_by_its_part_that_lies_there() -> None:
    half = Mask(((LEFT, (FlatWash((1.0, 1.0, 1.0), 0.5),)),), "alpha")
    solid = FlatWash((1.0, 0.0, 0.0))
    assert opacities(Coat(LEFT, solid, (Veil((1,), 0.5, half),))) == {0.25: 200.0}
    assert lay_out([Coat(box(50, 0, 60, 10), solid, (Veil((1,), 1.0, half),))]) == ()  # the mask lies elsewhere


def test_a_coat_is_parted_where_its_mask_changes_and_where_that_ends() -> None:
    """A mask's parts may end amid a coat, as those of a mask that is masked itself do."""
    white, grey = FlatWash((1.0, 1.0, 1.0)), FlatWash((1.0, 1.0, 1.0), 0.5)
    mask = Mask(((box(0, 0, 10, 10), (white,)), (box(10, 0, 15, 10), (grey,))), "alpha")
    solid = FlatWash((1.0, 0.0, 0.0))
    assert opacities(Coat(LEFT, solid, (Veil((1,), 1.0, mask),))) == {1.0: 100.0, 0.5: 50.0}


def test_what_is_clear_or_lies_nowhere_is_left_out() -> None:
    assert lay_out([]) == ()
    assert lay_out([Coat(Polygon(), RED), Coat(LEFT, FlatWash((1.0, 0.0, 0.0), 0.0))]) == ()
