"""The cell map: cells tile the panel, don't overlap, and know their front-most layer."""

import dataclasses
from typing import TypeAlias

import numpy as np
import pytest
import shapely
from shapely import MultiPolygon, Point, Polygon, affinity, box

from layercut.errors import InternalError
from layercut.geometry.regions import Region
from layercut.job import load_job
from layercut.model import Panel
from layercut.stack.cells import CellMap, map_cells
from layercut.stack.panel import make_panel

SQUARES = shapely.union_all(
    [box(10 * i, 10 * j, 10 * i + 10, 10 * j + 10) for i in range(10) for j in range(10) if (i + j) % 2]
)
SCENES: dict[str, list[Region]] = {
    "nothing drawn": [Polygon()],
    "one box": [box(20, 20, 60, 60)],
    "same twice": [box(20, 20, 60, 60), box(20, 20, 60, 60)],
    "nearly the same": [box(20, 20, 60, 60), affinity.translate(box(20, 20, 60, 60), 1e-5, 3e-4)],
    "sharing an edge": [box(20, 20, 40, 60), box(40, 20, 60, 60)],
    "touching at corners": [SQUARES],
    "beyond the panel": [box(-500, 30, 500, 60), Point(100, 100).buffer(30)],
    "wholly outside": [box(200, 200, 300, 300)],
    "on the rim": [box(0, 0, 100, 100), box(6.35, 6.35, 93.65, 93.65)],
    "many parts": [
        MultiPolygon([box(8 * k, 8 * k, 8 * k + 5, 8 * k + 5) for k in range(12)]),
        Point(50, 50).buffer(40),
    ],
    "slivers": [box(30, 20, 30.0001, 80), box(50, 20, 50.001, 80), affinity.rotate(box(20, 50, 80, 50.0007), 33)],
}


Mapped: TypeAlias = tuple[list[Region], Panel, CellMap]


def _panel(*settings: str) -> Panel:
    return make_panel(100, 100, load_job(None, settings))


@pytest.fixture(params=SCENES, scope="module")
def mapped(request: pytest.FixtureRequest) -> Mapped:
    faces, panel = SCENES[request.param], _panel()
    return faces, panel, map_cells(faces, panel)


def test_cells_tile_the_panel_and_do_not_overlap(mapped: Mapped) -> None:
    _, panel, cell_map = mapped
    assert shapely.area(cell_map.cells).sum() == pytest.approx(panel.outline.area, abs=1e-6)
    assert shapely.union_all(cell_map.cells).area == pytest.approx(panel.outline.area, abs=1e-6)
    first, second = shapely.STRtree(cell_map.cells).query(cell_map.cells, predicate="overlaps")
    assert not len(first), (first, second)
    assert shapely.is_valid(cell_map.cells).all()


def test_the_frame_is_frame_and_nothing_else(mapped: Mapped) -> None:
    _, panel, cell_map = mapped
    assert cell_map.region(cell_map.in_frame).symmetric_difference(panel.frame).area < 1e-6
    assert (cell_map.owner[cell_map.in_frame] == -1).all()
    assert not cell_map.covered[:, cell_map.in_frame].any()


def test_each_cell_belongs_to_the_front_most_layer_over_it(mapped: Mapped) -> None:
    faces, panel, cell_map = mapped
    left = panel.interior
    for index in reversed(range(len(faces))):
        expected = shapely.intersection(faces[index], left)
        left = shapely.difference(left, faces[index])
        found = cell_map.region(cell_map.owner == index)
        assert found.symmetric_difference(expected).area < 0.0011 * faces[index].length + 1e-9
        covered = cell_map.region(cell_map.covered[index])
        inside = shapely.intersection(faces[index], panel.interior)
        assert covered.symmetric_difference(inside).area < 0.0011 * faces[index].length + 1e-9


def test_any_set_of_cells_is_a_valid_region_of_their_area(mapped: Mapped) -> None:
    _, _, cell_map = mapped
    rng = np.random.default_rng(1)
    for _ in range(10):
        chosen = rng.random(len(cell_map.cells)) < 0.5
        region = cell_map.region(chosen)
        assert region.is_valid
        assert region.area == pytest.approx(shapely.area(cell_map.cells[chosen]).sum(), abs=1e-6)


def test_no_cells_make_an_empty_region(mapped: Mapped) -> None:
    _, _, cell_map = mapped
    assert cell_map.region(np.zeros(len(cell_map.cells), dtype=bool)).is_empty


@pytest.mark.parametrize("corner", [3, 20, 50])
def test_a_round_panel_is_tiled_too(corner: int) -> None:
    panel = _panel(f"panel.corner={corner}mm")
    cell_map = map_cells([box(0, 40, 100, 60), Point(50, 50).buffer(20)], panel)
    total = shapely.area(cell_map.cells).sum()
    assert total == pytest.approx(panel.outline.area, abs=0.0005 * panel.outline.length)


def test_a_panel_that_is_not_tiled_is_a_fault_of_ours() -> None:
    panel = _panel()
    broken = dataclasses.replace(panel, outline=panel.outline.difference(box(40, 40, 41, 41)))
    with pytest.raises(InternalError, match="cells cover"):
        map_cells([Polygon()], broken)


def test_a_drawing_without_layers_has_an_empty_map() -> None:
    cell_map = map_cells([], _panel())
    assert cell_map.covered.shape == (0, len(cell_map.cells))
    assert (cell_map.owner == -1).all()
