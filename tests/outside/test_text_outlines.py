"""Text against what others make of it: the font's own tables by font tools, and resvg's picture of the same text.

The font is one that this machine has; without any, the tests are skipped. Its file is handed to the renderer and
named in the job, so that both set the same letters.
"""

import io
from pathlib import Path

import numpy as np
import pytest
import resvg_py
import shapely
from fontTools.pens.areaPen import AreaPen
from fontTools.pens.boundsPen import BoundsPen
from fontTools.ttLib import TTFont
from PIL import Image

from layercut.drawing import read_drawing
from layercut.drawing.lettering.fonts import Fonts, Wish
from layercut.job import load_job
from layercut.model import Drawing, Shape

HEAD = '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm" viewBox="0 0 100 100">'
WIDTH = 600
EDGE_PX = 1.0

FACE = Fonts(Path()).find("sans-serif", Wish())
pytestmark = pytest.mark.skipif(FACE is None, reason="this machine has no font")


def text_of(body: str) -> str:
    assert FACE is not None
    return f'{HEAD}<g id="a" font-family="{FACE.family}" font-size="10"><path d=""/>{body}</g></svg>'


def read(text: str, folder: Path, *settings: str) -> Drawing:
    assert FACE is not None
    path = folder / "text.svg"
    path.write_text(text, encoding="utf-8")
    return read_drawing(path, load_job(None, [f'marks.fonts=["{FACE.path.as_posix()}"]', *settings]))


def shapes(text: str, folder: Path) -> tuple[Shape, ...]:
    return read(text, folder).layers[0].shapes


def rendered(text: str) -> np.ndarray:
    """Where resvg puts paint: (rows, columns)."""
    assert FACE is not None
    png = resvg_py.svg_to_bytes(
        svg_string=text, dpi=96, width=WIDTH, skip_system_fonts=True, font_files=[str(FACE.path)], languages=["en"]
    )
    return np.asarray(Image.open(io.BytesIO(bytes(png))).convert("RGBA"))[..., 3] > 127


def differing(drawing: Drawing, painted: np.ndarray) -> int:
    """How many pixels further than a pixel from every edge are painted by one of the two only."""
    rows, columns = painted.shape
    size = drawing.width_mm / columns
    x, y = (grid.ravel() for grid in np.meshgrid((np.arange(columns) + 0.5) * size, (np.arange(rows) + 0.5) * size))
    region = shapely.union_all([shape.geometry for layer in drawing.layers for shape in layer.shapes])
    shapely.prepare(region)
    wrong = np.flatnonzero(shapely.contains_xy(region, x, y) != painted.ravel())
    if region.is_empty:
        return len(wrong)
    near = shapely.dwithin(shapely.points(x[wrong], y[wrong]), region.boundary, EDGE_PX * size)
    return int((~near).sum())


@pytest.mark.parametrize("letter", "aBg&8i")
def test_the_area_of_a_letter_is_the_fonts_own(letter: str, tmp_path: Path) -> None:
    assert FACE is not None
    font = TTFont(FACE.path, fontNumber=FACE.number)
    glyphs = font.getGlyphSet()
    area, bounds = AreaPen(glyphs), BoundsPen(glyphs)
    name = font.getBestCmap()[ord(letter)]
    glyphs[name].draw(area)
    glyphs[name].draw(bounds)
    escaped = letter.replace("&", "&amp;")
    (shape,) = shapes(text_of(f'<text x="20" y="60" font-size="50">{escaped}</text>'), tmp_path)
    scale = 50 / font["head"].unitsPerEm
    assert shape.geometry.area == pytest.approx(abs(area.value) * scale**2, rel=1e-4)
    left, bottom, right, top = (value * scale for value in bounds.bounds)
    assert shape.geometry.bounds == pytest.approx((20 + left, 60 - top, 20 + right, 60 - bottom), abs=0.003)


def test_letters_stand_as_far_apart_as_the_font_says(tmp_path: Path) -> None:
    assert FACE is not None
    font = TTFont(FACE.path, fontNumber=FACE.number)
    names = font.getBestCmap()
    for letter in "Hmi.":
        body = f'<text y="50" font-kerning="none">{letter}<tspan>|</tspan></text>'
        body += '<text y="90" font-kerning="none">|</text>'
        both, alone = (shapes(text_of(body), tmp_path)[index] for index in (1, 2))
        width = font["hmtx"][names[ord(letter)]][0] * 10 / font["head"].unitsPerEm
        assert both.geometry.bounds[0] - alone.geometry.bounds[0] == pytest.approx(width, abs=0.003)


CASES = {
    "plain": '<text x="10" y="50">Gannet quay</text>',
    "kerning": '<text x="10" y="50" font-size="20">AVAToTy</text>',
    "ligature": '<text x="10" y="50" font-size="20">fi ffl office</text>',
    "middle": '<text x="50" y="50" text-anchor="middle">Gannet quay</text>',
    "end": '<text x="90" y="50" text-anchor="end">Gannet <tspan font-size="6">quay</tspan></text>',
    "each letter placed": '<text x="10 22 30 45" y="20 30 40">Quay four</text>',
    "shifted": '<text x="10" y="50" dx="0 2 -1 5" dy="0 1 1 -3 2">Gannet</text>',
    "shift at the start": '<text x="10" y="50" dx="5" dy="-4" text-anchor="middle">Gannet</text>',
    "turned": '<text x="10" y="50" rotate="10 -20 40">Gannet</text>',
    "tspans": '<text x="10" y="30">one <tspan dy="10">two <tspan font-size="14">three</tspan></tspan> four</text>',
    "lines": '<text x="10" y="30">one<tspan x="10" dy="1.2em">two</tspan>'
    '<tspan x="10" dy="1.2em">three</tspan></text>',
    "lines to the middle": '<text x="50" y="30" text-anchor="middle">one<tspan x="50" dy="12">twenty</tspan></text>',
    "anchored tspans": '<text y="30"><tspan x="50" text-anchor="end">left</tspan><tspan x="50">right</tspan></text>',
    "spaced": '<text x="10" y="50" letter-spacing="3">four oars</text>',
    "spaced to the middle": '<text x="50" y="50" letter-spacing="3" text-anchor="middle">four</text>',
    "spaced by the em": '<text x="10" y="50" letter-spacing=".2em">four</text>',
    "spaced words": '<text x="10" y="50" word-spacing="7">one two three</text>',
    "white space": '<text x="10" y="50">\n   one \t  two\n   <tspan> three </tspan>  four  </text>',
    "white space kept": '<text x="10" y="50" xml:space="preserve">  one   two </text>',
    "positions skip white space": '<text x="10 30 50" y="50">  a  b</text>',
    "transforms": '<text transform="translate(20 60) rotate(-30) scale(1.5 1)" x="3">Gannet</text>',
    "skewed": '<g transform="skewX(20)"><text x="3" y="40" font-size="20">Gannet</text></g>',
    "accents": '<text x="10" y="50" font-size="14">\u00e9 n\u0303 \u00df \u00d8</text>',
    "inherited lists": '<text x="10 20 30 40 50 60" y="50">ab<tspan y="60">cd</tspan>ef</text>',
    "percent": '<text x="20%" y="50%">Gannet</text>',
    "to the left": '<text x="80" y="50">\u05e9\u05dc\u05d5\u05dd</text>',
    "by style": '<text style="font-size:200%;text-anchor:end" x="95" y="50">Quay</text>',
    "clipped": '<clipPath id="c"><rect x="20" y="30" width="25" height="18"/></clipPath>'
    '<text x="10" y="50" font-size="20" clip-path="url(#c)">Gannet</text>',
    "clips": '<clipPath id="c"><text x="5" y="60" font-size="50">Bo</text></clipPath>'
    '<rect width="100" height="55" clip-path="url(#c)"/>',
    "used": '<defs><text id="t" y="20">Quay</text></defs><use href="#t" x="10"/><use href="#t" x="40" y="50"/>',
}


@pytest.mark.parametrize("name", CASES)
def test_letters_are_where_the_renderer_puts_them(name: str, tmp_path: Path) -> None:
    text = text_of(CASES[name])
    drawing = read(text, tmp_path)
    painted = rendered(text)
    assert painted.sum() > 500
    assert [finding.code for finding in drawing.findings] in (["layer-empty"], [])
    assert differing(drawing, painted) == 0


def test_the_comparison_sees_a_small_shift(tmp_path: Path) -> None:
    drawing = read(text_of(CASES["plain"]), tmp_path)
    shifted = rendered(text_of(CASES["plain"].replace('x="10"', 'x="10.4"')))
    assert differing(drawing, shifted) > 20
