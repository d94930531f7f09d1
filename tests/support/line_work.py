"""Drawings of two layers: a sky, and a hill drawn in lines."""

from pathlib import Path

import shapely
from drawn import HEAD

from layercut.drawing import read_drawing
from layercut.findings import Finding
from layercut.job import load_job
from layercut.model import Drawing, Shape

SKY = '<g id="sky"><rect width="100" height="100" fill="#a9cfe0"/></g>'
LINES = 'fill="none" stroke="#000" stroke-width=".3"'
SQUARE = '<path id="square" d="M20 20H60V60H20Z"/>'


def write(body: str, folder: Path, attributes: str = 'data-layercut-face="lines"') -> Path:
    """The file of a hill with this in it."""
    path = folder / "lines.svg"
    path.write_text(f'{HEAD}{SKY}<g id="hill" {LINES} {attributes}>{body}</g></svg>', encoding="utf-8")
    return path


def read(body: str, folder: Path, *settings: str, attributes: str = 'data-layercut-face="lines"') -> Drawing:
    """The drawing of a hill with this in it."""
    return read_drawing(write(body, folder, attributes), load_job(None, settings))


def wood(drawing: Drawing) -> list[Shape]:
    """What of the hill is wood."""
    return [shape for shape in drawing.layers[1].shapes if shape.role == "wood"]


def area(drawing: Drawing) -> float:
    """How much of the hill is wood, mm2."""
    return float(shapely.union_all([shape.geometry for shape in wood(drawing)]).area)


def found(drawing: Drawing, code: str) -> list[Finding]:
    """The findings of one code."""
    return [finding for finding in drawing.findings if finding.code == code]
