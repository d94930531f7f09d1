"""The quick picture shows at every place what the settled stack shows there."""

import io
from pathlib import Path

import numpy as np
import pytest
import resvg_py
import shapely
from constructs import PAINT, whole
from numpy.typing import NDArray
from painted import compare_pictures, drawn
from painted import painted as painted_pixels
from PIL import Image

from layercut.colour.bare import PLYWOOD
from layercut.drawing import read_drawing
from layercut.errors import JobError
from layercut.job import Job, load_job
from layercut.model import Drawing
from layercut.pipeline import plan_stack
from layercut.stack.panel import make_panel
from layercut.watching.quick_look import MARGIN, quick_look

CASES = Path(__file__).parents[1] / "cases"
PX_PER_MM = 8


def pixels(drawing: Drawing, job: Job) -> tuple[NDArray[np.uint8], float]:
    """The quick picture, and the wall beside the panel, mm."""
    margin = MARGIN * max(drawing.width_mm, drawing.height_mm)
    width = round(PX_PER_MM * (drawing.width_mm + 2 * margin))
    png = bytes(resvg_py.svg_to_bytes(svg_string=quick_look(drawing, job).svg, width=width))
    return np.asarray(Image.open(io.BytesIO(png)).convert("RGB")), margin


def colour_at(picture: NDArray[np.uint8], margin: float, x: float, y: float) -> str:
    red, green, blue = picture[round((y + margin) * PX_PER_MM), round((x + margin) * PX_PER_MM)]
    return f"#{red:02x}{green:02x}{blue:02x}"


@pytest.mark.parametrize("case", ["window", "behind", "two-rings", "pins", "tunnel"])
def test_every_paint_shows_where_the_stack_shows_it(case: str) -> None:
    job = load_job(CASES / case / "job.toml")
    drawing = read_drawing(CASES / case / "drawing.svg", job)
    stack = plan_stack(drawing, job)
    picture, margin = pixels(drawing, job)
    seen = 0
    for layer in stack.layers:
        for painted in layer.painted:
            # Away from edges and engraved lines, and under no frame.
            inner = shapely.buffer(shapely.intersection(painted.region, layer.visible), -0.6)
            for part in shapely.get_parts(shapely.intersection(inner, stack.panel.interior)):
                point = shapely.point_on_surface(part)
                assert colour_at(picture, margin, point.x, point.y) == painted.paint.colour
                seen += 1
    assert seen > 0
    frame = stack.panel.frame_mm / 2
    assert colour_at(picture, margin, frame, stack.panel.height_mm / 2 + 3) == PLYWOOD


def test_an_opening_takes_away_what_lies_under_it_in_its_layer_only(tmp_path: Path) -> None:
    path = tmp_path / "window.svg"
    path.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="80mm" viewBox="0 0 100 80">'
        '<g id="sky"><rect width="100" height="80" fill="#88aacc"/></g>'
        '<g id="wall"><rect y="20" width="100" height="60" fill="#996644"/>'
        '<rect data-layercut="opening" x="30" y="30" width="40" height="30" fill="#000"/>'
        '<rect x="48" y="20" width="4" height="60" fill="#ffffff"/></g></svg>'
    )
    drawing = read_drawing(path, Job())
    picture, margin = pixels(drawing, Job())
    assert colour_at(picture, margin, 20, 45) == "#996644"
    assert colour_at(picture, margin, 40, 45) == "#88aacc"
    assert colour_at(picture, margin, 50, 45) == "#ffffff"


def test_a_blend_runs_from_its_first_colour_at_the_top_to_its_last(tmp_path: Path) -> None:
    path = tmp_path / "dusk.svg"
    path.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="80mm" viewBox="0 0 100 80"><defs>'
        '<linearGradient id="dusk" x2="0" y2="1"><stop stop-color="#000000"/><stop offset="1" stop-color="#ffffff"/>'
        '</linearGradient></defs><g id="sky"><rect width="100" height="80" fill="url(#dusk)"/></g></svg>'
    )
    picture, margin = pixels(read_drawing(path, Job()), Job())
    tones = [int(colour_at(picture, margin, 50, y)[1:3], 16) for y in (10, 40, 70)]
    assert tones == pytest.approx([32, 128, 223], abs=3)


def test_a_frame_that_leaves_nothing_is_told_as_the_stack_would_tell_it(drawing: Path) -> None:
    job = load_job(None, ["panel.frame=50mm"])
    with pytest.raises(JobError, match="leaves nothing"):
        quick_look(read_drawing(drawing, job), job)


@pytest.mark.parametrize("name", PAINT)
def test_translucent_paint_shows_as_a_renderer_shows_it(name: str, tmp_path: Path) -> None:
    path = tmp_path / "drawing.svg"
    path.write_text(whole(PAINT[name]))
    job = load_job(None, ["marks.line_below=0mm", "panel.frame=2mm"])
    drawing = read_drawing(path, job)
    panel, size = make_panel(drawing.width_mm, drawing.height_mm, job), (318, 318)
    found = compare_pictures(
        drawn(path.read_text(), size), painted_pixels(quick_look(drawing, job).svg, panel, size), panel
    )
    assert found.share <= 0.001, found
    assert found.compared > 20_000
