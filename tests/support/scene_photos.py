"""A ferry house in space, and photos of it: the known scene of docs/walkthrough.md.

Enters: nothing. Leaves: pictures as arrays, and where a corner of the scene lies in them. The camera is an exact
pinhole, and each ray is met with planes, spheres and a cylinder, so that every right answer is known. Lengths are mm:
x along the front from its left edge, y up from the ground, z out of the wall towards the camera. The windows lie in
the wall's own plane. `python tests/support/scene_photos.py docs/walkthrough` takes the photos anew.
"""

import sys
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image

Floats = NDArray[np.float64]
Rect = tuple[float, float, float, float]

FOOT, INCH = 304.8, 25.4
WIDTH = 36 * FOOT
EAVES = 18 * INCH + 2 * 9 * FOOT
RIDGE = EAVES + WIDTH / 4
DEPTH = 7000.0
"""How far the house goes back."""

FIRST, SECOND = 18 * INCH, 18 * INCH + 9 * FOOT
SILL, HEAD, WIDE = 36 * INCH, 80 * INCH, 36 * INCH

OPENINGS: dict[str, Rect] = {  # left, bottom, right, top
    "door": (6400.0, FIRST, 6400.0 + 36 * INCH, FIRST + 80 * INCH),
    "window below left": (1200.0, FIRST + SILL, 1200.0 + WIDE, FIRST + HEAD),
    "window below middle": (3900.0, FIRST + SILL, 3900.0 + WIDE, FIRST + HEAD),
    "window below right": (8900.0, FIRST + SILL, 8900.0 + WIDE, FIRST + HEAD),
    "window above left": (1200.0, SECOND + SILL, 1200.0 + WIDE, SECOND + HEAD),
    "window above middle": (3900.0, SECOND + SILL, 3900.0 + WIDE, SECOND + HEAD),
    "window above door": (6400.0, SECOND + SILL, 6400.0 + WIDE, SECOND + HEAD),
    "window above right": (8900.0, SECOND + SILL, 8900.0 + WIDE, SECOND + HEAD),
}
ROUND_WINDOW = (WIDTH / 2, 7000.0, 380.0)
"""In the gable: its middle and its radius."""

CORNERS = ((0.0, EAVES), (WIDTH, EAVES), (WIDTH, 0.0), (0.0, 0.0))
"""Of the wall, in the order that `rectify` asks for."""

TREES = ((500.0, 4000.0), (8900.0, 4000.0))
"""Where the two trees stand, x and z. Each hides from one photo what that one would show best: the left tree from the
left photo, the right one from the right."""

BALLS = (  # of a tree's crown: middle, from its foot, and radius
    ((0.0, 2650.0, 0.0), 680.0),
    ((-430.0, 2400.0, 50.0), 460.0),
    ((420.0, 2450.0, -50.0), 480.0),
    ((-230.0, 3120.0, -50.0), 430.0),
    ((280.0, 3080.0, 50.0), 400.0),
)
TRUNK_RADIUS = 110.0
SUN = np.array([-0.45, 0.75, 0.48])


@dataclass(frozen=True)
class Camera:
    """A pinhole camera: where it stands, what it looks at, how long its lens is (px) and its picture (px)."""

    eye: tuple[float, float, float]
    aim: tuple[float, float, float]
    lens_px: float
    size: tuple[int, int]

    def axes(self) -> Floats:
        """Right, down and forward as rows; the camera is held level."""
        forward = np.subtract(self.aim, self.eye)
        forward /= np.linalg.norm(forward)
        right = np.cross(forward, [0.0, 1.0, 0.0])
        right /= np.linalg.norm(right)
        return np.stack([right, np.cross(forward, right), forward])

    def project(self, points: Floats) -> Floats:
        """Where points of space, (n, 3), lie in the picture, px from its top left corner, (n, 2)."""
        seen = (points - np.array(self.eye)) @ self.axes().T
        there: Floats = np.array(self.size) / 2 + self.lens_px * seen[:, :2] / seen[:, 2:]
        return there


LEFT = Camera((-1500.0, 1600.0, 11000.0), (5200.0, 3500.0, 0.0), 1050.0, (1200, 900))
RIGHT = Camera((12500.0, 1600.0, 11000.0), (5800.0, 3500.0, 0.0), 1050.0, (1200, 900))


def wall_corners(camera: Camera) -> list[tuple[int, int]]:
    """The wall's corners in a photo, rounded to whole pixels as one clicks them."""
    points = np.array([(x, y, 0.0) for x, y in CORNERS])
    return [(round(float(x)), round(float(y))) for x, y in camera.project(points)]


def tree_box(camera: Camera, tree: tuple[float, float], margin: int = 6) -> tuple[int, int, int, int]:
    """A box around a tree in a photo, px, as one draws it: a little too large."""
    x, z = tree
    turns = np.linspace(0, 2 * np.pi, 73)
    rings = [
        np.array(middle) + (x, 0.0, z) + radius * np.outer(np.cos(turns), one) + radius * np.outer(np.sin(turns), two)
        for middle, radius in BALLS
        for one, two in ((np.eye(3)[0], np.eye(3)[1]), tuple(camera.axes()[:2]))
    ]
    foot = np.array([(x + side, 0.0, z) for side in (-TRUNK_RADIUS, TRUNK_RADIUS)])
    seen = camera.project(np.concatenate([*rings, foot]))
    low, high = np.floor(seen.min(axis=0)) - margin, np.ceil(seen.max(axis=0)) + margin
    return int(low[0]), int(low[1]), int(high[0]), int(high[1])


def wall_behind(camera: Camera, box: tuple[int, int, int, int]) -> tuple[float, float]:
    """From where to where along the wall a box of a photo hides it, at the box's middle height, mm."""
    middle = (box[1] + box[3]) / 2
    rays = np.array([[(box[0]), middle], [(box[2]), middle]]) - np.array(camera.size) / 2
    ways = np.column_stack([rays / camera.lens_px, np.ones(2)]) @ camera.axes()
    eye = np.array(camera.eye)
    ends = eye[0] - ways[:, 0] * eye[2] / ways[:, 2]
    return float(ends[0]), float(ends[1])


def take_photo(camera: Camera, samples: int = 3) -> NDArray[np.uint8]:
    """The scene as a camera sees it, (height, width, 3)."""
    wide, high = camera.size
    strips = []
    for top in range(0, high, 50):  # in strips, to bound the memory
        at = np.stack(np.meshgrid(np.arange(wide), np.arange(top, min(top + 50, high))), axis=-1)
        strips.append(colours_at(camera, at.reshape(-1, 2), samples).reshape(-1, wide, 3))
    return np.concatenate(strips)


def colours_at(camera: Camera, pixels: NDArray[np.int64], samples: int = 3) -> NDArray[np.uint8]:
    """The colours of some pixels (x, y), shape (n, 2), of a photo; each is the mean of `samples` squared rays."""
    steps = (np.arange(samples) + 0.5) / samples
    within = np.stack(np.meshgrid(steps, steps), axis=-1).reshape(-1, 2)
    at = (pixels[:, None] + within).reshape(-1, 2) - np.array(camera.size) / 2
    ways = np.column_stack([at / camera.lens_px, np.ones(len(at))]) @ camera.axes()
    seen = _look(np.array(camera.eye), ways).reshape(len(pixels), -1, 3).mean(axis=1)
    colours: NDArray[np.uint8] = np.rint(np.clip(seen, 0, 255)).astype(np.uint8)
    return colours


def _look(eye: Floats, ways: Floats) -> Floats:
    """The colour that each ray from the eye meets first, (n, 3)."""
    colour = _sky(ways)
    nearest = np.full(len(ways), np.inf)
    trees = [part for x, z in TREES for part in _tree(eye - (x, 0.0, z), ways)]
    for reach, paint in (_ground(eye, ways), *_house(eye, ways), *trees):
        met = reach < nearest
        nearest[met] = reach[met]
        colour[met] = paint[met]
    return colour


def _sky(ways: Floats) -> Floats:
    up = np.clip(ways[:, 1:2] / np.linalg.norm(ways, axis=1, keepdims=True), 0, 1)
    colour: Floats = np.array([226.0, 236.0, 240.0]) - up * np.array([120.0, 80.0, 30.0])
    return colour


def _met(reach: Floats, inside: NDArray[np.bool_]) -> Floats:
    """How far along each ray a surface is met; infinity where it isn't."""
    return np.where(inside & (reach > 0), reach, np.inf)


def _ground(eye: Floats, ways: Floats) -> tuple[Floats, Floats]:
    with np.errstate(divide="ignore", invalid="ignore"):
        reach = -eye[1] / ways[:, 1]
        x, z = eye[0] + reach * ways[:, 0], eye[2] + reach * ways[:, 2]
        speck = 8 * np.sin(x / 210) * np.sin(z / 170)
    path = (np.abs(x - 6857) < 700) & (z > 0)
    paint = np.where(path[:, None], [196.0, 184.0, 160.0], [118.0, 148.0, 84.0]) + np.nan_to_num(speck)[:, None]
    return _met(np.nan_to_num(reach, nan=-1.0, posinf=-1.0, neginf=-1.0), ways[:, 1] < 0), paint


def _house(eye: Floats, ways: Floats) -> list[tuple[Floats, Floats]]:
    """The front with its gable, and the two sides."""
    reach = -eye[2] / ways[:, 2]
    x, y = eye[0] + reach * ways[:, 0], eye[1] + reach * ways[:, 1]
    gable = np.minimum(x, WIDTH - x) * (RIDGE - EAVES) / (WIDTH / 2) + EAVES
    faces = [(_met(reach, (x >= 0) & (x <= WIDTH) & (y >= 0) & (y <= gable)), _front(x, y, gable))]
    for side in (0.0, WIDTH):
        with np.errstate(divide="ignore"):
            reach = (side - eye[0]) / ways[:, 0]
        y, z = eye[1] + reach * ways[:, 1], eye[2] + reach * ways[:, 2]
        inside = (z <= 0) & (z >= -DEPTH) & (y >= 0) & (y <= EAVES)
        faces.append((_met(reach, inside), np.tile([128.0, 112.0, 92.0], (len(ways), 1))))
    return faces


def _front(x: Floats, y: Floats, gable: Floats) -> Floats:
    """The colour of the front at a place on it: boards, a stone foot, openings with white casings."""
    paint = np.tile([214.0, 190.0, 142.0], (len(x), 1))
    paint[(y % 200) < 22] = [176.0, 150.0, 108.0]
    paint[y < FIRST] = [136.0, 132.0, 126.0]
    paint[(y > EAVES - 90) & (y < EAVES + 90)] = [240.0, 236.0, 224.0]
    paint[gable - y < 260] = [112.0, 58.0, 46.0]
    from_round = np.hypot(x - ROUND_WINDOW[0], y - ROUND_WINDOW[1]) - ROUND_WINDOW[2]
    paint[from_round < 100] = [240.0, 236.0, 224.0]
    paint[from_round < 0] = [52.0, 66.0, 84.0]
    for name, (left, bottom, right, top) in OPENINGS.items():
        casing = (x > left - 110) & (x < right + 110) & (y > bottom - 110 * (name != "door")) & (y < top + 110)
        paint[casing] = [240.0, 236.0, 224.0]
        inside = (x > left) & (x < right) & (y > bottom) & (y < top)
        paint[inside] = [96.0, 44.0, 36.0] if name == "door" else [52.0, 66.0, 84.0]
        if name != "door":
            bars = (np.abs(x - (left + right) / 2) < 28) | (np.abs(y - (bottom + top) / 2) < 28)
            paint[inside & bars] = [240.0, 236.0, 224.0]
    return paint


def _tree(eye: Floats, ways: Floats) -> list[tuple[Floats, Floats]]:
    """A tree whose foot is the origin."""
    parts = [_ball(eye, ways, np.array(middle), radius) for middle, radius in BALLS]
    reach, normal = _round(eye[[0, 2]], ways[:, [0, 2]], TRUNK_RADIUS)
    y = eye[1] + reach * ways[:, 1]
    light = 0.6 + 0.4 * np.clip(normal @ SUN[[0, 2]], 0, 1)
    paint = light[:, None] * np.array([104.0, 78.0, 54.0])
    return [*parts, (_met(np.nan_to_num(reach, nan=-1.0), (y >= 0) & (y <= 2600)), paint)]


def _ball(eye: Floats, ways: Floats, middle: Floats, radius: float) -> tuple[Floats, Floats]:
    reach, normal = _round(eye - middle, ways, radius)
    leaves = 14 * np.sin(40 * normal[:, 0]) * np.sin(37 * normal[:, 1] + 9 * normal[:, 2])
    light = 0.5 + 0.5 * np.clip(normal @ SUN, 0, 1)
    paint = light[:, None] * np.array([72.0, 118.0, 58.0]) + np.nan_to_num(leaves)[:, None]
    return _met(np.nan_to_num(reach, nan=-1.0), np.ones(len(ways), dtype=bool)), paint


def _round(eye: Floats, ways: Floats, radius: float) -> tuple[Floats, Floats]:
    """Where rays first meet a sphere (a circle, in two dimensions) around the origin, and the normals there; nan for
    those that miss."""
    a, b = (ways**2).sum(axis=1), ways @ eye
    with np.errstate(invalid="ignore"):
        reach = (-b - np.sqrt(b**2 - a * (eye @ eye - radius**2))) / a
        return reach, (eye + reach[:, None] * ways) / radius


if __name__ == "__main__":
    for own, place in (("left", LEFT), ("right", RIGHT)):
        Image.fromarray(take_photo(place)).save(Path(sys.argv[1]) / f"{own}.jpg", quality=90)
