"""A board in burning order: each contour its sheet's to the last digit, and nothing cut out of what is loose."""

import re

import numpy as np
import pytest
import shapely
from board_jobs import foliage_job, random_job
from shapely import Polygon

from layercut.geometry.curves import chord_counts, flatten
from layercut.job import Job
from layercut.model import BoardLayout, BoardPart
from layercut.planning.boards.plan import plan_boards
from layercut.sheets.boards import moved_path, order_board, write_boards
from layercut.sheets.svg_out import write_cuts


@pytest.fixture(scope="module")
def foliage() -> tuple[tuple[BoardLayout, ...], Job]:
    sheets, job = foliage_job()
    plan = plan_boards(sheets, job)
    assert plan is not None
    return plan.boards, job


def numbers(text: str) -> list[list[float]]:
    """The numbers of each path, in order from the smallest, wherever the path begins."""
    return sorted(sorted(map(float, re.findall(r"-?[\d.]+", path))) for path in re.findall(r' d="([^"]+)"', text))


def test_every_digit_of_a_contour_is_its_sheets(foliage: tuple[tuple[BoardLayout, ...], Job]) -> None:
    boards, job = foliage
    texts, _ = write_boards(boards, job)
    for board in boards:
        size = (board.width_mm, board.height_mm)
        paths = [path for part in board.parts for path in _all_paths(part)]
        closed = [path for path in paths if path.closed[0]]
        lines = [path for path in paths if not path.closed[0]]
        plain = write_cuts("", size, (), lines, closed, (), job.roles)
        # A contour that begins elsewhere writes another of its lines by its Z: so whole points are compared.
        assert {tuple(p) for path in paths for p in path.segments.reshape(-1, 2).round(3).tolist()} >= points(
            texts[board.file]
        )
        assert len(numbers(plain)) == len(numbers(texts[board.file]))


def points(text: str) -> set[tuple[float, ...]]:
    pairs = re.findall(r"(-?[\d.]+) (-?[\d.]+)", "".join(re.findall(r' d="([^"]+)"', text)))
    return {(float(x), float(y)) for x, y in pairs}


def _all_paths(part: BoardPart) -> list:  # type: ignore[type-arg]
    curves = part.cut.curves
    return [moved_path(path, part) for path in (*curves.mark_lines, *curves.openings, curves.outline)]


@pytest.mark.parametrize("seed", range(6))
def test_nothing_is_cut_out_of_what_is_loose(seed: int) -> None:
    sheets, job = random_job(seed)
    plan = plan_boards(sheets, job)
    assert plan is not None
    for board in plan.boards:
        cuts = order_board(board, job.machine)
        rings = [_ring(path) for path in (*cuts.openings, *cuts.outlines)]
        for k, ring in enumerate(rings):
            later = np.array(rings[k + 1 :], dtype=object)
            assert not shapely.contains_properly(ring, later).any()
        inside = [part for part in board.parts if part.inside]
        assert len(cuts.outlines) == len(board.parts) - len(inside)


def _ring(path) -> Polygon:  # type: ignore[no-untyped-def]
    (line,) = flatten([path], path.segments, chord_counts([path], path.segments))[0]
    return Polygon(line.points)


def test_times_are_those_of_the_parts_but_for_the_ways(foliage: tuple[tuple[BoardLayout, ...], Job]) -> None:
    boards, job = foliage
    for board in boards:
        cuts = order_board(board, job.machine)
        whole = [part.cut.times for part in board.parts if not part.piece]
        assert cuts.times.rim_s >= sum(times.rim_s for times in whole)
        assert cuts.times.openings_s == pytest.approx(sum(times.openings_s for times in whole))
        assert cuts.travel_mm > 0


def test_the_same_board_gives_the_same_text(foliage: tuple[tuple[BoardLayout, ...], Job]) -> None:
    boards, job = foliage
    assert write_boards(boards, job) == write_boards(boards, job)
