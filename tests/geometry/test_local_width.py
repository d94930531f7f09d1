"""Distances from edges and local widths on a map of regions, held against the plain definitions."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from layercut.geometry.local_width import MOST_PX, PARTS, Labels, disc_radius, edge_distance

REACH = 5.0


def maps() -> st.SearchStrategy[Labels]:
    """Small maps of three regions, in blocks."""
    blocks = st.lists(st.lists(st.integers(0, 2), min_size=4, max_size=4), min_size=4, max_size=4)
    return blocks.map(lambda rows: np.kron(np.array(rows), np.ones((4, 5))).astype(np.int32))


def distances_by_definition(labels: Labels) -> NDArray[np.float64]:
    """For each pixel the least distance to the middle of one of another region, the world around the map being one,
    less the half pixel to the edge between them."""
    around = math.ceil(REACH) + 1
    padded = np.pad(labels, around, constant_values=-1)
    places = np.argwhere(np.ones_like(padded))
    found = np.full(labels.shape, REACH)
    for row, column in np.ndindex(labels.shape):
        apart = padded.ravel() != labels[row, column]
        far = np.hypot(*(places[apart] - (row + around, column + around)).T) - 0.5
        found[row, column] = min(far.min(), REACH)
    return found


@settings(max_examples=25)
@given(maps())
def test_distances_are_those_of_the_definition(labels: Labels) -> None:
    found = edge_distance(labels, REACH) / PARTS
    assert np.abs(found - distances_by_definition(labels)).max() <= 0.5 / PARTS + 1e-9


@settings(max_examples=25)
@given(maps())
def test_a_radius_is_that_of_the_greatest_disc_over_a_pixel(labels: Labels) -> None:
    distance = edge_distance(labels, REACH)
    found = disc_radius(distance)
    for row, column in np.ndindex(labels.shape):
        down, across = np.indices(labels.shape)
        covers = np.hypot(down - row, across - column) * PARTS <= distance
        covers[row, column] = True
        assert found[row, column] == distance[covers].max()


@given(maps())
def test_a_turned_map_gives_what_is_turned(labels: Labels) -> None:
    turned = np.ascontiguousarray(np.rot90(labels))
    assert np.array_equal(edge_distance(turned, REACH), np.rot90(edge_distance(labels, REACH)))
    assert np.array_equal(
        disc_radius(edge_distance(turned, REACH)), np.rot90(disc_radius(edge_distance(labels, REACH)))
    )


@pytest.mark.parametrize("width", [1, 2, 3, 8, 9])
def test_a_strip_is_as_wide_as_it_is(width: int) -> None:
    labels = np.zeros((30, 40), dtype=np.int32)
    labels[10 : 10 + width] = 1
    radius = disc_radius(edge_distance(labels, 9.0))[10 : 10 + width, 20] / PARTS
    # The middle of an even strip lies between two pixels: half a pixel is missing there.
    assert set(radius.tolist()) == {(width - 1 + width % 2) / 2}


def test_one_looks_no_further_than_bytes_hold() -> None:
    one = np.zeros((200, 200), dtype=np.int32)
    assert edge_distance(one, 1000.0).max() == round(MOST_PX * PARTS)
