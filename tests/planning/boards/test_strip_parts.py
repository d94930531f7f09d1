"""Strips of spacers on boards: each is a part of its own, and lies where it takes least."""

from pathlib import Path

import pytest
import tampering as t
from board_jobs import require_apart
from builds import made_of
from shapely import box
from shapely.ops import unary_union

from layercut.geometry.regions import polygons_of
from layercut.job import load_job
from layercut.model import BoardPlan, Made
from layercut.pipeline import compile_drawing
from layercut.planning.boards.parts import find_parts
from layercut.planning.boards.spares import propose_spares
from layercut.sheets.boards import moved

STRIPS = ("islands.policy=loose", "hanging.spacers=3", "hanging.spacer_from=strips", "panel.pins=true")
STOCK = ("material.stock_width=600mm", "material.stock_height=400mm")
ROUND = ("panel.corner=50mm",)


def make(folder: Path, *settings: str) -> Made:
    drawing = folder / "garden.svg"
    drawing.write_text(t.GARDEN)
    return made_of(compile_drawing(drawing, load_job(None, (*STRIPS, *settings))))


def boards_of(build: Made) -> BoardPlan:
    assert build.boards is not None
    return build.boards.plan


@pytest.mark.parametrize("settings", [(), ROUND], ids=["straight", "arcs"])
@pytest.mark.parametrize("grain", ["along", "any"])
def test_every_strip_is_on_one_board_by_itself(tmp_path: Path, settings: tuple[str, ...], grain: str) -> None:
    build = make(tmp_path, *STOCK, *settings, f"material.grain={grain}")
    strips = [strip for sheet in build.sheets for strip in sheet.strips]
    parts = [part for board in boards_of(build).boards for part in board.parts]
    assert sorted(part.name for part in parts if part.cut.strips) == sorted(f"strip {one.number}" for one in strips)
    assert len(strips) >= 12
    wholes = [part.cut.file for part in parts if not part.piece]
    assert sorted(wholes) == sorted(sheet.file for sheet in build.sheets if not sheet.strips)
    require_apart(boards_of(build), build.job.material.gap)


def test_a_strip_is_its_rim_and_its_pin_holes(tmp_path: Path) -> None:
    build = make(tmp_path, *STOCK)
    by_name = {f"strip {one.number}": one for sheet in build.sheets for one in sheet.strips}
    parts = [part for part in find_parts(build.sheets, build.job.material) if part.cut.strips]
    assert len(parts) == len(by_name)
    for part in parts:
        strip = by_name[part.name]
        assert (part.cut.strips, part.cut.copies, part.spare) == ((strip,), 1, False)
        assert len(part.cut.openings) == len(strip.laid.interiors)
        # Half a kerf outside its wood, all round.
        off = build.job.material.kerf / 2
        grown = strip.laid.buffer(off, join_style="mitre")
        assert box(*part.rim.bounds).equals_exact(box(*grown.bounds), 0.01)
    assert sum(len(part.cut.openings) for part in parts) > 0


def test_strips_take_the_wood_that_sheets_leave(tmp_path: Path) -> None:
    """Strips lie beside and in the sheets: the boards are those that the sheets alone would need."""
    with_strips, without = make(tmp_path, *STOCK), make(tmp_path, *STOCK, "hanging.spacers=0")
    assert len(boards_of(with_strips).boards) == len(boards_of(without).boards) == 1
    (board,) = boards_of(with_strips).boards
    woods = [wood for part in board.parts for wood in polygons_of(moved(part.cut.wood, part))]
    assert unary_union(woods).area == pytest.approx(sum(wood.area for wood in woods))


def test_no_strip_is_a_spare(tmp_path: Path) -> None:
    """Where no board is known, nothing is proposed for strips, nor anything between them."""
    build = make(tmp_path, "material.spares=1")
    nested, unplaced = propose_spares(build.sheets, build.job.material)
    loose = {piece.id for sheet in build.sheets for piece in sheet.loose if not piece.riser}
    assert loose
    assert {one.part for one in nested} | set(unplaced) == loose
    assert not any(one.sheet == sheet.name for one in nested for sheet in build.sheets if sheet.strips)
