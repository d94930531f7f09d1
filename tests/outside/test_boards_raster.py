"""Boards by an independent renderer (resvg): what is cut from them are the sheets, turned and moved.

Expected is a picture of the sheets' own files, each set in its place by the renderer's transforms as the manifest
says, spares as their pieces are planned; found is the picture of the boards' files. A pixel differs where one picture
has wood and the other none; edges, between a quarter and three quarters covered, are left out.
"""

import io
import re
from pathlib import Path

import numpy as np
import pytest
import resvg_py
from numpy.typing import NDArray
from PIL import Image

from layercut.geometry.offsets import offset_mitre
from layercut.model import Made
from layercut.output.manifest import manifest
from layercut.views.svg_text import region_path
from samples import SAMPLES, sample_build

PX_PER_MM = 4
STOCK = (
    "material.stock_width=620mm",
    "material.stock_height=450mm",
    "islands.policy=loose",
    "material.spares=2",
    "hanging.screw=12mm",
)


def cuts(svg: str) -> str:
    """All cut contours of a file, as one path's data."""
    groups = re.findall(r'<g data-role="cut-[a-z]+"[^>]*>(.*?)</g>', svg, re.DOTALL)
    return "".join(re.findall(r' d="([^"]+)"', "".join(groups)))


def wood(shapes: str, width: float, height: float) -> NDArray[np.uint8]:
    """How dark each pixel of a picture of these shapes is."""
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm" '
        f'viewBox="0 0 {width} {height}"><rect width="100%" height="100%" fill="#fff"/>'
        f'<g fill-rule="evenodd">{shapes}</g></svg>'
    )
    png = bytes(resvg_py.svg_to_bytes(svg_string=svg, width=round(width * PX_PER_MM), dpi=96))
    return np.asarray(Image.open(io.BytesIO(png)).convert("L"))


def different(one: NDArray[np.uint8], other: NDArray[np.uint8]) -> int:
    """The pixels that are wood in one picture and waste in the other."""
    return int((((one < 64) & (other > 191)) | ((one > 191) & (other < 64))).sum())


def expected(build: Made, board: dict[str, object]) -> str:
    shapes = []
    for part in board["parts"]:  # type: ignore[attr-defined]
        x, y = part["at_mm"]
        if part["piece"] is None:
            d = cuts(build.written[part["sheet"]])
        else:
            pieces = {piece.id: piece for sheet in build.sheets for piece in sheet.loose}
            strips = {f"strip {strip.number}": strip.laid for sheet in build.sheets for strip in sheet.strips}
            region = strips[part["piece"]] if part["piece"] in strips else pieces[part["piece"]].region
            d = region_path(offset_mitre(region, build.job.material.kerf / 2))
        shapes.append(f'<g transform="translate({x} {y}) rotate({part["turned_deg"]})"><path d="{d}"/></g>')
    return "".join(shapes)


WAYS = [("along", "ring"), ("any", "ring"), ("along", "strips")]
ASKED = [
    (path, *way)
    for path in SAMPLES
    for way in WAYS
    # Ten seconds each for the large ones: they are asked in one way each, the garden in all.
    if path.stem == "garden" or way == {"mill": ("along", "strips"), "harbour": ("any", "ring")}[path.stem]
]


@pytest.mark.parametrize(
    ("path", "grain", "spacers"), ASKED, ids=lambda one: one.stem if isinstance(one, Path) else one
)
def test_boards_hold_the_sheets(path: Path, grain: str, spacers: str) -> None:
    build = sample_build(path, *STOCK, f"material.grain={grain}", f"hanging.spacer_from={spacers}")
    assert build.boards is not None
    dark = 0
    for board in manifest(build)["boards"]:
        size = (board["width_mm"], board["height_mm"])
        found = wood(f'<path d="{cuts(build.boards.written[board["file"]])}"/>', *size)
        assert different(found, wood(expected(build, board), *size)) == 0
        dark += int((found < 64).sum())
    # Each part's wood is there once, kerf included: parts that overlap would lose some.
    planned = sum(
        offset_mitre(part.cut.wood, build.job.material.kerf / 2).area
        for board in build.boards.plan.boards
        for part in board.parts
    )
    assert dark / PX_PER_MM**2 == pytest.approx(planned, rel=0.02)


def test_the_check_sees_a_part_that_is_moved_by_half_a_millimetre() -> None:
    build = sample_build(SAMPLES[0], *STOCK, "material.grain=along")
    assert build.boards is not None
    board = manifest(build)["boards"][0]
    size = (board["width_mm"], board["height_mm"])
    found = wood(f'<path d="{cuts(build.boards.written[board["file"]])}"/>', *size)
    board["parts"][0]["at_mm"][0] += 0.5
    assert different(found, wood(expected(build, board), *size)) > 0
