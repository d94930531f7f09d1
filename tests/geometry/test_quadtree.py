"""Patches of a large region: what is around a small place."""

import numpy as np
import pytest
import shapely
from shapely import Point, box

from layercut.geometry.quadtree import FEW_VERTICES, QuadtreeRegion
from layercut.geometry.regions import EMPTY, union

LEAVES = union(Point(7 * (i % 20), 7 * (i // 20)).buffer(4, quad_segs=8) for i in range(400) if i % 3)
PATCHES = QuadtreeRegion(LEAVES)


@pytest.mark.parametrize("x", [-3, 0, 20.5, 66.5, 80, 131])
@pytest.mark.parametrize("y", [-3, 31, 66.5, 131])
@pytest.mark.parametrize("size", [0.5, 9, 70])
def test_a_patch_is_the_region_within_the_box_asked_for(x: float, y: float, size: float) -> None:
    asked = box(x, y, x + size, y + size)

    patch = PATCHES.around(asked.bounds)

    same = shapely.symmetric_difference(shapely.intersection(patch, asked), shapely.intersection(LEAVES, asked))
    assert patch.is_valid
    assert same.area < 1e-9


def test_a_small_place_is_asked_of_few_vertices() -> None:
    assert shapely.get_num_coordinates(LEAVES) > 10 * FEW_VERTICES
    assert shapely.get_num_coordinates(PATCHES.around((30, 30, 31, 31))) <= 2 * FEW_VERTICES


HOLED = box(-10, -10, 150, 150).difference(LEAVES.buffer(-2))


@pytest.mark.parametrize("size", [0.5, 9, 70])
def test_a_region_with_many_holes_is_known_by_those_that_are_near(size: float) -> None:
    patches = QuadtreeRegion(HOLED)
    for x in (-12, -3, 20.5, 66.5, 131, 149):
        asked = box(x, 40, x + size, 40 + size)
        patch = patches.around(asked.bounds)
        same = shapely.symmetric_difference(shapely.intersection(patch, asked), shapely.intersection(HOLED, asked))
        assert patch.is_valid
        assert same.area < 1e-9
        assert shapely.get_num_coordinates(patch) < shapely.get_num_coordinates(HOLED) or size > 9


def test_what_is_shared_is_that_of_an_overlay() -> None:
    places = [Point(x, x).buffer(2.5) for x in np.arange(-5, 140, 3.1)]

    shared = PATCHES.shared_with_each(places)

    assert shapely.area(shared) == pytest.approx(shapely.area(shapely.intersection(places, LEAVES)), abs=1e-9)
    assert PATCHES.shared_with(places[9]).area == pytest.approx(shapely.area(shared[9]))


def test_nothing_lies_outside_the_region_or_in_an_empty_one() -> None:
    assert PATCHES.around((300, 300, 301, 301)).is_empty
    assert QuadtreeRegion(EMPTY).around((0, 0, 1, 1)).is_empty
    assert len(PATCHES.shared_with_each([])) == 0
