"""Homographies and squared-up pictures against scikit-image, which shares no code with them."""

import numpy as np
import pytest
from skimage.transform import ProjectiveTransform, warp

from layercut.setup.blend import square_up
from layercut.setup.homography import area_growth, corner_effects, find_homography, map_points, wall_corners
from layercut.setup.photo import make_view


def some_quad(random: np.random.Generator, spread: float = 0.25) -> np.ndarray:
    """The corners of a wall as a camera may see it: a rectangle of a photo, each corner moved."""
    quad = np.array([[200.0, 150.0], [1400.0, 150.0], [1400.0, 900.0], [200.0, 900.0]])
    return quad + random.uniform(-1, 1, (4, 2)) * [1200 * spread / 2, 750 * spread / 2]


@pytest.mark.parametrize("seed", range(20))
def test_four_points_as_scikit_image_maps_them(seed: int) -> None:
    random = np.random.default_rng(seed)
    source, target = wall_corners(10973.0, 5486.0), some_quad(random, 0.6)
    own = find_homography(source, target)
    other = ProjectiveTransform.from_estimate(source, target)
    inside = random.uniform(0, 1, (50, 2)) * [10973.0, 5486.0]
    assert np.abs(map_points(own, inside) - other(inside)).max() < 1e-6
    assert np.abs(map_points(own, source) - target).max() < 1e-8


@pytest.mark.parametrize("seed", range(10))
def test_many_points_with_noise(seed: int) -> None:
    """Half a pixel of noise. The two scale the points a little differently first, which the algebraic error feels:
    they agree to a thousandth of a pixel, and both come near the truth."""
    random = np.random.default_rng(seed)
    true = find_homography(wall_corners(300.0, 200.0), some_quad(random))
    source = random.uniform(0, 1, (40, 2)) * [300.0, 200.0]
    target = map_points(true, source) + random.normal(0, 0.5, (40, 2))
    own = find_homography(source, target)
    other = ProjectiveTransform.from_estimate(source, target)
    corners = wall_corners(300.0, 200.0)
    assert np.abs(map_points(own, corners) - other(corners)).max() < 1e-3
    assert np.abs(map_points(own, corners) - map_points(true, corners)).max() < 2.0


def test_area_growth_is_that_of_small_triangles() -> None:
    matrix = find_homography(wall_corners(300.0, 200.0), some_quad(np.random.default_rng(3), 0.6))
    at = np.random.default_rng(4).uniform(0, 1, (20, 2)) * [300.0, 200.0]
    step = 1e-4
    here, right, down = (map_points(matrix, at + np.array([x, y])) for x, y in ((0, 0), (step, 0), (0, step)))
    one, two = right - here, down - here
    measured = (one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0]) / step**2
    assert area_growth(matrix, at) == pytest.approx(measured, rel=1e-4)


@pytest.mark.parametrize("seed", range(5))
def test_no_real_slip_of_a_pixel_moves_more_than_is_said(seed: int) -> None:
    """A tenth of a pixel in many directions, by scikit-image: the largest move is a tenth of what is said."""
    random = np.random.default_rng(seed)
    wall, quad = wall_corners(10973.0, 5486.0), some_quad(random, 0.4)
    said = corner_effects(quad, 10973.0, 5486.0)
    grid = np.stack(np.meshgrid(np.linspace(0, 10973, 9), np.linspace(0, 5486, 9)), axis=-1).reshape(-1, 2)
    seen = ProjectiveTransform.from_estimate(wall, quad)(grid)
    for corner in range(4):
        moves = []
        for angle in np.linspace(0, 2 * np.pi, 36, endpoint=False):
            slipped = quad.copy()
            slipped[corner] += 0.1 * np.array([np.cos(angle), np.sin(angle)])
            moves.append(np.linalg.norm(ProjectiveTransform.from_estimate(slipped, wall)(seen) - grid, axis=1).max())
        assert max(moves) == pytest.approx(0.1 * said[corner], rel=0.02)


def test_the_picture_is_the_one_that_scikit_image_makes() -> None:
    """A smooth photo, enlarged, so that only the map and the bilinear sampling count."""
    y, x = np.mgrid[0:300, 0:400]
    photo = np.stack([127 + 100 * np.sin(x / 23), 127 + 100 * np.cos(y / 19), (x + y) / 3.0], axis=-1).astype(
        np.uint8
    )
    quad = np.array([[60.0, 40.0], [340.0, 70.0], [350.0, 230.0], [50.0, 260.0]])
    size, pixels = (4000.0, 2000.0), (800, 400)
    own = square_up([make_view("a", photo, quad, size)], size, pixels).pixels
    to_photo = ProjectiveTransform.from_estimate(wall_corners(*map(float, pixels)), quad)
    other = warp(photo, lambda at: to_photo(at + 0.5) - 0.5, output_shape=pixels[::-1], order=1)
    assert (own[..., 3] == 255).all()
    short = other * 255 - own[..., :3]
    assert short.min() > -1e-6  # Pillow cuts off what is behind the point, and nothing else differs
    assert short.max() < 1 + 1e-6
