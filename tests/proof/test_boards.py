"""The proof of boards: honest ones pass; whatever is done to one of them is told."""

import re
from collections.abc import Callable
from dataclasses import dataclass, replace

import pytest
from board_jobs import panel_of, plan_of, sheet_texts, sheets_of
from shapely import Point, box

from layercut.geometry.regions import Region, as_region
from layercut.job import Job, load_job
from layercut.planning.boards.plan import plan_boards
from layercut.proof.boards import PlannedBoards, check_boards, planned_boards
from layercut.proof.failures import ProofFailure
from layercut.proof.plan import Plan
from layercut.sheets.boards import write_boards
from layercut.units import INCHES

RING: Region = as_region(box(0, 0, 100, 80).difference(box(10, 10, 90, 70)))
MOON: Region = as_region(RING.union(Point(30, 30).buffer(8)).union(box(55, 50, 75, 62)))
BOARD = "boards/01.svg"


@dataclass(frozen=True)
class Written:
    """Boards and sheets as files, and what is planned of both."""

    boards: dict[str, str]
    sheets: dict[str, str]
    planned: PlannedBoards
    plan: Plan

    def check(self) -> tuple[ProofFailure, ...]:
        return check_boards(self.boards, self.sheets, self.planned, self.plan)

    def changed(self, change: Callable[[str], str]) -> "Written":
        text = change(self.boards[BOARD])
        assert text != self.boards[BOARD]
        return replace(self, boards={**self.boards, BOARD: text})

    def at(self, number: int, x: float, y: float, turned: int = 0, gap: float | None = None) -> "Written":
        """The manifest saying that a part of the first board lies elsewhere."""
        first, *rest = self.planned.boards
        parts = list(first.parts)
        part = parts[number]
        place = (part.at_mm[0] + x, part.at_mm[1] + y)
        parts[number] = replace(part, at_mm=place, turned_deg=(part.turned_deg + turned) % 360)
        boards = (replace(first, parts=tuple(parts)), *rest)
        return replace(self, planned=replace(self.planned, boards=boards, gap_mm=gap or self.planned.gap_mm))


@pytest.fixture(scope="module")
def honest() -> Written:
    job: Job = load_job(None, ["material.stock_width=310mm", "material.stock_height=85mm"])
    sheets = sheets_of([("house", MOON, 1), ("back", as_region(box(0, 0, 100, 80)), 1), ("ring", RING, 3)], job)
    plan = plan_boards(sheets, job)
    assert plan is not None
    boards, _ = write_boards(plan.boards, job)
    assert panel_of(100, 80).width_mm == 100
    return Written(boards, sheet_texts(sheets, job), planned_boards(plan, sheets, job), plan_of(sheets, job))


def codes(written: Written) -> set[str]:
    return {problem.code for problem in written.check()}


def paths(text: str, role: str) -> list[str]:
    group = re.search(rf'<g data-role="{role}"[^>]*>(.*?)</g>', text, re.DOTALL)
    assert group is not None
    return re.findall(r"\n<path [^>]*>", group[1])


def test_honest_boards_pass(honest: Written) -> None:
    assert len(honest.planned.boards) == 2
    assert [part.piece for part in honest.planned.boards[0].parts if part.piece] == ["house-1", "house-2"]
    assert honest.check() == ()


def shifted(text: str) -> str:
    """The first rim moved by a twentieth of a millimetre."""
    rim = paths(text, "cut-outline")[0]
    moved = re.sub(r"M([\d.]+) ", lambda found: f"M{float(found[1]) + 0.05:.3f} ", rim, count=1)
    return text.replace(rim, moved)


def backwards(role: str) -> Callable[[str], str]:
    """The paths of a role burnt the other way round."""

    def change(text: str) -> str:
        there = "".join(paths(text, role))
        return text.replace(there, "".join(reversed(paths(text, role))))

    return change


def without_last(role: str) -> Callable[[str], str]:
    return lambda text: text.replace(paths(text, role)[-1], "", 1)


def before_openings(data: str) -> Callable[[str], str]:
    """One contour more, cut first: in the opening of the last ring."""
    return lambda text: text.replace(
        paths(text, "cut-opening")[0], f'\n<path d="{data}"/>{paths(text, "cut-opening")[0]}'
    )


def mirrored(text: str) -> str:
    """The sheet on the left mirrored about its own middle: every contour and mark of it."""

    def change(path: str) -> str:
        pairs = re.findall(r"(-?[\d.]+) (-?[\d.]+)", path)
        if max(float(x) for x, _ in pairs) > 103:
            return path
        return re.sub(r"(-?[\d.]+) (-?[\d.]+)", lambda pair: f"{104.15 - float(pair[1]):.3f} {pair[2]}", path)

    return re.sub(r' d="[^"]+"', lambda found: change(found[0]), text)


TAMPERED: list[tuple[str, Callable[[str], str], str]] = [
    ("a rim bent", shifted, "part-differs"),
    ("an opening left out", without_last("cut-opening"), "part-differs"),
    ("a rim left out", without_last("cut-outline"), "part-missing"),
    ("an opening before what lies in it", backwards("cut-opening"), "order-inside"),
    ("a mark left out", without_last("mark-line"), "mark-missing"),
    (
        "a mark twice",
        lambda text: text.replace(paths(text, "mark-line")[0], 2 * paths(text, "mark-line")[0]),
        "mark-added",
    ),
    (
        "another page",
        lambda text: text.replace('width="310mm"', 'width="311mm"').replace("0 0 310", "0 0 311"),
        "board-damaged",
    ),
    ("scaled", lambda text: text.replace('width="310mm"', 'width="620mm"'), "board-damaged"),
    ("cut short", lambda text: text[: len(text) // 2], "board-damaged"),
    ("recoloured", lambda text: text.replace("#E69F00", "#CC79A7"), "role-differs"),
    ("a part mirrored", mirrored, "part-differs"),
    ("the marks of one mirrored", mirrored, "mark-missing"),
    ("more wood", before_openings("M250 40L254 40L254 44L250 44Z"), "part-added"),
]


@pytest.mark.parametrize(("change", "code"), [row[1:] for row in TAMPERED], ids=[row[0] for row in TAMPERED])
def test_what_is_done_to_a_board_is_told(honest: Written, change: Callable[[str], str], code: str) -> None:
    assert code in codes(honest.changed(change))


def test_problems_are_told_in_the_readers_units(honest: Written) -> None:
    """Sizes, areas and gaps: in mm for records, without one for who reads inches."""
    changes = [honest.changed(change) for _, change, _ in TAMPERED]
    problems = [one for written in (*changes, honest.at(0, 0.0, 0.0, gap=2.2)) for one in written.check()]
    measured = [one for one in problems if re.search(r"\d mm", one.message)]
    assert {one.code for one in measured} >= {"board-damaged", "part-differs", "part-added", "parts-close"}
    for one in problems:
        assert not re.search(r"\d mm|[\x00-\x1f]", INCHES.told(one.text)), one.text


def test_a_part_that_lies_elsewhere_is_told(honest: Written) -> None:
    assert "part-differs" in codes(honest.at(0, 0.1, 0.0))
    assert {"part-missing", "part-added"} <= codes(honest.at(0, 400.0, 0.0))
    assert "part-off-board" in codes(honest.at(0, 400.0, 0.0))
    assert codes(honest.at(0, 100.0, 80.0, turned=180)) & {"part-differs", "part-missing"}


def test_parts_nearer_than_the_gap_are_told(honest: Written) -> None:
    assert codes(honest.at(0, 0.0, 0.0, gap=2.2)) == {"parts-close"}
    assert codes(honest.at(0, 0.0, 0.0, gap=2.0)) == set()


def test_a_part_twice_or_not_at_all_is_told(honest: Written) -> None:
    first, *rest = honest.planned.boards
    ring = next(k for k, part in enumerate(first.parts) if part.piece is None)
    less = replace(first, parts=tuple(part for k, part in enumerate(first.parts) if k != ring))
    planned = replace(honest.planned, boards=(less, *rest))
    assert {"part-missing", "part-added"} <= codes(replace(honest, planned=planned))
    twice = replace(honest.planned, boards=(first, first, *rest))
    assert "part-twice" in codes(replace(honest, planned=twice))
    assert "board-missing" in codes(replace(honest, boards={}))


def test_no_boards_no_word() -> None:
    job = load_job(None, ())
    sheets = sheets_of([("ring", RING, 1)], job)
    assert check_boards({}, {}, PlannedBoards((), {"sheets/01-ring.svg": 1}, 2.0), plan_of(sheets, job)) == ()
