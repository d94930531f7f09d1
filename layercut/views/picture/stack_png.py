"""The picture of the finished stack in pixels, as composite.py has it in SVG.

Enters: a `Build` and a width. Leaves: PNG bytes. Holds: every sheet covers what its wood covers, to the part of a
pixel; a colour is the drawing's own wherever neither shadow nor edge falls; the same build gives the same bytes.
"""

import io
from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from layercut.colour.bare import PLYWOOD
from layercut.geometry.coverage import Pixels, Window
from layercut.model import Planned
from layercut.png import png_bytes
from layercut.views.picture.compositing import Band, Light, stack_bands, wood_masks
from layercut.views.picture.scene import (
    APART_COPIES,
    APART_EDGE,
    APART_SKEW,
    APART_WIDTH,
    BURNT,
    EDGE,
    FALL_STRENGTH,
    SHADOW,
    SHADOW_BLUR,
    SHADOW_SHIFT,
    SHADOW_STRENGTH,
    WALL,
    Box,
    Rack,
    ShownSheet,
    depth_of,
    rack_of,
    rgb,
    stack_box,
    stack_pieces,
)
from layercut.views.picture.shading import Mask, Shadow, fallen, parts, rim_bands, shadows_on
from layercut.views.picture.stack_svg import captions_svg, compose_svg, faults_svg, render_png

PICTURE_WIDTH_PX = 1400
"""Width of a picture: sharp on a screen and on a page. `preview --width` says the same."""

MOST_PIXELS = 10_000_000
"""Beyond so many the arrays of a whole picture would take hundreds of megabytes; a renderer then draws the SVG."""

Picture = NDArray[np.uint8]
"""Pixels of shape (height, width, 3)."""

CARD_MARGIN_PX = 2
"""Empty pixels around a sheet that will lean in the rack."""


def compose_png(build: Planned, width_px: int = PICTURE_WIDTH_PX, *, exploded: bool = False) -> bytes:
    """The stack as it will hang on the wall, `width_px` wide; `exploded` shows the sheets apart, back to front."""
    pieces = stack_pieces(build)
    _, _, width_mm, height_mm = rack_of(build, pieces).box if exploded else stack_box(build, pieces)
    if width_px**2 * height_mm / width_mm > MOST_PIXELS:
        return render_png(compose_svg(build, exploded=exploded), width_px)
    return png_bytes(_exploded(build, width_px) if exploded else _assembled(build, width_px))


def _assembled(build: Planned, width_px: int) -> Picture:
    pieces = stack_pieces(build)
    box = stack_box(build, pieces)
    picture = _wall(box, width_px)
    height, width, _ = picture.shape
    scale = width_px / box[2]
    # Heights are whole pixels, so the picture is stretched by a part of one, as a renderer stretches the SVG.
    whole = Window(width, height, scale, box[0], box[1], height / (scale * box[3]))
    (outline,) = wood_masks([ShownSheet("", build.stack.panel.outline, ())], whole)
    depth_px = depth_of(build, pieces) * whole.scale
    shadow = fallen(outline, SHADOW_SHIFT * depth_px, SHADOW_BLUR * depth_px)
    for rows in whole.bands:
        _lay_on(picture[rows], rgb(SHADOW), shadow.rows(rows) * np.float32(SHADOW_STRENGTH))
    window, rows, columns = _panel_window(build, whole)
    panel = picture[rows, columns]
    for band in _lit_bands(build, pieces, window):
        under = panel[band.rows]
        for channel in range(3):
            under[..., channel] = under[..., channel] * (1 - band.cover) + band.colour[channel] + 0.5
    if not build.makeable and (faults := faults_svg(build)):
        _lay_rendered(picture, faults)
    return picture


def _lay_on(picture: Picture, colour: Sequence[float] | Pixels, strength: Pixels) -> None:
    """Lay a colour, or a picture, upon some rows of a picture, in place, as strongly as `strength` says."""
    for channel in range(3):
        under = picture[..., channel].astype(np.float32)
        under += (colour[channel] - under) * strength
        picture[..., channel] = np.clip(under + 0.5, 0, 255)


def _panel_window(build: Planned, whole: Window) -> tuple[Window, slice, slice]:
    """The part of a picture that the panel touches: only there the sheets need working out."""
    panel = build.stack.panel
    corners = whole.to_pixels(np.array([(0.0, 0.0), (panel.width_mm, panel.height_mm)])).astype(int)
    (left, top), (right, bottom) = corners[0], np.minimum(corners[1] + 1, (whole.width, whole.height))
    x, y = whole.to_mm(np.array([left, top])).tolist()
    window = Window(int(right - left), int(bottom - top), whole.scale, x, y, whole.stretch)
    return window, slice(top, bottom), slice(left, right)


def _wall(box: Box, width_px: int) -> Picture:
    """The wall, lighter towards the lamp, as the SVG's gradient has it: from a corner to (0.6, 1) of the box."""
    height_px = max(round(box[3] * width_px / box[2]), 1)
    across = (np.arange(width_px, dtype=np.float32)[None, :] + 0.5) / width_px
    down = (np.arange(height_px, dtype=np.float32)[:, None] + 0.5) / height_px
    light, dark = map(rgb, WALL)
    picture = np.empty((height_px, width_px, 3), dtype=np.uint8)
    for rows in Window(width_px, height_px, 1.0).bands:
        along = np.minimum((0.6 * across + down[rows]) / np.float32(1.36), 1)
        for channel in range(3):
            picture[rows, :, channel] = light[channel] + along * np.float32(dark[channel] - light[channel]) + 0.5
    return picture


def _lit_bands(build: Planned, pieces: Sequence[ShownSheet], window: Window) -> Iterator[Band]:
    """A stack with its edges and shadows."""
    thickness = build.job.material.thickness
    woods = wood_masks(pieces, window)
    shadows = shadows_on(woods, window.scale, SHADOW_SHIFT * thickness, SHADOW_BLUR * thickness)
    lights = [_light(piece, window, dark) for piece, dark in zip(pieces, [*shadows, None], strict=True)]
    return stack_bands(build.stack.panel, pieces, woods, window, lights)


def _light(piece: ShownSheet, window: Window, shadow: Shadow | None) -> Iterator[Light]:
    """The light on one sheet, in bands."""
    for rows, (lit, unlit) in zip(window.bands, rim_bands(piece, window), strict=True):
        yield Light(lit, unlit, shadow.rows(rows) if shadow is not None else None)


def _exploded(build: Planned, width_px: int) -> Picture:
    pieces = stack_pieces(build)
    rack = rack_of(build, pieces)
    picture = _wall(rack.box, width_px)
    for piece, at in zip(pieces, rack.at, strict=True):
        _stand(picture, build, piece, at, rack)
    _lay_rendered(picture, captions_svg(build))
    return picture


def _stand(picture: Picture, build: Planned, piece: ShownSheet, at: tuple[float, float], rack: Rack) -> None:
    """Put one sheet into the rack, in place: it is made as seen from the front, then leant."""
    height, width, _ = picture.shape
    scale = width / rack.box[2]
    panel = build.stack.panel
    # A few empty pixels all around, or the edges of the leaning sheet would be jagged.
    margin = CARD_MARGIN_PX
    card_width, card_height = (int(side * scale) + 1 + 2 * margin for side in (panel.width_mm, panel.height_mm))
    window = Window(card_width, card_height, scale, -margin / scale, -margin / scale)
    (mask,) = woods = wood_masks([piece], window)
    card = np.empty((3, card_height, card_width), dtype=np.uint8)
    for band in stack_bands(panel, (piece,), woods, window, [_light(piece, window, None)]):
        # Bare wood around it, for the pixels at its edge are mixed with those beyond.
        beyond = np.array(rgb(PLYWOOD))[:, None, None] * (1 - band.cover)
        card[:, band.rows] = np.clip(band.colour + beyond + 0.5, 0, 255)
    corner = ((at[0] - rack.box[0]) * scale, (at[1] - rack.box[1]) * scale)
    thickness_px = build.job.material.thickness * scale

    def lean(channel: Mask, back_px: float = 0.0) -> Mask:
        behind = (corner[0] - APART_EDGE[0] * back_px, corner[1] - APART_EDGE[1] * back_px)
        return _leant(channel, behind, (width, height))

    wood, fall = lean(mask), rack.fall_mm * scale
    shadow = fallen(wood, fall, 0.7 * fall)
    edges = [
        (EDGE if copy < APART_COPIES else BURNT, lean(mask, thickness_px * copy / APART_COPIES))
        for copy in range(APART_COPIES, 0, -1)
    ]
    face = [lean(channel) for channel in card]
    for rows in Window(width, height, scale).bands:
        under = picture[rows]
        _lay_on(under, rgb(SHADOW), shadow.rows(rows) * np.float32(FALL_STRENGTH))
        for shade, edge in edges:
            _lay_on(under, rgb(shade), parts(edge[rows]))
        _lay_on(under, np.stack([channel[rows] for channel in face]), parts(wood[rows]))


def _leant(channel: Mask, corner: tuple[float, float], size: tuple[int, int]) -> Mask:
    """One channel of a sheet as it stands in the rack, its top left corner at `corner`, in a picture of `size`."""
    # Pillow asks where each pixel of the result comes from: the inverse of the SVG's matrix.
    x, y = corner
    across, up = 1 / APART_WIDTH, -APART_SKEW / APART_WIDTH
    matrix = (across, 0.0, CARD_MARGIN_PX - x * across, up, 1.0, CARD_MARGIN_PX - y - x * up)
    image = Image.fromarray(channel).transform(size, Image.Transform.AFFINE, matrix, Image.Resampling.BILINEAR)
    return np.asarray(image)


def _lay_rendered(picture: Picture, svg: str) -> None:
    """Lay an SVG picture of the same box over the pixels, in place."""
    height, width, _ = picture.shape
    with Image.open(io.BytesIO(render_png(svg, width))) as image:
        over = np.asarray(image.convert("RGBA").resize((width, height)))
    for rows in Window(width, height, 1.0).bands:
        _lay_on(picture[rows], np.moveaxis(over[rows, :, :3], -1, 0), parts(over[rows, :, 3]))
