"""Photos of a wall: read, registered on it by its corners, and how far that can be trusted.

Enters: picture files, the wall's corners in them (px from the picture's top left corner, as it is seen upright) and
its real size. Leaves: `View`, and lengths of error. Nothing of a photo but its pixels is kept: no place, no time, no
camera.
"""

import warnings
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageOps

from layercut.errors import LayercutError
from layercut.reading import open_plain
from layercut.setup.homography import (
    Floats,
    corner_effects,
    find_homography,
    map_points,
    wall_corners,
    wall_map,
)

MAX_PIXELS = 80_000_000
"""Larger pictures, read or made, are refused: they would fill the memory."""

MAX_BYTES = 512 * 2**20
"""A picture file larger than this, bytes, isn't opened: MAX_PIXELS of the deepest kind have less."""

Box = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class View:
    """One photo of the wall.

    `pixels` is (height, width, 3), 0 to 255; `corners` (4, 2); `hidden` are boxes of the photo in which something
    stands before the wall (x0, y0, x1, y1, px); `to_photo` takes the wall in mm to the photo's px.
    """

    name: str
    pixels: NDArray[np.uint8]
    corners: Floats
    hidden: tuple[Box, ...]
    to_photo: Floats

    @property
    def size(self) -> tuple[int, int]:
        """Width and height, px."""
        return self.pixels.shape[1], self.pixels.shape[0]


def read_photo(path: Path) -> NDArray[np.uint8]:
    """The pixels of a picture file, upright as its EXIF orientation says, (height, width, 3), 0 to 255.

    What is see-through counts as white. Raises LayercutError `photo-unreadable`.
    """
    name = str(path)
    try:
        with _open(path) as image:
            if image.width * image.height > MAX_PIXELS:
                message = f"has {image.width} x {image.height} pixels, too many to work on."
                raise LayercutError("photo-unreadable", message, "Save it smaller.", file=name)
            upright = ImageOps.exif_transpose(image)
            return np.asarray(_as_rgb(upright), dtype=np.uint8)
    except FileNotFoundError:
        raise LayercutError(
            "photo-unreadable", "there is no such picture.", "Check the name and the folder.", file=name
        ) from None
    except (OSError, ValueError, SyntaxError, EOFError, Image.DecompressionBombError) as error:
        reason = getattr(error, "strerror", None) or "it is damaged, or no kind of picture that layercut knows"
        message = f"can't be read as a picture ({reason})."
        raise LayercutError("photo-unreadable", message, "Save it as JPEG or PNG.", file=name) from None


@contextmanager
def _open(path: Path) -> Iterator[Image.Image]:
    """A picture file, its pixels not yet read."""
    with (
        warnings.catch_warnings(action="ignore"),  # of damaged EXIF, or size
        open_plain(path, MAX_BYTES) as stream,
        Image.open(stream) as image,
    ):
        yield image


def make_view(
    name: str,
    pixels: NDArray[np.uint8],
    corners: Floats,
    size_mm: tuple[float, float],
    *,
    hidden: Sequence[Box] = (),
    option: str = "--corners",
) -> View:
    """A photo registered on a wall of real size `size_mm`. Raises LayercutError `photo-corners`."""
    to_photo = wall_map(corners, *size_mm, option)
    high, wide = pixels.shape[:2]
    far = (corners < [-wide, -high]) | (corners > [2 * wide, 2 * high])
    if far.any():
        message = f"a corner lies far outside the photo, which has {wide} x {high} pixels."
        raise LayercutError("photo-corners", message, "Read them off in the picture's own pixels.", file=option)
    boxes = tuple((min(a, c), min(b, d), max(a, c), max(b, d)) for a, b, c, d in hidden)
    return View(name, pixels, corners, boxes, to_photo)


def raise_top(view: View, above_mm: float, width_mm: float) -> View:
    """The same view of a wall that goes on by `above_mm` above its corners, measured from up there.

    Raises LayercutError `photo-corners` where that is behind the camera.
    """
    if not above_mm:
        return view
    moved = view.to_photo @ np.array([[1.0, 0.0, 0.0], [0.0, 1.0, -above_mm], [0.0, 0.0, 1.0]])
    depths = [moved[2] @ (x, y, 1.0) for x in (0.0, width_mm) for y in (0.0, above_mm)]
    if min(depths) <= 0:  # of the wall's own corners they are positive
        message = "no camera could see the wall that far up."
        raise LayercutError("photo-corners", message, "Check --above and the corners.", file=view.name)
    return replace(view, to_photo=np.asarray(moved, dtype=np.float64))


def slip_effects(view: View, size_mm: tuple[float, float]) -> tuple[float, ...]:
    """How far one pixel's slip of each corner moves the picture at most, mm on the real wall."""
    return tuple(map(float, corner_effects(view.corners, *size_mm)))


def check_point(
    view: View, size_mm: tuple[float, float], seen: tuple[float, float], known_mm: tuple[float, float]
) -> tuple[float, float]:
    """How far a known point of the wall comes out from where it is: right and down, mm on the real wall.

    `seen` is where the photo shows it, px; `known_mm` where it is, from the wall's top left corner.
    """
    to_wall = find_homography(view.corners, wall_corners(*size_mm))
    found = map_points(to_wall, np.array([seen]))[0]
    return float(found[0] - known_mm[0]), float(found[1] - known_mm[1])


def _as_rgb(image: Image.Image) -> Image.Image:
    """Any kind of picture as RGB of 8 bits; 16-bit greys are brought down, see-through parts laid on white."""
    if image.mode.startswith(("I", "F")):
        grey = np.asarray(image, dtype=np.float64)
        top = 65535.0 if image.mode.startswith("I") else max(float(grey.max()), 1.0)
        image = Image.fromarray(np.clip(grey / top * 255, 0, 255).astype(np.uint8))
    if image.has_transparency_data:
        own = image.convert("RGBA")
        image = Image.alpha_composite(Image.new("RGBA", own.size, "white"), own)
    return image.convert("RGB")
