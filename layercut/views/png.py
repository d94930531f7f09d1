"""Pixels as a PNG, quickly.

Enters: an array of shape (height, width, 3), 8 bits. Leaves: PNG bytes. Holds: the same pixels give the same bytes.
"""

import struct
import zlib

import numpy as np
from numpy.typing import NDArray

SIGNATURE = b"\x89PNG\r\n\x1a\n"

LEVEL = 3
"""Of zlib: beyond it a picture grows little smaller and takes twice as long."""

_FILTER_UP = 2  # each row as its difference from the one above: PNG (W3C, third edition), 9.2
_EIGHT_BITS_RGB = (8, 2, 0, 0, 0)


def png_bytes(pixels: NDArray[np.uint8]) -> bytes:
    """The PNG file of a picture of shape (height, width, 3), as the W3C's PNG specification has it."""
    height, width, _ = pixels.shape
    flat = pixels.reshape(height, 3 * width)
    rows = np.empty((height, 1 + 3 * width), dtype=np.uint8)
    rows[:, 0] = _FILTER_UP
    rows[0, 1:] = flat[0]
    np.subtract(flat[1:], flat[:-1], out=rows[1:, 1:])  # modulo 256, as the filter wants it
    return b"".join(
        (
            SIGNATURE,
            _chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, *_EIGHT_BITS_RGB)),
            _chunk(b"IDAT", zlib.compress(rows.tobytes(), LEVEL)),
            _chunk(b"IEND", b""),
        )
    )


def _chunk(kind: bytes, content: bytes) -> bytes:
    return struct.pack(">I", len(content)) + kind + content + struct.pack(">I", zlib.crc32(kind + content))
