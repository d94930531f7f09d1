"""docs/walkthrough.md, run as it stands: each output that it shows is what its commands say, and its scale is right.

`--update-gold` draws the page's guide.png and stack.png anew.
"""

import math
import re
from pathlib import Path

import numpy as np
import pytest
import resvg_py
import scene_photos as scene
from lxml import etree
from PIL import Image
from walk import GIVEN, NUMBER, PAGE, Walk, fences

MOST_BYTES = 150_000
"""Of a picture of the page."""


def test_each_output_that_the_page_shows_is_what_its_commands_say(walk: Walk) -> None:
    starts = [start for start, _ in fences("sh")]
    shown = fences("text")
    assert len(shown) >= 5
    for place, text in shown:
        block = sum(start < place for start in starts) - 1
        lines = walk.printed[block].splitlines()
        for line in text.splitlines():
            assert line in lines, f"after:\n{walk.blocks[block]}"


def test_what_the_page_says_of_corners_and_trees_is_what_the_photos_show() -> None:
    text = " ".join(text for _, text in fences("sh"))
    said = dict(re.findall(r'--(second-corners|corners) "([^"]*)"', text))
    said |= dict(re.findall(r"--(second-hidden|hidden) (\S+)", text))
    for prefix, camera, tree in (("", scene.LEFT, scene.TREES[0]), ("second-", scene.RIGHT, scene.TREES[1])):
        assert said[f"{prefix}corners"] == " ".join(f"{x},{y}" for x, y in scene.wall_corners(camera))
        assert said[f"{prefix}hidden"] == ",".join(map(str, scene.tree_box(camera, tree)))


@pytest.mark.parametrize(("name", "camera"), [("left", scene.LEFT), ("right", scene.RIGHT)])
def test_the_photos_are_of_the_scene(name: str, camera: scene.Camera) -> None:
    """At some thousand pixels, as far as JPEG keeps them."""
    photo = np.asarray(Image.open(GIVEN / f"{name}.jpg").convert("RGB")).astype(float)
    assert photo.shape == (camera.size[1], camera.size[0], 3)
    at = np.random.default_rng(6).integers((0, 0), camera.size, (6000, 2))
    difference = np.abs(photo[at[:, 1], at[:, 0]] - scene.colours_at(camera, at)).mean(axis=1)
    assert difference.mean() < 3
    assert np.quantile(difference, 0.99) < 25


def test_the_pages_pictures_are_small_and_there(walk: Walk, update_gold: bool) -> None:
    if update_gold:
        guide = (walk.folder / "guide-only.svg").read_text() + "</svg>"
        png = bytes(resvg_py.svg_to_bytes(svg_string=guide, dpi=96, width=900, background="#ffffff"))
        (walk.folder / "guide.png").write_bytes(png)
        shrink(walk.folder / "guide.png", GIVEN / "guide.png")
        shrink(walk.folder / "ferry-house-sheets" / "stack.png", GIVEN / "stack.png")
    names = set(re.findall(r"walkthrough/([\w-]+\.\w+)\)", PAGE.read_text(encoding="utf-8")))
    assert names == {path.name for path in GIVEN.iterdir()} - {"drawn.svg"}
    assert all((GIVEN / name).stat().st_size < MOST_BYTES for name in names)


def shrink(picture: Path, to: Path) -> None:
    """A picture for the page: 900 px wide, in 200 colours where it is too large."""
    image = Image.open(picture).convert("RGB")
    image = image.resize((900, round(image.height * 900 / image.width)), Image.Resampling.LANCZOS)
    image.save(to, optimize=True)
    if to.stat().st_size >= MOST_BYTES:
        image.quantize(200, dither=Image.Dither.NONE).save(to, optimize=True)


def test_the_scale_is_the_one_that_arithmetic_gives(walk: Walk) -> None:
    words = walk.blocks[0]
    feet, bar = map(float, re.findall(rf"--scale-bar {NUMBER}ft={NUMBER}px", words)[0])
    pixels = float(re.findall(rf"--width {NUMBER}px", words)[0])
    width = feet * 304.8 * pixels / bar
    sure = width * math.hypot(1 / pixels, 1 / bar)
    height = 457.2 + 2 * 2743.2 + width / 4
    assert abs(width - scene.WIDTH) < sure  # the measure is as good as it says
    room = (304.8 - 12.7, 228.6 - 12.7)
    usual = [1, 2, 5, 10, 12, 16, 20, 24, 32, 48, 50, 64, 72, 304.8 / 3.5, 96, 100]
    fitting = [n for n in usual if (width + sure) / n <= room[0] and (height + sure / 4) / n <= room[1]]
    guide = etree.parse(walk.folder / "ferry-house.svg").getroot().find("{*}g")
    assert guide is not None
    assert float(guide.get("data-layercut-scale", "")) == min(fitting) == 48
    walls = [float(word) for word in guide.get("data-layercut-walls", "").split()]
    assert walls[2:] == pytest.approx([width / 48, (height - width / 4) / 48], abs=0.001)
