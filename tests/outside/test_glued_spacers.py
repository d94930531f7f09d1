"""Spacers glued again from the written boards, by another reader of paths, against areas worked out by hand.

svgelements reads the boards' curves; manifest.json says where each strip goes; shapely's union is the glue. A ring of
strips must have the area of its ring: W H less the opening, or pi (R^2 - r^2).
"""

import json
import math
from pathlib import Path

import numpy as np
import pytest
import shapely
import svgelements
from lxml import etree
from shapely import Polygon
from shapely.affinity import rotate, translate

from layercut.job import load_job
from layercut.output.contents import folder_files
from layercut.pipeline import compile_drawing

SVG = "{http://www.w3.org/2000/svg}"
KERF = 0.2

DRAWING = """<svg xmlns="http://www.w3.org/2000/svg" width="{w}mm" height="{h}mm" viewBox="0 0 {w} {h}">
<g id="sky"><rect width="{w}" height="{h}" fill="#a9cfe0"/></g>
<g id="hill"><rect y="{y}" width="{w}" height="{h}" fill="#4c6c3b"/></g></svg>"""


def rebuilt(contour: str) -> Polygon:
    """The wood of a strip from its cut line: half a kerf off each side."""
    path = svgelements.Path(contour)
    points = [segment.point(t) for segment in path for t in np.linspace(0, 1, 40) if segment.start is not None]
    return Polygon([(p.x, p.y) for p in points]).buffer(0).buffer(-KERF / 2, join_style="mitre")


@pytest.mark.parametrize(
    ("size", "corner", "joints", "area"),
    [
        ((160, 120), 0, "butt", 160 * 120 - 132 * 92),
        ((160, 120), 0, "mitre", 160 * 120 - 132 * 92),
        ((160, 160), 80, "butt", math.pi * (80**2 - 66**2)),
    ],
)
def test_each_ring_has_its_area(tmp_path: Path, size: tuple[int, int], corner: int, joints: str, area: float) -> None:
    w, h = size
    (tmp_path / "scene.svg").write_text(DRAWING.format(w=w, h=h, y=h / 2))
    settings = [f"material.kerf={KERF}mm", f"panel.corner={corner}mm", f"hanging.joints={joints}"]
    settings += ["hanging.spacer_from=strips", "hanging.spacers=3"]
    files = folder_files(compile_drawing(tmp_path / "scene.svg", load_job(None, settings)))
    manifest = json.loads(files["manifest.json"])
    rings: dict[int, list[Polygon]] = {}
    boards = [sheet for sheet in manifest["sheets"] if sheet["strips"]]
    for sheet in boards:
        root = etree.fromstring(files[sheet["file"]])
        (group,) = [one for one in root.iter(f"{SVG}g") if one.get("data-role") == "cut-outline"]
        woods = [rebuilt(str(path.get("d"))) for path in group.iter(f"{SVG}path")]
        assert len(woods) == len(sheet["strips"])
        assert sum(wood.area for wood in woods) == pytest.approx(sheet["wood_mm2"], rel=2e-3)
        for strip in sheet["strips"]:
            wood = min(woods, key=lambda one: one.distance(shapely.Point(strip["at_mm"])))
            assert wood.area == pytest.approx(strip["area_mm2"], rel=3e-3)
            x, y = strip["moved_mm"]
            rings.setdefault(strip["spacer"], []).append(
                rotate(translate(wood, -x, -y), -strip["turned_deg"], origin=(0, 0))
            )
    assert len(rings) == manifest["work"]["hanging"]["spacers"] == 3
    for strips in rings.values():
        glued = shapely.union_all([strip.buffer(0.02, join_style="mitre") for strip in strips])
        assert glued.area == pytest.approx(area, rel=4e-3)
        assert glued.bounds == pytest.approx((0, 0, w, h), abs=0.05)
        assert len(glued.interiors) == 1
    depth = manifest["material"]["thickness_mm"] * (2 + 3)
    assert manifest["work"]["hanging"]["depth_mm"] == depth
