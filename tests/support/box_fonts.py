"""Fonts of boxes, built for a test, so that every letter's shape and width is known; and what text of them gives."""

from collections.abc import Callable
from pathlib import Path

from fontTools.feaLib.builder import addOpenTypeFeaturesFromString
from fontTools.fontBuilder import FontBuilder
from fontTools.pens.ttGlyphPen import TTGlyphPen

from layercut.model import Drawing, Shape

UPEM = 1000

Box = tuple[float, float, float, float]
BOXES: dict[str, list[Box]] = {
    ".notdef": [(0, 0, 900, 900)],
    "space": [],
    "A": [(100, 0, 500, 700)],
    "B": [(0, 0, 400, 500)],
    "f": [(0, 0, 200, 700)],
    "i": [(0, 0, 100, 500)],
    "f_i": [(0, 0, 300, 300)],
    "X": [(0, 0, 400, 400), (200, 200, 600, 600)],  # contours that overlap, as those of variable fonts do
    "picture": [],
}
WIDTHS = {".notdef": 1000, "space": 500, "A": 600, "B": 500, "f": 300, "i": 200, "f_i": 400, "X": 700, "picture": 800}
LETTERS = {" ": "space", "A": "A", "B": "B", "f": "f", "i": "i", "X": "X", "\u2605": "picture"}
FEATURES = "languagesystem DFLT dflt; feature liga { sub f i by f_i; } liga; feature kern { pos A B -50; } kern;"

Read = Callable[..., Drawing]


def build_font(path: Path, family: str, style: str = "Regular", *, weight: int = 400, letters: str = "") -> Path:
    """A font of boxes; `letters` limits which it has."""
    builder = FontBuilder(UPEM, isTTF=True)
    builder.setupGlyphOrder(list(BOXES))
    builder.setupCharacterMap({ord(k): v for k, v in LETTERS.items() if not letters or k in letters})
    builder.setupGlyf({name: _glyph(boxes) for name, boxes in BOXES.items()})
    builder.setupHorizontalMetrics(
        {name: (width, int(min((b[0] for b in BOXES[name]), default=0))) for name, width in WIDTHS.items()}
    )
    builder.setupHorizontalHeader(ascent=800, descent=-200)
    names = {"familyName": family, "styleName": style, "fullName": f"{family} {style}"}
    builder.setupNameTable({**names, "psName": f"{family.replace(' ', '')}-{style}"})
    builder.setupOS2(usWeightClass=weight, fsSelection=1 if style == "Italic" else 0)
    builder.setupPost()
    addOpenTypeFeaturesFromString(builder.font, FEATURES)
    builder.save(path)
    return path


def _glyph(boxes: list[Box]) -> object:
    pen = TTGlyphPen(None)
    for x0, y0, x1, y1 in boxes:
        pen.moveTo((x0, y0))
        for point in ((x0, y1), (x1, y1), (x1, y0)):
            pen.lineTo(point)
        pen.closePath()
    return pen.glyph()


def marks(drawing: Drawing) -> list[Shape]:
    """The shapes that come of the text."""
    return [shape for shape in drawing.layers[0].shapes if shape.element != "rect 'board'"]


def said(drawing: Drawing) -> list[str]:
    """The code of each finding."""
    return [finding.code for finding in drawing.findings]
