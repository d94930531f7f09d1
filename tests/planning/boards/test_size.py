"""The size of a board: wood as bought, no more than the bed takes."""

import pytest

from layercut.job import load_job
from layercut.planning.boards.size import BoardSize, find_board_size


def found(*settings: str) -> BoardSize | None:
    job = load_job(None, settings)
    return find_board_size(job.material, job.machine)


STOCK = ("material.stock_width=600mm", "material.stock_height=300mm", "material.gap=3mm")


def bed(width: float, height: float) -> tuple[str, str]:
    return f"machine.bed_width={width}mm", f"machine.bed_height={height}mm"


def test_half_a_size_is_none() -> None:
    assert found() is None
    assert found("machine.bed_width=300mm") is None
    assert found("material.stock_height=300mm") is None


def test_wood_keeps_the_gap_from_its_edge_and_a_bed_needs_none() -> None:
    assert found(*STOCK) == BoardSize(600, 300, (3, 3), "stock")
    assert found(*bed(400, 200)) == BoardSize(400, 200, (0, 0), "bed")


@pytest.mark.parametrize(
    ("reach", "size"),
    [
        ((700, 400), BoardSize(600, 300, (3, 3), "stock")),
        ((600, 300), BoardSize(600, 300, (3, 3), "stock")),
        ((400, 200), BoardSize(400, 200, (0, 0), "bed")),
        ((400, 400), BoardSize(400, 300, (0, 3), "both")),
        ((320, 640), BoardSize(300, 600, (3, 3), "stock")),  # the wood turned
    ],
)
def test_of_wood_and_bed_the_smaller(reach: tuple[float, float], size: BoardSize) -> None:
    assert found(*STOCK, *bed(*reach)) == size


def test_room_is_what_the_edges_leave() -> None:
    size = found(*STOCK)
    assert size is not None
    assert size.room_mm == (594, 294)
