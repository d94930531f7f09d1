"""The painted stack against the drawing, colour by colour, both by an independent renderer (resvg).

The stack is `stack.svg` without all that bears a `data-part`; the drawing is rendered whole, over bare wood. They are
compared in OKLab at every pixel inside the frame, away from the edges that the drawing's picture shows.
"""

import io
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import resvg_py
import shapely
from elements import elements, parent
from lxml import etree
from numpy.typing import NDArray
from PIL import Image
from scipy import ndimage

from layercut.drawing import read_drawing
from layercut.job import load_job
from layercut.model import Panel
from layercut.pipeline import plan_drawing
from layercut.views.picture.stack_svg import compose_svg

SVG = "{http://www.w3.org/2000/svg}"

BARE = (0xDC, 0xBC, 0x8C)
"""Bare wood, as the outside contract has it."""

WRONG = 0.03
"""Two colours differ when they are further apart than this in OKLab."""

ROUNDING = 2
"""Levels of 255 by which a channel may differ without its colour being another: 8 bits are rounded on either side,
and near black one level is more than `WRONG`."""

EDGE_STEP = 4
"""Where a channel bends by more than so many levels from a pixel to the next and the one after it, there is an edge.
A gradient's does so only at its stops, unless it is shorter than a dozen pixels."""

NEAR_EDGE_PX = 2
INSIDE_MM = 0.25
"""So far inside the frame counts."""

Picture = NDArray[np.uint8]


@dataclass(frozen=True)
class Colours:
    """How many pixels were compared, of how many inside the frame; how many are wrong, and where it is worst."""

    inside: int
    compared: int
    wrong: int
    worst: float
    at_mm: tuple[float, float] | None

    @property
    def share(self) -> float:
        """The part of the compared pixels that have a wrong colour."""
        return self.wrong / max(self.compared, 1)


def stack_colours(
    path: Path, job_file: Path | None = None, settings: Sequence[str] = (), px_per_mm: float = 4
) -> Colours:
    """A drawing's painted stack against the drawing, every stroke being wood, islands lying where they are drawn, and
    every colour having a pot of its own.

    Raises LayercutError where the drawing isn't read.
    """
    job = load_job(job_file, ["islands.policy=loose", "marks.line_below=0mm", "paint.merge=0", *settings])
    build = plan_drawing(read_drawing(path, job), job)
    return compare_colours(path.read_bytes(), compose_svg(build), build.stack.panel, px_per_mm)


def compare_colours(drawing: str | bytes, stack: str, panel: Panel, px_per_mm: float = 4) -> Colours:
    """The painted stack of `stack.svg` against the drawing it is of."""
    size = (round(panel.width_mm * px_per_mm), round(panel.height_mm * px_per_mm))
    return compare_pictures(drawn(drawing, size), painted(stack, panel, size), panel)


def compare_pictures(wanted: Picture, shown: Picture, panel: Panel) -> Colours:
    """Two pictures of a panel, (height, width, 3), the first being right."""
    inside = _inside(wanted.shape, panel)
    counted = inside & ~edges_of(wanted)
    off = np.linalg.norm(oklab(wanted) - oklab(shown), axis=-1)
    levels = np.abs(wanted.astype(int) - shown).max(axis=-1)
    wrong = counted & (off > WRONG) & (levels > ROUNDING)
    spot = np.unravel_index(np.argmax(np.where(wrong, off, -1)), wrong.shape)
    scale = panel.width_mm / wanted.shape[1]
    at = (float(spot[1] + 0.5) * scale, float(spot[0] + 0.5) * scale) if wrong.any() else None
    return Colours(int(inside.sum()), int(counted.sum()), int(wrong.sum()), float(off[spot]), at)


def painted_only(stack: str) -> etree._Element:
    """The stack without what isn't paint."""
    root = etree.fromstring(stack.encode())
    for element in elements(root, "//*[@data-part]"):
        parent(element).remove(element)
    return root


def painted(stack: str, panel: Panel, size: tuple[int, int]) -> Picture:
    """The painted stack in pixels: the panel alone, over bare wood."""
    root = painted_only(stack)
    root.set("viewBox", f"0 0 {panel.width_mm} {panel.height_mm}")
    root.set("width", str(size[0]))
    root.set("height", str(size[1]))
    root.set("preserveAspectRatio", "none")
    return _rendered(etree.tostring(root, encoding="unicode"), size)


def drawn(drawing: str | bytes, size: tuple[int, int]) -> Picture:
    """The drawing in pixels, over bare wood."""
    return _rendered(drawing.decode() if isinstance(drawing, bytes) else drawing, size)


def _rendered(text: str, size: tuple[int, int]) -> Picture:
    width, height = size
    png = bytes(resvg_py.svg_to_bytes(svg_string=text, width=width, dpi=96, languages=["en"]))
    with Image.open(io.BytesIO(png)) as image:
        pixels = image.convert("RGBA")
    if pixels.height != height:  # the renderer rounds the height by itself; half a row more or less is cut or added
        pixels = pixels.transform((width, height), Image.Transform.EXTENT, (0, 0, width, height))
    under = Image.new("RGBA", pixels.size, (*BARE, 255))
    return np.asarray(Image.alpha_composite(under, pixels).convert("RGB"))


def edges_of(picture: Picture) -> NDArray[np.bool_]:
    """Pixels near a step of colour: where a channel bends, and all around."""
    levels = picture.astype(int)
    bend = np.zeros(picture.shape[:2], dtype=int)
    for axis in (0, 1):
        second = np.abs(np.diff(levels, 2, axis=axis)).max(axis=-1)
        inner = bend[1:-1] if axis == 0 else bend[:, 1:-1]
        np.maximum(inner, second, out=inner)
    near: NDArray[np.bool_] = ndimage.binary_dilation(bend > EDGE_STEP, np.ones((3, 3)), iterations=NEAR_EDGE_PX)
    return near


def _inside(shape: tuple[int, ...], panel: Panel) -> NDArray[np.bool_]:
    height, width = shape[:2]
    inner = shapely.buffer(panel.interior, -INSIDE_MM)
    shapely.prepare(inner)
    x = (np.arange(width) + 0.5) * panel.width_mm / width
    y = (np.arange(height) + 0.5) * panel.height_mm / height
    return np.asarray(shapely.contains_xy(inner, *np.meshgrid(x, y)))


def oklab(picture: Picture) -> NDArray[np.float64]:
    """OKLab of 8-bit sRGB pixels, (..., 3): B. Ottosson (2020), with sRGB's curve of IEC 61966-2-1."""
    levels = np.arange(256) / 255
    linear = np.where(levels <= 0.04045, levels / 12.92, ((levels + 0.055) / 1.055) ** 2.4)[picture]
    cones = np.cbrt(linear @ _TO_CONES.T)
    return np.asarray(cones @ _TO_LAB.T)


_TO_CONES = np.array(
    [
        [0.4122214708, 0.5363325363, 0.0514459929],
        [0.2119034982, 0.6806995451, 0.1073969566],
        [0.0883024619, 0.2817188376, 0.6299787005],
    ]
)
_TO_LAB = np.array(
    [
        [0.2104542553, 0.7936177850, -0.0040720468],
        [1.9779984951, -2.4285922050, 0.4505937099],
        [0.0259040371, 0.7827717662, -0.8086757660],
    ]
)
