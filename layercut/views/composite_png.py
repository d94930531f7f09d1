"""The picture of the finished stack in pixels, as composite.py has it in SVG.

Enters: a `Build` and a width. Leaves: PNG bytes. Holds: every sheet covers what its wood covers, to the part of a
pixel; a colour is the drawing's own wherever neither shadow nor edge falls; the same build gives the same bytes.
"""

import io

import numpy as np
from PIL import Image

from layercut.model import Build
from layercut.views.composite import captions_svg, compose_svg, faults_svg, render_png
from layercut.views.flat import Flat, flat_picture, lay
from layercut.views.light import fallen, rims_of, shadows_on
from layercut.views.png import png_bytes
from layercut.views.raster import Pixels, Window, region_edges
from layercut.views.scene import (
    APART_COPIES,
    APART_EDGE,
    APART_SKEW,
    APART_WIDTH,
    BURNT,
    EDGE,
    FALL_STRENGTH,
    LIT,
    RIM_DARK,
    RIM_LIGHT,
    RIM_MM,
    SHADOW,
    SHADOW_BLUR,
    SHADOW_SHIFT,
    SHADOW_STRENGTH,
    WALL,
    Box,
    Piece,
    Rack,
    depth_of,
    rack_of,
    rgb,
    stack_box,
    stack_pieces,
)

MOST_PIXELS = 10_000_000
"""Beyond so many a picture would take more than a gigabyte of memory here; a renderer then draws the SVG."""

CARD_MARGIN_PX = 2
"""Empty pixels around a sheet that will lean in the rack."""


def compose_png(build: Build, width_px: int = 1400, *, exploded: bool = False) -> bytes:
    """The stack as it will hang on the wall, `width_px` wide; `exploded` shows the sheets apart, back to front."""
    pieces = stack_pieces(build)
    _, _, width_mm, height_mm = rack_of(build, pieces).box if exploded else stack_box(build, pieces)
    if width_px**2 * height_mm / width_mm > MOST_PIXELS:
        return render_png(compose_svg(build, exploded=exploded), width_px)
    picture = _exploded(build, width_px) if exploded else _assembled(build, width_px)
    pixels = np.empty((*picture.shape[1:], 3), dtype=np.uint8)
    for channel in range(3):
        pixels[..., channel] = np.clip(picture[channel] + 0.5, 0, 255)
    return png_bytes(pixels)


def _assembled(build: Build, width_px: int) -> Pixels:
    pieces = stack_pieces(build)
    box = stack_box(build, pieces)
    picture = _wall(box, width_px)
    _, height, width = picture.shape
    whole = Window(width, height, width_px / box[2], box[0], box[1])
    outline = np.clip(region_edges([build.stack.panel.outline], whole).covered(), 0, 1)
    depth_px = depth_of(build, pieces) * whole.scale
    shadow = fallen(outline, SHADOW_SHIFT * depth_px, SHADOW_BLUR * depth_px)
    lay(picture, rgb(SHADOW), shadow * np.float32(SHADOW_STRENGTH))
    window, rows, columns = _panel_window(build, whole)
    flat = flat_picture(build.stack.panel, pieces, window)
    _light(flat, window.scale, build.job.material.thickness)
    lay(picture[:, rows, columns], flat.colour, np.asarray(sum(flat.seen), dtype=np.float32))
    if not build.makeable and (faults := faults_svg(build)):
        _lay_rendered(picture, faults)
    return picture


def _panel_window(build: Build, whole: Window) -> tuple[Window, slice, slice]:
    """The part of a picture that the panel touches: only there the sheets need working out."""
    panel, scale = build.stack.panel, whole.scale
    left, top = int(-whole.x_mm * scale), int(-whole.y_mm * scale)
    right = min(int((panel.width_mm - whole.x_mm) * scale) + 1, whole.width)
    bottom = min(int((panel.height_mm - whole.y_mm) * scale) + 1, whole.height)
    window = Window(right - left, bottom - top, scale, whole.x_mm + left / scale, whole.y_mm + top / scale)
    return window, slice(top, bottom), slice(left, right)


def _wall(box: Box, width_px: int) -> Pixels:
    """The wall, lighter towards the lamp, as the SVG's gradient has it: from a corner to (0.6, 1) of the box."""
    height_px = max(round(box[3] * width_px / box[2]), 1)
    across = (np.arange(width_px, dtype=np.float32)[None, :] + 0.5) / width_px
    down = (np.arange(height_px, dtype=np.float32)[:, None] + 0.5) / height_px
    along = np.minimum((0.6 * across + down) / np.float32(1.36), 1)
    light, dark = map(rgb, WALL)
    return np.stack([np.float32(light[c]) + along * np.float32(dark[c] - light[c]) for c in range(3)])


def _light(flat: Flat, scale: float, thickness_mm: float) -> None:
    """Edges and shadows upon the flat colours of a stack, in place."""
    _edges(flat, scale)
    shadows = shadows_on(flat.woods, scale, SHADOW_SHIFT * thickness_mm, SHADOW_BLUR * thickness_mm)
    if shadows:
        dark = sum(seen * shadow for seen, shadow in zip(flat.seen[:-1], shadows, strict=True))
        lay(flat.colour, rgb(SHADOW), np.asarray(dark, dtype=np.float32) * np.float32(SHADOW_STRENGTH))


def _edges(flat: Flat, scale: float) -> None:
    """The edges of the sheets that are seen, light towards the lamp and dark on the other side."""
    rims = [rims_of(wood, RIM_MM * scale) for wood in flat.woods]
    lit, unlit = (
        np.asarray(sum(rim[side] * seen for rim, seen in zip(rims, flat.seen, strict=True)), dtype=np.float32)
        for side in (0, 1)
    )
    lay(flat.colour, rgb(LIT), lit * np.float32(RIM_LIGHT))
    lay(flat.colour, rgb(BURNT), unlit * np.float32(RIM_DARK))


def _exploded(build: Build, width_px: int) -> Pixels:
    pieces = stack_pieces(build)
    rack = rack_of(build, pieces)
    picture = _wall(rack.box, width_px)
    for piece, at in zip(pieces, rack.at, strict=True):
        _stand(picture, build, piece, at, rack)
    _lay_rendered(picture, captions_svg(build))
    return picture


def _stand(picture: Pixels, build: Build, piece: Piece, at: tuple[float, float], rack: Rack) -> None:
    """Put one sheet into the rack, in place: it is made as seen from the front, then leant."""
    _, height, width = picture.shape
    scale = width / rack.box[2]
    panel = build.stack.panel
    # A few empty pixels all around, or the edges of the leaning sheet would be jagged.
    margin = CARD_MARGIN_PX
    card_width, card_height = (int(side * scale) + 1 + 2 * margin for side in (panel.width_mm, panel.height_mm))
    window = Window(card_width, card_height, scale, -margin / scale, -margin / scale)
    flat = flat_picture(panel, (piece,), window)
    _edges(flat, scale)
    corner = ((at[0] - rack.box[0]) * scale, (at[1] - rack.box[1]) * scale)
    thickness_px = build.job.material.thickness * scale

    def lean(channel: Pixels, back_px: float = 0.0) -> Pixels:
        behind = (corner[0] - APART_EDGE[0] * back_px, corner[1] - APART_EDGE[1] * back_px)
        return _leant(channel, behind, (width, height))

    wood, fall = lean(flat.woods[0]), rack.fall_mm * scale
    lay(picture, rgb(SHADOW), fallen(wood, fall, 0.7 * fall) * np.float32(FALL_STRENGTH))
    for copy in range(APART_COPIES, 0, -1):
        shade = EDGE if copy < APART_COPIES else BURNT
        lay(picture, rgb(shade), lean(flat.woods[0], thickness_px * copy / APART_COPIES))
    lay(picture, np.stack([lean(channel) for channel in flat.colour]), wood)


def _leant(channel: Pixels, corner: tuple[float, float], size: tuple[int, int]) -> Pixels:
    """One channel of a sheet as it stands in the rack, its top left corner at `corner`, in a picture of `size`."""
    # Pillow asks where each pixel of the result comes from: the inverse of the SVG's matrix.
    x, y = corner
    across, up = 1 / APART_WIDTH, -APART_SKEW / APART_WIDTH
    matrix = (across, 0.0, CARD_MARGIN_PX - x * across, up, 1.0, CARD_MARGIN_PX - y - x * up)
    image = Image.fromarray(channel).transform(size, Image.Transform.AFFINE, matrix, Image.Resampling.BILINEAR)
    return np.asarray(image, dtype=np.float32)


def _lay_rendered(picture: Pixels, svg: str) -> None:
    """Lay an SVG picture of the same box over the pixels, in place."""
    _, height, width = picture.shape
    with Image.open(io.BytesIO(render_png(svg, width))) as image:
        over = np.asarray(image.convert("RGBA").resize((width, height)), dtype=np.float32)
    lay(picture, np.moveaxis(over[..., :3], -1, 0), over[..., 3] / np.float32(255))
