"""The seal: how layercut knows a file again that it wrote and nobody changed.

Enters: a picture, a drawing or a job file as bytes. Leaves: the same with a seal, a hash of all the rest: in a
comment at the end of a text, in a text chunk of a PNG (W3C, third edition, 11.3.3). The same bytes get the same seal.
It keeps no secret: it guards against a slip of the hand, not against forgery.
"""

import hashlib
import re
import struct
import zlib

from layercut.png import SIGNATURE

_WORD = "written by layercut, unchanged:"
_KEYWORD = b"layercut"
_END = 12
"""Bytes of a PNG's last chunk, which is empty."""

_SVG = re.compile(rf"<!-- {_WORD} ([0-9a-f]{{64}}) -->\n".encode())
_TOML = re.compile(rf"# {_WORD} ([0-9a-f]{{64}})\n".encode())
_LONGEST = 256
"""Bytes at the end of a text in which its seal is looked for."""


def seal_svg(data: bytes) -> bytes:
    """An SVG file with its seal behind the last element, where XML 1.0 (2.8) lets comments stand."""
    return data + f"<!-- {_WORD} {_hash(data)} -->\n".encode()


def seal_toml(data: bytes) -> bytes:
    """A TOML file with its seal as its last line."""
    return data + f"# {_WORD} {_hash(data)}\n".encode()


def seal_png(data: bytes) -> bytes:
    """A PNG file with its seal before its last chunk."""
    content = _KEYWORD + b"\0" + _hash(data).encode()
    chunk = b"tEXt" + content
    sealed = struct.pack(">I", len(content)) + chunk + struct.pack(">I", zlib.crc32(chunk))
    return data[:-_END] + sealed + data[-_END:]


def is_sealed(data: bytes) -> bool:
    """Whether a file bears a seal that goes with all the rest of it: layercut wrote it, and nobody changed it."""
    if data.startswith(SIGNATURE):
        return _is_sealed_png(data)
    for pattern in (_SVG, _TOML):
        at = max(0, len(data) - _LONGEST)
        for match in pattern.finditer(data, at):
            if match.end() == len(data):
                return match[1].decode() == _hash(data[: match.start()])
    return False


def _is_sealed_png(data: bytes) -> bool:
    size = len(_KEYWORD) + 1 + 64 + 12
    rest = data[: -size - _END] + data[-_END:]
    return seal_png(rest) == data


def _hash(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()
