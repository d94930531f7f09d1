"""The wood of each sheet: the definitions of the core idea, against set algebra of its own."""

import random

import pytest
import shapely
from shapely import Polygon, box

from layercut.geometry.regions import Region, as_region, union
from layercut.job import load_job
from layercut.model import Panel
from layercut.stack.cells import map_cells
from layercut.stack.panel import make_panel
from layercut.stack.wood import SheetWood, find_wood


def _wood(faces: list[Region], *settings: str) -> tuple[Panel, tuple[SheetWood, ...]]:
    job = load_job(None, ["panel.frame=6mm", *settings])
    panel = make_panel(100, 100, job)
    cell_map = map_cells(faces, panel)
    return panel, tuple(find_wood(cell_map, panel, index, job.limits.setback) for index in range(len(faces)))


def _random_faces(seed: int) -> list[Region]:
    """Three or four faces of boxes and holes on whole millimetres, so that set algebra is exact."""
    rng = random.Random(seed)

    def some_box() -> Polygon:
        x, y = rng.randrange(-10, 90), rng.randrange(-10, 90)
        return box(x, y, x + rng.randrange(1, 50), y + rng.randrange(1, 50))

    def face() -> Region:
        solid = union(some_box() for _ in range(rng.randrange(1, 6)))
        return as_region(solid.difference(union(some_box() for _ in range(rng.randrange(0, 3)))))

    return [face() for _ in range(rng.randrange(2, 5))]


@pytest.mark.parametrize("seed", range(12))
def test_the_regions_are_what_the_core_idea_says(seed: int) -> None:
    faces = _random_faces(seed)
    panel, woods = _wood(faces, "limits.setback=0mm")
    inside = panel.interior
    for index, sheet in enumerate(woods):
        face = as_region(shapely.intersection(faces[index], inside))
        front = as_region(shapely.intersection(union(faces[index + 1 :]), inside))
        below = as_region(shapely.difference(as_region(shapely.difference(inside, face)), front))
        opening = below if index else Polygon()
        hidden = as_region(shapely.difference(front, face))
        wood = shapely.union_all([panel.frame, face, hidden, *([below] if not index else [])])
        for found, expected in (
            (sheet.face, face),
            (sheet.visible, shapely.difference(face, front)),
            (sheet.opening, opening),
            (sheet.hidden, hidden),
            (sheet.wood, wood),
        ):
            assert found.is_valid
            assert shapely.symmetric_difference(found, expected).area < 1e-9


@pytest.mark.parametrize("setback", [0.2, 1.0, 3.0])
@pytest.mark.parametrize("seed", range(6))
def test_hidden_ground_keeps_the_setback_and_gives_up_no_more(seed: int, setback: float) -> None:
    faces = _random_faces(100 + seed)
    _, plain = _wood(faces, "limits.setback=0mm")
    _, woods = _wood(faces, f"limits.setback={setback}mm")
    for before, sheet in zip(plain, woods, strict=True):
        assert sheet.opening.equals(before.opening)
        if sheet.opening.is_empty or before.hidden.is_empty:
            assert sheet.wood.equals(before.wood)
            continue
        if not sheet.hidden.is_empty:
            assert sheet.hidden.distance(sheet.opening) >= setback - 1e-6
        given_up = shapely.difference(before.hidden, sheet.hidden)
        far = shapely.difference(given_up, sheet.opening.buffer(1.02 * setback, quad_segs=64))
        assert far.area < 1e-6
        assert shapely.difference(before.wood, sheet.wood).symmetric_difference(given_up).area < 1e-6
        assert shapely.difference(sheet.visible, sheet.wood).area < 1e-9


def test_the_back_sheet_has_no_opening_however_little_is_drawn() -> None:
    panel, woods = _wood([Polygon(), box(40, 40, 50, 50)])
    assert woods[0].opening.is_empty
    assert woods[0].wood.equals(panel.outline)


def test_a_sheet_in_front_without_a_face_keeps_its_frame_only() -> None:
    panel, woods = _wood([box(0, 0, 100, 100), Polygon()])
    assert woods[1].wood.symmetric_difference(panel.frame).area < 1e-9
    assert woods[1].opening.symmetric_difference(panel.interior).area < 1e-9


def test_pins_are_holes_in_every_sheet() -> None:
    panel, woods = _wood([box(0, 0, 100, 100), Polygon(), box(0, 0, 30, 30)], "panel.pins=true")
    holes = shapely.union_all(panel.pins)
    for sheet in woods:
        assert sheet.wood.intersection(holes).area < 1e-9
        assert len(shapely.get_parts(sheet.wood)) == 1


@pytest.mark.parametrize("seed", range(12))
def test_visible_regions_and_bare_ground_tile_the_interior(seed: int) -> None:
    panel, woods = _wood(_random_faces(seed), "panel.corner=20mm")
    shown = [sheet.visible for sheet in woods]
    bare = shapely.difference(panel.interior, union(shown))
    assert sum(region.area for region in shown) == pytest.approx(union(shown).area, abs=1e-6)
    assert sum(region.area for region in shown) + bare.area == pytest.approx(panel.interior.area, abs=0.2)
