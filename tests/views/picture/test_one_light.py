"""The picture in pixels and the SVG are one picture: the same sheets under the same light, by whoever draws them."""

import io
from pathlib import Path

import numpy as np
import pytest
import resvg_py
from numpy.typing import NDArray
from PIL import Image

from layercut import compose_png, compose_svg, load_job
from layercut.drawing import read_drawing
from layercut.pipeline import plan_drawing
from samples import SAMPLES, sample_build

LEVELS = 16
"""So much of 255 a pixel may differ by: what two ways to draw an edge differ by."""


def pixels(data: bytes) -> NDArray[np.int16]:
    return np.asarray(Image.open(io.BytesIO(data)).convert("RGB")).astype(np.int16)


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_at_most_one_pixel_in_a_hundred_differs(path: Path) -> None:
    build = sample_build(path, "islands.policy=loose")
    ours = pixels(compose_png(build))
    svg = compose_svg(build)
    rendered = pixels(bytes(resvg_py.svg_to_bytes(svg_string=svg, width=ours.shape[1], dpi=96)))
    assert ours.shape == rendered.shape
    assert (np.abs(ours - rendered).max(axis=2) > LEVELS).mean() <= 0.01


def test_the_sheets_apart_are_one_picture_too() -> None:
    """Leaning sheets are drawn by another way of taking the mean of pixels, so that edges differ more."""
    (drawing,) = (path for path in SAMPLES if path.stem == "garden")
    job = load_job(drawing.with_suffix(".toml"))
    build = plan_drawing(read_drawing(drawing, job), job)
    ours = pixels(compose_png(build, 900, exploded=True))
    svg = compose_svg(build, exploded=True)
    rendered = pixels(bytes(resvg_py.svg_to_bytes(svg_string=svg, width=900, dpi=96)))
    height = min(len(ours), len(rendered))
    assert (np.abs(ours[:height] - rendered[:height]).max(axis=2) > LEVELS).mean() <= 0.03
