"""Pixels as a PNG, read back by Pillow."""

import io

import numpy as np
import pytest
from PIL import Image

from layercut.png import SIGNATURE, png_bytes

PIXELS = np.arange(2 * 3 * 4, dtype=np.uint8).reshape(2, 3, 4)


@pytest.mark.parametrize("channels", [3, 4])
def test_the_pixels_come_back(channels: int) -> None:
    pixels = np.ascontiguousarray(PIXELS[..., :channels])
    data = png_bytes(pixels)
    assert data.startswith(SIGNATURE)
    assert (np.asarray(Image.open(io.BytesIO(data))) == pixels).all()


def test_opacity_that_says_nothing_is_left_out() -> None:
    opaque = PIXELS.copy()
    opaque[..., 3] = 255
    assert png_bytes(opaque) == png_bytes(np.ascontiguousarray(opaque[..., :3]))
    opaque[0, 0, 3] = 254
    assert Image.open(io.BytesIO(png_bytes(opaque))).mode == "RGBA"


def test_the_same_pixels_give_the_same_bytes_and_nothing_else_is_in_them() -> None:
    data = png_bytes(PIXELS)
    assert data == png_bytes(PIXELS.copy())
    kinds, place = [], len(SIGNATURE)
    while place < len(data):
        kinds.append(data[place + 4 : place + 8])
        place += 12 + int.from_bytes(data[place : place + 4], "big")
    assert set(kinds) == {b"IHDR", b"IDAT", b"IEND"}
