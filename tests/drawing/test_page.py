"""The page on the job's panel. Its size and viewports by published numbers: tests/outside/test_svg_units.py."""

from pathlib import Path

import pytest

from layercut.drawing import read_drawing
from layercut.errors import DrawingError
from layercut.job import load_job
from layercut.model import Drawing

HEAD = '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="50mm" viewBox="0 0 100 50">'
BOX = '<rect width="10" height="10"/>'


def sized(body: str, folder: Path, *settings: str) -> Drawing:
    path = folder / "picture.svg"
    path.write_text(f"{HEAD}{body}</svg>", encoding="utf-8")
    return read_drawing(path, load_job(None, settings))


def test_the_panel_scales_the_drawing(tmp_path: Path) -> None:
    body = f"<g>{BOX}</g>"
    both = sized(body, tmp_path, "panel.width=200mm", "panel.height=100mm")
    one = sized(body, tmp_path, "panel.height=100mm")
    for drawing in (both, one):
        assert (drawing.width_mm, drawing.height_mm) == (200, 100)
        assert drawing.layers[0].shapes[0].geometry.bounds == pytest.approx((0, 0, 20, 20))
    assert sized(body, tmp_path, "panel.width=50mm").height_mm == 25


def test_the_panel_may_be_off_by_half_a_percent(tmp_path: Path) -> None:
    near = sized(f"<g>{BOX}</g>", tmp_path, "panel.width=100.4mm", "panel.height=50mm")
    assert near.layers[0].shapes[0].geometry.bounds == pytest.approx((0, 0, 10.04, 10))
    with pytest.raises(DrawingError, match="100 x 50 mm") as caught:
        sized(f"<g>{BOX}</g>", tmp_path, "panel.width=100.6mm", "panel.height=50mm")
    assert caught.value.code == "panel-proportions"
