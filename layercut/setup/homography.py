"""The map between a wall and its photo, and how much a slip of a corner matters.

Enters: points of one plane and of the other, arrays of shape (n, 2). Leaves: a homography, an array of shape (3, 3)
that takes column vectors (x, y, 1), and lengths of the first plane.
"""

import numpy as np
from numpy.typing import NDArray

from layercut.errors import LayercutError

Floats = NDArray[np.float64]

CORNER_NAMES = ("top left", "top right", "bottom right", "bottom left")
"""The order in which a wall's corners are given, as they are seen from in front of it."""

FLAT = 1e-3
"""A corner of the wall whose triangle with its neighbours has less than this part of the square of the wall's extent
in the photo lies on a line with them."""

_SIGHTS = 9  # points along each side at which the effect of a slip is looked at


def find_homography(source: Floats, target: Floats) -> Floats:
    """The homography that takes `source` to `target`, both (n, 2) with n of 4 or more, in the least-squares sense.

    The normalised direct linear transformation: Hartley and Zisserman, Multiple View Geometry, 2nd edition (2003),
    algorithm 4.2. Scaled so that its last entry is 1. Raises ValueError where the points fix none.
    """
    if len(source) != len(target) or len(source) < 4:
        raise ValueError("needs four points or more on either side")
    t_source, t_target = _normaliser(source), _normaliser(target)
    x, y = map_points(t_source, source).T
    u, v = map_points(t_target, target).T
    one, none = np.ones_like(x), np.zeros_like(x)
    # Two equations a point, linear in the nine entries once u and v are multiplied out.
    rows = np.concatenate(
        [
            np.stack([x, y, one, none, none, none, -u * x, -u * y, -u], axis=1),
            np.stack([none, none, none, x, y, one, -v * x, -v * y, -v], axis=1),
        ]
    )
    _, sizes, vectors = np.linalg.svd(rows)
    # Eight of nine directions must be fixed; what is left is the answer, up to its scale.
    if sizes[7] < 1e-9 * sizes[0]:
        raise ValueError("three of four points lie on a line")
    found = np.linalg.inv(t_target) @ vectors[-1].reshape(3, 3) @ t_source
    if abs(found[2, 2]) < 1e-12 * np.abs(found).max():
        raise ValueError("the origin goes to infinity")
    return np.asarray(found / found[2, 2], dtype=np.float64)


def map_points(matrix: Floats, points: Floats) -> Floats:
    """Where a homography takes points of shape (..., 2)."""
    mapped = points @ matrix[:, :2].T + matrix[:, 2]
    return np.asarray(mapped[..., :2] / mapped[..., 2:], dtype=np.float64)


def area_growth(matrix: Floats, points: Floats) -> Floats:
    """By how much areas grow at points of shape (..., 2): the Jacobian's determinant, det H / w^3."""
    w = points @ matrix[2, :2] + matrix[2, 2]
    return np.asarray(np.linalg.det(matrix) / w**3, dtype=np.float64)


def wall_map(corners: Floats, width: float, height: float, name: str = "--corners") -> Floats:
    """The homography from a wall (width, height; from its top left corner, y down) to its photo, px.

    `corners` are those of the photo in the order of CORNER_NAMES. Raises LayercutError `photo-corners` where they
    can't be the corners of a wall.
    """
    _check_corners(corners, name)
    return find_homography(wall_corners(width, height), corners)


def wall_corners(width: float, height: float) -> Floats:
    """The corners of a wall, shape (4, 2), from its top left corner, y down."""
    return np.array([[0.0, 0.0], [width, 0.0], [width, height], [0.0, height]])


def corner_effects(corners: Floats, width: float, height: float) -> Floats:
    """How far one pixel's slip of each corner moves the squared-up picture at most, in the wall's unit, shape (4,).

    To first order: at points all over the wall, the length of the largest displacement that any direction of the slip
    gives (the largest singular value), and of these the largest.
    """
    here = wall_map(corners, width, height)
    steps = np.linspace(0.0, 1.0, _SIGHTS)
    wall = np.stack(np.meshgrid(steps * width, steps * height), axis=-1).reshape(-1, 2)
    seen = map_points(here, wall)
    effects = []
    for corner in range(4):
        columns = []
        for axis in range(2):
            slips = []
            for sign in (1.0, -1.0):
                slipped = corners.copy()
                slipped[corner, axis] += sign * 0.05
                slips.append(map_points(find_homography(slipped, wall_corners(width, height)), seen))
            columns.append((slips[0] - slips[1]) / 0.1)
        jacobians = np.stack(columns, axis=-1)  # (points, xy of the wall, xy of the slip)
        effects.append(np.linalg.norm(jacobians, ord=2, axis=(1, 2)).max())
    return np.array(effects)


def _check_corners(corners: Floats, name: str) -> None:
    """Four corners of a wall as a camera sees it: convex, clockwise with y down, the right way up."""
    order = f"Give them in the order {', '.join(CORNER_NAMES)}, as seen from in front of the wall."
    extent = float(np.ptp(corners, axis=0).max())
    if not (np.isfinite(corners).all() and extent > 0):
        raise LayercutError("photo-corners", "the corners all lie in one place.", order, file=name)
    edges = np.roll(corners, -1, axis=0) - corners
    before = np.roll(edges, 1, axis=0)
    turns = before[:, 0] * edges[:, 1] - before[:, 1] * edges[:, 0]
    flat = np.abs(turns) < FLAT * extent**2
    if flat.any():
        which = CORNER_NAMES[int(np.flatnonzero(flat)[0])]
        message = f"the corner {which} lies on a line with its neighbours, so the four fix no wall."
        raise LayercutError("photo-corners", message, order, file=name)
    if (turns < 0).all():
        raise LayercutError("photo-corners", "the corners run anticlockwise.", order, file=name)
    if (turns < 0).any():
        bad = int((turns < 0).sum())
        message = "the sides between the corners cross." if bad == 2 else "the four corners bend inward."
        raise LayercutError("photo-corners", message, order, file=name)
    across, down = edges[0] - edges[2], edges[1] - edges[3]  # means of two sides, which perspective leaves alone
    if across[0] <= abs(across[1]) or down[1] <= abs(down[0]):
        message = "the wall stands on its side or its head."
        raise LayercutError("photo-corners", message, f"{order} Turn the photo upright first if need be.", file=name)


def _normaliser(points: Floats) -> Floats:
    """Moves points to their middle and scales them to a mean distance of sqrt 2 from it."""
    middle = points.mean(axis=0)
    spread = float(np.linalg.norm(points - middle, axis=1).mean())
    if spread == 0:
        raise ValueError("all points are one")
    scale = np.sqrt(2) / spread
    return np.array([[scale, 0, -scale * middle[0]], [0, scale, -scale * middle[1]], [0, 0, 1.0]])
