"""How the picture looks after the base coats, after the middle, after the light, and done: as small pictures.

Enters: a finished build and where its shades lie. Leaves: files of bytes. Holds: the first three steps show paint
alone; the last one has the edges and shadows of the picture of the stack; the same build gives the same bytes.

Pixels, since the shades follow no outline that the page holds already: for the mill their outlines alone would have
49,000 points, and finding them takes eleven seconds where finding the pixels takes half of one.
"""

import io
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from layercut.geometry.coverage import Pixels, Window
from layercut.model import Made
from layercut.views.picture.compositing import board_bands, lay, marked_bands, seen_parts, total, wood_masks
from layercut.views.picture.scene import (
    BURNT,
    LIT,
    RIM_DARK,
    RIM_LIGHT,
    SHADOW,
    SHADOW_BLUR,
    SHADOW_SHIFT,
    SHADOW_STRENGTH,
    ShownSheet,
    rgb,
    stack_pieces,
)
from layercut.views.picture.shading import Mask, Shadow, parts, rim_bands, shadows_on
from layercut.views.picture.step_coats import SHADES, Coats, base_bands, lay_coat, mixed
from layercut.workplan import CoatSteps, SheetPaint

STEPS = 4
"""After the base coats, after the middle, after the light, done."""

SHEET_PX = 420
"""Width of a sheet's picture: four of them stand side by side on a page."""

CLOSE_PART = 0.26
"""A close look shows a square whose side is this part of the panel's longer one."""

CLOSE_STEP_PX = 8
"""Close looks begin at whole steps of so many pixels."""

QUALITY, METHOD = 68, 2
"""How well pictures are written, of 100, and how hard the writer tries, of 6: beyond that a picture grows 3 % smaller
and takes twice as long."""

GROUND = "#faf5ea"
"""What lies behind a sheet by itself: paper."""

MARKS_UNDER_PAINT = 0.45
"""How much of the burnt lines is seen through coats of paint (own choice, by eye)."""

Picture = NDArray[np.uint8]


@dataclass(frozen=True, slots=True)
class Shot:
    """One picture: a WebP file, its width and its height in pixels."""

    data: bytes
    width: int
    height: int


@dataclass(frozen=True, slots=True)
class SheetShots:
    """A sheet in the four steps, all of it and a close look; `corner_mm` is where that begins, from the top left."""

    whole: tuple[Shot, ...]
    close: tuple[Shot, ...]
    corner_mm: tuple[float, float]


@dataclass(frozen=True, slots=True)
class StepPictures:
    """The whole stack in the four steps, and each sheet from the back; `close_mm` is the side of every close look."""

    stack: tuple[Shot, ...]
    sheets: tuple[SheetShots, ...]
    close_mm: float


def draw_steps(build: Made, steps: CoatSteps) -> StepPictures:
    """All pictures of the four steps."""
    window, pieces = steps.window, stack_pieces(build)
    shape = (STEPS, window.height, window.width, 3)
    stack, sheets = np.empty(shape, np.uint8), np.empty((len(pieces), *shape), np.uint8)
    woods = wood_masks(pieces, window)
    shadows, coats = _shadows(build, woods, window), mixed(build.work.paint, steps)
    bands = [_bands(piece, sheet, build, steps) for piece, sheet in zip(pieces, build.work.paint.sheets, strict=True)]
    for rows, board in zip(window.bands, board_bands(build.stack.panel, window), strict=True):
        wood = [parts(mask[rows]) for mask in woods]
        seen = seen_parts(wood)
        sums = [_paper(1 - total(seen)) for _ in range(STEPS)]
        for place, shadow in enumerate(shadows):
            for step, sheet in enumerate(_in_steps(board, next(bands[place]), place, rows, coats)):
                _put(sheets[place, step, rows], _paper(1 - wood[place]) + sheet * wood[place])
                if step == STEPS - 1 and shadow is not None:
                    lay(sheet, rgb(SHADOW), shadow.rows(rows) * np.float32(SHADOW_STRENGTH))
                sums[step] += sheet * seen[place]
        for step, picture in enumerate(sums):
            _put(stack[step, rows], picture)
    side = _close_side(window)
    shots = [_sheet_shots(sheet, _telling(steps, place, side), side, window) for place, sheet in enumerate(sheets)]
    return StepPictures(tuple(_shot(Image.fromarray(one)) for one in stack), tuple(shots), side / window.scale)


@dataclass(frozen=True, slots=True, eq=False)
class _Band:
    """Some rows of a sheet: how far base coats cover them, the sums of their colours, what is burnt, and how far
    edges are lit and unlit."""

    covered: Pixels
    base: Pixels
    burnt: Pixels | None
    lit: Pixels
    unlit: Pixels


def _bands(piece: ShownSheet, sheet: SheetPaint, build: Made, steps: CoatSteps) -> Iterator[_Band]:
    marks = marked_bands(piece, steps.window)
    bases, rims = base_bands(sheet, build.work.paint, steps), rim_bands(piece, steps.window)
    for (covered, base), (lit, unlit) in zip(bases, rims, strict=True):
        yield _Band(covered, base, next(marks) if marks is not None else None, lit, unlit)


def _in_steps(board: Pixels, band: _Band, place: int, rows: slice, coats: Coats) -> Iterator[Pixels]:
    """Some rows of a sheet by itself in the four steps: its paint with the burnt lines that are seen through it, then
    with its lines drawn again and light on its edges."""
    picture = board * (1 - band.covered) + band.base
    yield _marked(picture, band.burnt, MARKS_UNDER_PAINT)
    for shade in SHADES:
        lay_coat(picture, shade, place, rows, coats)
        yield _marked(picture, band.burnt, MARKS_UNDER_PAINT)
    done = _marked(picture, band.burnt, 1.0)
    lay(done, rgb(LIT), band.lit * np.float32(RIM_LIGHT))
    lay(done, rgb(BURNT), band.unlit * np.float32(RIM_DARK))
    yield done


def _marked(picture: Pixels, burnt: Pixels | None, strength: float) -> Pixels:
    marked = picture.copy()
    if burnt is not None:
        lay(marked, rgb(BURNT), burnt * np.float32(strength))
    return marked


def _paper(left: Pixels) -> Pixels:
    """What lies behind, as far as it is seen."""
    return np.stack([left * np.float32(channel) for channel in rgb(GROUND)])


def _put(picture: Picture, colours: Pixels) -> None:
    """Write colours into some rows of a picture, in place."""
    for channel in range(3):
        picture[..., channel] = np.clip(colours[channel] + np.float32(0.5), 0, 255)


def _shadows(build: Made, woods: Sequence[Mask], window: Window) -> list[Shadow | None]:
    """The shadow on each sheet of those in front; nothing lies in front of the last."""
    thickness = build.job.material.thickness
    return [*shadows_on(woods, window.scale, SHADOW_SHIFT * thickness, SHADOW_BLUR * thickness), None]


def _close_side(window: Window) -> int:
    """The side of a close look, pixels."""
    return max(min(round(CLOSE_PART * max(window.width, window.height)), window.width, window.height), 1)


def _telling(steps: CoatSteps, place: int, side: int) -> tuple[int, int]:
    """The row and column where a close look of a sheet begins: where it has most edge and most light to show."""
    own = steps.of_sheet(place)[steps.labels]
    telling = own & ((steps.light > 127) | (steps.middle < 128))
    sums = np.pad(np.cumsum(np.cumsum(telling, axis=0, dtype=np.int32), axis=1, dtype=np.int32), ((1, 0), (1, 0)))
    found = sums[side:, side:] - sums[:-side, side:] - sums[side:, :-side] + sums[:-side, :-side]
    found = found[::CLOSE_STEP_PX, ::CLOSE_STEP_PX]
    row, column = np.unravel_index(int(np.argmax(found)), found.shape)
    return int(row) * CLOSE_STEP_PX, int(column) * CLOSE_STEP_PX


def _sheet_shots(sheet: Picture, corner: tuple[int, int], side: int, window: Window) -> SheetShots:
    """A sheet's four pictures, and its four close looks."""
    top, left = corner
    images = [Image.fromarray(one) for one in sheet]
    small = [_shot(image.resize(_small(image), Image.Resampling.BOX)) for image in images]
    close = [_shot(image.crop((left, top, left + side, top + side))) for image in images]
    return SheetShots(tuple(small), tuple(close), (left / window.scale, top / window.scale))


def _small(image: Image.Image) -> tuple[int, int]:
    width = min(SHEET_PX, image.width)
    return width, max(round(image.height * width / image.width), 1)


def _shot(image: Image.Image) -> Shot:
    file = io.BytesIO()
    image.save(file, "WEBP", quality=QUALITY, method=METHOD)
    return Shot(file.getvalue(), image.width, image.height)
