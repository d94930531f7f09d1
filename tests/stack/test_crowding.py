"""Which outlines are kept where there are too many: those that are seen most, until they cross too often."""

import numpy as np
import shapely
from shapely import box

from layercut.stack.crowding import FEW, Crowd, make_crowd

SCOPE = box(0, 0, 1000, 1000)


def _apart(count: int) -> np.ndarray:
    """Squares side by side, none of which meets another."""
    return np.array([box(10 * k, 0, 10 * k + 5, 5) for k in range(count)], dtype=object)


def _crossing(count: int) -> np.ndarray:
    """Bars of which each crosses all of the other direction: half of them lie, half stand."""
    half = count // 2
    lying = [box(0, 10 * k + 4, 1000, 10 * k + 6) for k in range(half)]
    return np.array([*lying, *(box(10 * k + 4, 0, 10 * k + 6, 1000) for k in range(half))], dtype=object)


def test_a_few_keep_all_whatever_they_cross() -> None:
    regions = _crossing(FEW)
    assert make_crowd(regions, shapely.area(regions), SCOPE, 10).kept.all()


def test_many_that_meet_nowhere_keep_all() -> None:
    regions = _apart(99)
    assert make_crowd(regions, shapely.area(regions), SCOPE, 10).kept.all()


def test_of_many_that_cross_those_seen_most_are_kept() -> None:
    regions = _crossing(200)
    seen = np.arange(200.0)[::-1]
    crowd = make_crowd(regions, seen, SCOPE, 2000)
    assert 1 <= crowd.keep < 200
    assert crowd.kept[: crowd.keep].all()
    assert not crowd.kept[crowd.keep :].any()


def test_crossings_beyond_the_scope_don_t_count() -> None:
    regions = _crossing(200)
    nowhere = box(2000, 2000, 2001, 2001)
    assert make_crowd(regions, shapely.area(regions), nowhere, 10).kept.all()


def test_a_smaller_crowd_keeps_fewer_each_time_and_ends() -> None:
    crowd = Crowd(_apart(100), np.ones(100), most=50, keep=100)
    sizes = []
    while crowd.keep > 1:
        crowd = crowd.smaller(60)
        sizes.append(crowd.keep)
    assert sizes == sorted(set(sizes), reverse=True)
    assert sizes[0] == int(0.95 * (50 / 60) ** 0.5 * 100)


def test_of_equal_ones_the_first_are_kept() -> None:
    assert Crowd(_apart(4), np.ones(4), most=9, keep=2).kept.tolist() == [True, True, False, False]
