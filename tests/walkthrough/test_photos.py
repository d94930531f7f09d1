"""The walk held against the scene that its photos were taken of: the squared-up picture, the drawing and the cut have
every edge where the scene has it."""

import io
import itertools
import math
import re
from pathlib import Path

import numpy as np
import pytest
import scene_photos as scene
from lxml import etree
from PIL import Image
from walk import GIVEN, NUMBER, Walk, contours

from layercut.setup.rectify import parse_shot, rectify

EDGE_MM = 20.0
"""How far an edge may come out from its place on the real house, as the page says: half of it is what a click on
whole pixels may do (a pixel's slip moves the picture by up to 23 mm), and 14.4 mm the overhead picture's own error
over the width of the house."""

SHAPE_MM = 10.0
"""The same without the overhead picture's error."""

DRAWN_MM = 5.0
"""A drawing in tenths of a millimetre, at 1:48."""


def shades_of(picture: Path) -> np.ndarray:
    return np.asarray(Image.open(picture).convert("L")).astype(float)


def edges_of(shades: np.ndarray, name: str, size_mm: tuple[float, float]) -> dict[str, float]:
    """Where an opening's edges lie in a squared-up picture of that size, mm from its left and lower edge, as one
    measures them.

    Each is where the mean of a strip across the edge passes halfway from the casing's shade to the opening's.
    """
    left, bottom, right, top = scene.OPENINGS[name]
    up = (bottom + 0.6 * (top - bottom), bottom + 0.8 * (top - bottom))
    across = (left + 0.15 * (right - left), left + 0.4 * (right - left))
    found = {"left": edge_across(shades, left, up, size_mm), "right": edge_across(shades, right, up, size_mm)}
    for side, place in (("bottom", bottom), ("top", top)):
        if (name, side) != ("door", "bottom"):  # it stands on the stone foot, without a casing
            found[side] = edge_up(shades, place, across, size_mm)
    return found


def edge_across(
    shades: np.ndarray, near_mm: float, up_mm: tuple[float, float], size_mm: tuple[float, float]
) -> float:
    """Where an upright edge lies, looked for around `near_mm` between two heights."""
    high, wide = shades.shape
    near = round(near_mm * wide / size_mm[0])
    rows = slice(*(round(high - up * high / size_mm[1]) for up in reversed(up_mm)))
    return (near - 6 + halfway(shades[rows, near - 6 : near + 6].mean(axis=0))) * size_mm[0] / wide


def edge_up(
    shades: np.ndarray, near_mm: float, across_mm: tuple[float, float], size_mm: tuple[float, float]
) -> float:
    """Where a level edge lies above the ground: the same in the picture on its side, whose left is the top."""
    wide_mm, high_mm = size_mm
    rows = (wide_mm - across_mm[1], wide_mm - across_mm[0])
    return high_mm - edge_across(shades.T, high_mm - near_mm, rows, (high_mm, wide_mm))


def halfway(profile: np.ndarray) -> float:
    """Where a strip of shades passes the middle of its darkest and its lightest, px; nan where it hardly changes."""
    middle = (profile.min() + profile.max()) / 2
    steps = np.flatnonzero((profile[:-1] - middle) * (profile[1:] - middle) <= 0)
    if np.ptp(profile) < 40 or not len(steps):
        return math.nan
    step = steps[np.argmin(np.abs(steps - len(profile) / 2))]
    return float(step + 0.5 + (middle - profile[step]) / (profile[step + 1] - profile[step]))


def true_edges(name: str) -> dict[str, float]:
    return dict(zip(("left", "bottom", "right", "top"), scene.OPENINGS[name], strict=True))


@pytest.fixture(scope="module")
def told_mm(walk: Walk) -> tuple[float, float]:
    """The wall's size as the maker has it, from the page's three numbers."""
    words = re.search(r"the wall is .*?\((\d+) mm\) wide and .*?\((\d+) mm\) high", walk.printed[1])
    assert words is not None
    return float(words[1]), float(words[2])


def picture_mm(walk: Walk, told_mm: tuple[float, float]) -> tuple[float, float]:
    """How much of the house the squared-up picture shows: the wall, and so far above it."""
    above = float(re.findall(rf"--above {NUMBER}ft", walk.blocks[1])[0])
    return told_mm[0], told_mm[1] + above * 304.8


def test_every_edge_of_the_picture_is_where_the_house_has_it(walk: Walk, told_mm: tuple[float, float]) -> None:
    shades, size = shades_of(walk.folder / "squared.png"), picture_mm(walk, told_mm)
    for name in scene.OPENINGS:
        for side, found in edges_of(shades, name, size).items():
            true = true_edges(name)[side]
            assert abs(found - true) < EDGE_MM, (name, side)
            share = scene.WIDTH / told_mm[0] if side in ("left", "right") else 1.0
            assert abs(found * share - true) < SHAPE_MM, (name, side)


def test_the_gable_above_the_corners_is_where_the_house_has_it(walk: Walk, told_mm: tuple[float, float]) -> None:
    """The round window, along its two middle lines; above the corners, a click's slip weighs more."""
    shades, size = shades_of(walk.folder / "squared.png"), picture_mm(walk, told_mm)
    x, y, radius = scene.ROUND_WINDOW
    for end in (x - radius, x + radius):
        assert abs(edge_across(shades, end, (y - 60, y + 60), size) - end) < EDGE_MM + 5
    for end in (y - radius, y + radius):
        assert abs(edge_up(shades, end, (x - 60, x + 60), size) - end) < EDGE_MM + 5


def test_what_hides_openings_in_each_photo_would_spoil_the_picture(walk: Walk, told_mm: tuple[float, float]) -> None:
    """The checks above can fail: without the boxes around the trees, openings in both hidden strips aren't right.

    Each tree hides from one photo what that photo sees larger, so that the larger view must not win there.
    """
    words = walk.blocks[1].replace("\\\n", "")
    corners = re.findall(r'corners "([^"]*)"', words)
    shots = [
        parse_shot(GIVEN / f"{name}.jpg", corner, told_mm)
        for name, corner in zip(("left", "right"), corners, strict=True)
    ]
    made = rectify(shots, told_mm, 48.0)
    shades = np.asarray(Image.open(io.BytesIO(made.png)).convert("L")).astype(float)
    strips = [
        scene.wall_behind(camera, scene.tree_box(camera, tree))
        for camera, tree in zip((scene.LEFT, scene.RIGHT), scene.TREES, strict=True)
    ]
    hidden = [
        [own for own, box in scene.OPENINGS.items() if start < box[0] and box[2] < end] for start, end in strips
    ]
    assert hidden == [["window below left", "window above left"], ["door", "window above door"]]
    for own in scene.OPENINGS:
        off = [abs(found - true_edges(own)[side]) for side, found in edges_of(shades, own, told_mm).items()]
        assert all(error < EDGE_MM for error in off) == (own not in itertools.chain(*hidden)), own


def test_the_picture_stands_on_the_guides_walls(walk: Walk) -> None:
    guide = etree.parse(walk.folder / "ferry-house.svg").getroot().find("{*}g")
    assert guide is not None
    image = guide.find("{*}image")
    assert image is not None
    x, y, width, height = (float(image.get(key, "")) for key in ("x", "y", "width", "height"))
    left, top, wide, high = (float(word) for word in guide.get("data-layercut-walls", "").split())
    assert (x, width) == pytest.approx((left, wide), abs=0.002)
    above = height - high
    assert above == pytest.approx(9 * 304.8 / 48, abs=0.002)
    assert (y, y + height) == pytest.approx((top - above, top + high), abs=0.002)


def on_house(x_mm: float, y_mm: float, walls: list[float]) -> tuple[float, float]:
    """A place on the panel as a place on the real front, mm from its left and lower edge."""
    return (x_mm - walls[0]) * 48, (walls[1] + walls[3] - y_mm) * 48


def test_what_is_cut_lies_where_the_house_has_it(walk: Walk) -> None:
    """The panes are openings of the front's sheet: each window's four together span the window."""
    root = etree.parse(walk.folder / "ferry-house.svg").getroot()
    walls = [float(word) for word in root.find("{*}g").get("data-layercut-walls").split()]  # type: ignore[union-attr]
    half = walk.job.material.kerf / 2
    boxes = [contour.bounds for contour in contours(walk, "sheets/03-front.svg", "cut-opening")]
    for name, (left, bottom, right, top) in scene.OPENINGS.items():
        if name == "door":
            continue  # it is wood
        middle = (left + right) / 2, (bottom + top) / 2
        panes = []
        for x0, y0, x1, y1 in boxes:
            x, y = on_house((x0 + x1) / 2, (y0 + y1) / 2, walls)
            if abs(x - middle[0]) < (right - left) / 2 and abs(y - middle[1]) < (top - bottom) / 2:
                panes.append((x0 - half, y0 - half, x1 + half, y1 + half))  # the beam's middle runs inside
        assert len(panes) == 4, name
        low, high = np.min(panes, axis=0), np.max(panes, axis=0)
        found = (*on_house(low[0], high[3], walls), *on_house(high[2], low[1], walls))
        for one, true in zip(found, (left, bottom, right, top), strict=True):
            assert abs(one - true) < EDGE_MM + DRAWN_MM, name
