"""Wood used and left, the bed, and spares of loose pieces in the waste."""

import pytest
from scenes import SceneRun, Scenes
from shapely import Point, box

from layercut.job import load_job
from layercut.planning.material import bed_findings, plan_material
from layercut.stack.panel import make_panel


@pytest.fixture(scope="module")
def made(scenes: Scenes) -> SceneRun:
    """A ground with a house that is open above, and a moon that is glued on."""
    drawing = scenes.drawing([scenes.ground()], [box(0, 70, 100, 100), Point(50, 35).buffer(6)])
    return scenes.make(drawing, "islands.policy=loose")


def test_wood_and_waste_add_up(made: SceneRun) -> None:
    plan = plan_material(made.stack.panel, made.sheets, made.job.material, made.job.machine)
    assert plan.panels == 2
    assert plan.wood_mm2 == pytest.approx(sum(sheet.wood.area for sheet in made.sheets))
    assert plan.wood_mm2 + plan.waste_mm2 == pytest.approx(2 * 100 * 100)
    assert (plan.bed, plan.stock) == (None, None)


def test_a_spare_of_the_moon_lies_beside_it(made: SceneRun) -> None:
    plan = plan_material(made.stack.panel, made.sheets, made.job.material, made.job.machine)
    (spare,) = plan.nested
    moon = made.sheets[1].loose[0]
    assert (spare.part, spare.sheet) == (moon.id, "l1")
    assert spare.outline.distance(made.sheets[1].wood) >= 2 - 1e-6
    assert spare.outline.area == pytest.approx(moon.region.area)
    assert plan.unplaced == ()


def test_more_spares_or_none(made: SceneRun) -> None:
    three = plan_material(
        made.stack.panel, made.sheets, load_job(None, ["material.spares=3"]).material, made.job.machine
    )
    assert len(three.nested) == 3
    assert {one.part.rpartition(", ")[2] for one in three.nested} == {"spare 1", "spare 2", "spare 3"}
    none = plan_material(
        made.stack.panel, made.sheets, load_job(None, ["material.spares=0"]).material, made.job.machine
    )
    assert none.nested == none.unplaced == ()


def test_bed_and_board_are_counted_with_kerf_and_gap(made: SceneRun) -> None:
    job = load_job(None, ["machine.bed_width=204mm", "machine.bed_height=100.15mm", "material.gap=2mm"])
    plan = plan_material(made.stack.panel, made.sheets, job.material, job.machine)
    assert plan.bed is not None
    assert (plan.bed.each, plan.bed.boards) == (2, 1)  # 2 x 100.15 + 2 = 202.3
    tight = load_job(None, ["machine.bed_width=202mm", "machine.bed_height=100.15mm"])
    crowded = plan_material(made.stack.panel, made.sheets, tight.material, tight.machine).bed
    assert crowded is not None
    assert crowded.each == 1
    board = load_job(None, ["material.stock_width=105mm", "material.stock_height=250mm", "material.gap=2mm"])
    plan = plan_material(made.stack.panel, made.sheets, board.material, board.machine)
    assert plan.stock is not None
    assert (plan.stock.each, plan.stock.boards) == (2, 1)


@pytest.mark.parametrize(
    ("bed", "words"),
    [
        (("300mm", "200mm"), ""),
        (("120.15mm", "80.15mm"), ""),
        (("120mm", "80mm"), "can't reach all of it"),
        (("81mm", "121mm"), "a quarter turn round"),
    ],
)
def test_whether_the_rim_lies_on_the_bed(bed: tuple[str, str], words: str) -> None:
    job = load_job(None, [f"machine.bed_width={bed[0]}", f"machine.bed_height={bed[1]}"])
    findings = bed_findings(make_panel(120, 80, job), job.machine, job.material.kerf)
    assert [finding.code for finding in findings] == (["bed-tight"] if words else [])
    assert all(words in finding.message and finding.severity == "warning" for finding in findings)


def test_an_unknown_bed_says_nothing() -> None:
    job = load_job(None, ["machine.bed_width=120mm"])
    assert bed_findings(make_panel(120, 80, job), job.machine, job.material.kerf) == []
