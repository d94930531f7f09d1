"""The seal: layercut knows its own files again, and no others."""

import tomllib
import xml.etree.ElementTree as ET
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from layercut.output.seal import is_sealed, seal_png, seal_svg, seal_toml
from layercut.png import png_bytes

SVG = b'<svg xmlns="http://www.w3.org/2000/svg" width="9mm" height="9mm"><rect width="9" height="9"/></svg>\n'
TOML = b'[material]\nkerf = "0.2mm"\n'
PNG = png_bytes(np.arange(300, dtype=np.uint16).reshape(10, 10, 3).astype(np.uint8))

SEALS = [(seal_svg, SVG), (seal_toml, TOML), (seal_png, PNG)]


@pytest.mark.parametrize(("seal", "data"), SEALS)
def test_a_sealed_file_is_known_again_and_an_unsealed_one_is_not(seal: Callable[[bytes], bytes], data: bytes) -> None:
    assert not is_sealed(data)
    assert is_sealed(seal(data))
    assert seal(data) == seal(data)


@pytest.mark.parametrize(("seal", "data"), SEALS)
def test_any_change_breaks_the_seal(seal: Callable[[bytes], bytes], data: bytes) -> None:
    sealed = seal(data)
    for at in range(len(sealed)):
        changed = bytearray(sealed)
        changed[at] ^= 1
        assert not is_sealed(bytes(changed)), at
    assert not is_sealed(sealed + b"\n")
    assert not is_sealed(sealed[:-1])
    assert not is_sealed(b"\n" + sealed)


@pytest.mark.parametrize("data", [b"", b"<!-- -->", b"\x89PNG", b"\x89PNG\r\n\x1a\n", b"x" * 500])
def test_what_is_no_such_file_has_no_seal(data: bytes) -> None:
    assert not is_sealed(data)


def test_sealed_files_are_still_what_they_were(tmp_path: Path) -> None:
    """Independent readers: the standard library's of XML and TOML, Pillow's of PNG."""
    assert ET.fromstring(seal_svg(SVG)).get("width") == "9mm"
    assert tomllib.loads(seal_toml(TOML).decode()) == tomllib.loads(TOML.decode())
    path = tmp_path / "a.png"
    for data in (PNG, seal_png(PNG)):
        path.write_bytes(data)
        with Image.open(path) as image:
            image.load()
            assert np.asarray(image).tobytes() == np.arange(300, dtype=np.uint16).astype(np.uint8).tobytes()
            assert set(image.info) - {"dpi"} == ({"layercut"} if data != PNG else set())
