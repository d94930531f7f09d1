"""Pixels as a PNG.

Enters: an array of shape (height, width, 3 or 4), 8 bits. Leaves: PNG bytes, by Pillow. Holds: the same pixels give
the same bytes, and nothing but pixels is in them: no time, no place, no program.
"""

import io

import numpy as np
from numpy.typing import NDArray
from PIL import Image

SIGNATURE = b"\x89PNG\r\n\x1a\n"

LEVEL = 3
"""Of zlib: beyond it a picture grows little smaller and takes twice as long."""


def png_bytes(pixels: NDArray[np.uint8]) -> bytes:
    """The PNG file of a picture of shape (height, width, 3), or 4 with its opacity, which is kept where it says
    something."""
    if pixels.shape[2] == 4 and not (pixels[..., 3] < 255).any():
        pixels = np.ascontiguousarray(pixels[..., :3])
    file = io.BytesIO()
    Image.fromarray(pixels).save(file, "PNG", compress_level=LEVEL)
    return file.getvalue()
