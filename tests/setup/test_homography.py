"""The map of a wall to its photo: known maps, and corners that are no wall's. Against another library:
tests/outside/test_homography.py."""

import numpy as np
import pytest

from layercut.errors import LayercutError
from layercut.setup.homography import (
    area_growth,
    corner_effects,
    find_homography,
    map_points,
    wall_corners,
    wall_map,
)

PHOTO = np.array([[100.0, 80.0], [900.0, 120.0], [880.0, 700.0], [120.0, 640.0]])
WALL = wall_corners(300.0, 200.0)


def test_corners_go_to_corners_and_lines_to_lines() -> None:
    there = wall_map(PHOTO, 300.0, 200.0)
    assert map_points(there, WALL) == pytest.approx(PHOTO)
    (ax, ay), (bx, by), (cx, cy) = map_points(there, np.array([(0.0, 0.0), (60.0, 40.0), (300.0, 200.0)]))
    assert (bx - ax) * (cy - ay) == pytest.approx((by - ay) * (cx - ax))


def test_there_and_back_is_where_one_was() -> None:
    there, back = find_homography(WALL, PHOTO), find_homography(PHOTO, WALL)
    at = np.random.default_rng(1).uniform(0, 200, (50, 2))
    assert map_points(back, map_points(there, at)) == pytest.approx(at)


def test_a_scaled_photo_is_the_scale_everywhere() -> None:
    there = wall_map(2.5 * WALL, 300.0, 200.0)
    assert there == pytest.approx(np.diag([2.5, 2.5, 1.0]), abs=1e-9)
    assert area_growth(there, WALL) == pytest.approx([6.25] * 4)
    assert corner_effects(2.5 * WALL, 300.0, 200.0) == pytest.approx([0.4] * 4, rel=1e-3)


@pytest.mark.parametrize(
    ("order", "words"),
    [
        ([0, 3, 2, 1], "anticlockwise"),
        ([0, 2, 1, 3], "cross"),
        ([1, 2, 3, 0], "side or its head"),
        ([2, 3, 0, 1], "side or its head"),
    ],
)
def test_corners_in_another_order_are_told(order: list[int], words: str) -> None:
    with pytest.raises(LayercutError, match=words) as caught:
        wall_map(PHOTO[order], 300.0, 200.0)
    assert caught.value.code == "photo-corners"


@pytest.mark.parametrize(
    ("corner", "at", "words"),
    [(0, (500.0, 100.0), None), (2, (510.0, 380.0), "on a line"), (2, (300.0, 300.0), "bend inward")],
)
def test_a_corner_out_of_place(corner: int, at: tuple[float, float], words: str | None) -> None:
    moved = PHOTO.copy()
    moved[corner] = at
    if words is None:
        wall_map(moved, 300.0, 200.0)
        return
    with pytest.raises(LayercutError, match=words):
        wall_map(moved, 300.0, 200.0)


def test_points_that_fix_no_map() -> None:
    line = np.array([(0.0, 0.0), (1.0, 1.0), (2.0, 2.0), (0.0, 5.0)])
    for source, target in ((WALL[:3], PHOTO[:3]), (line, PHOTO), (np.zeros((4, 2)), PHOTO)):
        with pytest.raises(ValueError, match=r"four points|on a line|infinity|are one"):
            find_homography(source, target)
