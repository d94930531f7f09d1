"""Every case of the reference list of small drawings: what stands at a pixel, or that nothing does.

The list (`svg_render_cases.json`) lies beside the project, in ../shared/refs; it holds own snippets whose expected
colours two independent renderers agree on, after SVG 2's chapters on styling, structure and painting.
"""

import json
import re
from pathlib import Path

import pytest
import shapely

from layercut.drawing import read_drawing
from layercut.job import load_job

CASES_FILE = Path(__file__).parents[3] / "shared" / "refs" / "svg_render_cases.json"
CASES = json.loads(CASES_FILE.read_text(encoding="utf-8")) if CASES_FILE.is_file() else []

ALL_WOOD = load_job(None, ["marks.line_below=0mm"])


def in_a_layer(svg: str) -> str:
    """The same drawing with all of its content in one group, as drawings with layers have it."""
    return re.sub(r"(<svg[^>]*>)(.*)(</svg>)", r'\1<g id="layer"><g>\2</g><path d=""/></g>\3', svg, flags=re.DOTALL)


@pytest.mark.skipif(not CASES, reason="../shared/refs/svg_render_cases.json is not beside this repository")
def test_there_are_cases() -> None:
    assert len(CASES) >= 24


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["name"])
def test_pixel(case: dict[str, object], tmp_path: Path) -> None:
    path = tmp_path / "case.svg"
    path.write_text(in_a_layer(str(case["svg"])), encoding="utf-8")
    drawing = read_drawing(path, ALL_WOOD)
    x, y = (float(value) + 0.5 for value in case["pixel"])  # type: ignore[attr-defined]
    point = shapely.Point(x * drawing.width_mm / 100, y * drawing.height_mm / 100)
    shapes = [shape for layer in drawing.layers for shape in layer.shapes]
    there = [shape.paint.colour for shape in shapes if shape.geometry.contains(point)]
    red, green, blue, alpha = case["rgba"]  # type: ignore[misc]
    expected = f"#{red:02x}{green:02x}{blue:02x}" if alpha else None
    assert (there[-1] if there else None) == expected
