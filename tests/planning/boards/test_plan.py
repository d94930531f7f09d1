"""Boards of whole jobs: every part once, nothing overlaps, and never fewer boards than there can be."""

from collections import Counter

import pytest
from board_jobs import panel_of, random_job, require_apart, sheets_of
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Point, box

from layercut.errors import JobError
from layercut.geometry.regions import Region, as_region
from layercut.job import Job, load_job
from layercut.planning.boards.plan import plan_boards, require_boards
from layercut.planning.boards.size import find_board_size

RING: Region = as_region(box(0, 0, 100, 80).difference(box(10, 10, 90, 70)))
MOON: Region = as_region(RING.union(Point(50, 40).buffer(8)))


def job(*settings: str, stock: tuple[float, float] = (210, 170)) -> Job:
    return load_job(None, [f"material.stock_width={stock[0]}mm", f"material.stock_height={stock[1]}mm", *settings])


@settings(max_examples=300, deadline=None)
@given(st.integers(0, 10**9))
def test_random_jobs_have_every_part_once_and_nothing_overlaps(seed: int) -> None:
    sheets, some = random_job(seed)
    plan = plan_boards(sheets, some)
    assert plan is not None
    found = Counter((part.cut.file, part.piece) for board in plan.boards for part in board.parts)
    wanted = Counter({(sheet.file, ""): sheet.copies for sheet in sheets})
    spares = some.material.spares
    wanted += Counter({(sheet.file, piece.id): spares for sheet in sheets for piece in sheet.loose})
    assert found == wanted
    assert plan.least <= len(plan.boards) <= plan.flat
    require_apart(plan, some.material.gap)


@pytest.mark.parametrize(("stock", "boards"), [((210, 170), 2), ((103, 83), 6), ((1000, 1000), 1), ((315, 250), 1)])
def test_how_many_boards(stock: tuple[float, float], boards: int) -> None:
    plan = plan_boards(sheets_of([("ring", RING, 6)], job()), job("material.gap=1mm", stock=stock))
    assert plan is not None
    assert len(plan.boards) == boards
    assert plan.least <= boards


def test_a_spare_lies_in_an_opening_of_its_own_sheet_or_another() -> None:
    some = job("material.spares=3")
    plan = plan_boards(sheets_of([("house", MOON, 1)], some), some)
    assert plan is not None
    (board,) = plan.boards
    sheet, *spares = board.parts
    assert [part.name for part in spares] == ["house-1, spare 1", "house-1, spare 2", "house-1, spare 3"]
    assert all(part.inside for part in spares)
    assert not sheet.inside


def test_without_openings_some_boards_more() -> None:
    """A board that is full of one sheet: its spares and strips lie in it, or else on another board."""
    some = job("material.gap=1mm", stock=(103, 83))
    sheets = sheets_of([("house", MOON, 1), ("strip", box(0, 0, 60, 5), 2)], some)
    plan = plan_boards(sheets, some)
    assert plan is not None
    assert (len(plan.boards), plan.flat, plan.least) == (1, 2, 1)
    assert plan.waste_share(2) == pytest.approx(0.5 + plan.waste_share(1) / 2)


def test_along_the_grain_all_parts_are_turned_alike() -> None:
    some = job(stock=(332, 110))
    sheets = sheets_of([("house", MOON, 1), ("ring", RING, 3)], some)
    plan = plan_boards(sheets, some)
    assert plan is not None
    assert {part.turned_deg % 180 for board in plan.boards for part in board.parts} == {90}
    assert len(plan.boards) == 1
    mixed = plan_boards(sheets, load_job(None, [*_settings((345, 110)), "material.grain=any"]))
    assert mixed is not None
    assert len(mixed.boards) == 1


def _settings(stock: tuple[float, float]) -> list[str]:
    return [f"material.stock_width={stock[0]}mm", f"material.stock_height={stock[1]}mm"]


def test_what_is_no_board_has_no_plan() -> None:
    none = load_job(None, ["material.stock_width=300mm"])
    assert plan_boards(sheets_of([("ring", RING, 1)], none), none) is None
    tight = load_job(None, ["machine.bed_width=100mm", "machine.bed_height=80mm"])
    assert plan_boards(sheets_of([("ring", RING, 1)], tight), tight) is None


@pytest.mark.parametrize(
    ("settings", "code", "words"),
    [
        (["material.gap=90mm"], "board-gap", "a gap of 90 mm at the edges leaves nothing of a board of 210 x 170 mm"),
        (["material.gap=60mm"], "board-part", "a sheet is cut at 100.15 x 80.15 mm"),
        (["material.stock_width=102mm", "material.stock_height=102mm"], "board-part", "room for 98 x 98 mm"),
        (["machine.bed_width=101mm", "machine.bed_height=81mm", "material.stock_height=80mm"], "board-part", "bed"),
    ],
)
def test_boards_that_take_no_sheet(settings: list[str], code: str, words: str) -> None:
    with pytest.raises(JobError) as error:
        require_boards(panel_of(100, 80), load_job(None, [*_settings((210, 170)), *settings]))
    assert error.value.code == code
    assert words in str(error.value)


def test_the_same_job_gives_the_same_boards() -> None:
    sheets, some = random_job(7)
    one, two = (plan_boards(sheets, some) for _ in range(2))
    assert one is not None
    assert two is not None
    assert [(part.name, part.at_mm, part.turned_deg) for board in one.boards for part in board.parts] == [
        (part.name, part.at_mm, part.turned_deg) for board in two.boards for part in board.parts
    ]
    assert find_board_size(some.material, some.machine) is not None
