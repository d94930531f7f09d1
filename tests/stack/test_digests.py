"""Digests: the same for a part that keeps its place and shape, another one for any other."""

import re

import numpy as np
from shapely import Point, Polygon, affinity, box

from layercut.stack.digests import as_letters, digest_of, measures_of, parts_together

LEAF = Polygon([(10, 10), (18, 12), (20, 20), (12, 18)])


def test_a_digest_is_seven_letters_of_base_32() -> None:
    assert re.fullmatch("[a-z2-7]{7}", digest_of(LEAF))


def test_a_part_saved_with_fewer_decimals_keeps_its_digest() -> None:
    assert digest_of(affinity.translate(LEAF, 0.004, -0.003)) == digest_of(LEAF)


def test_where_it_begins_and_which_way_it_runs_makes_no_difference() -> None:
    corners = list(LEAF.exterior.coords)[:-1]
    assert digest_of(Polygon([*corners[2:], *corners[:2]])) == digest_of(LEAF)
    assert digest_of(Polygon(corners[::-1])) == digest_of(LEAF)


def test_a_part_that_is_moved_resized_or_turned_over_has_another() -> None:
    others = [
        affinity.translate(LEAF, 1, 0),
        affinity.scale(LEAF, 1.2, 1.2),
        LEAF.difference(Point(15, 15).buffer(2)),
        box(*LEAF.bounds),
    ]
    digests = {digest_of(part) for part in (LEAF, *others)}
    assert len(digests) == 1 + len(others)


def test_what_else_it_depends_on_tells_equal_parts_apart() -> None:
    assert digest_of(LEAF, "roses") != digest_of(LEAF, "sky")
    assert digest_of(LEAF, "roses") == digest_of(LEAF, "roses")


def test_measures_are_whole_steps_and_none_for_no_parts() -> None:
    measures = measures_of([LEAF, box(0, 0, 1, 1)])
    assert measures.shape == (2, 7)
    assert measures.dtype == np.int64
    assert measures_of([]).shape == (0, 7)
    assert as_letters(measures[0].tobytes()) == digest_of(LEAF)


def test_parts_that_touch_are_one_and_specks_are_none() -> None:
    parts = parts_together([box(0, 0, 2, 2), box(2, 0, 4, 2), box(10, 0, 12, 2), box(20, 0, 20.05, 0.05)])
    assert sorted(part.area for part in parts) == [4, 8]
    assert parts_together([Polygon()]) == []
