"""How large a board is, and where its parts may lie.

Enters: the job's material and machine, and the panel's size. Leaves: a `BoardSize`, None where the job knows none.
Holds: on a board that is said to take the panel, the panel's cut line fits.
"""

from dataclasses import dataclass
from typing import Literal

from layercut.errors import JobError
from layercut.job_tables import MachineJob, MaterialJob
from layercut.model import Panel
from layercut.units import said_mm, said_size

Size = tuple[float, float]


@dataclass(frozen=True, slots=True)
class BoardSize:
    """A board as it is cut at one go, and what stays free along its sides, across and down; all mm.

    `limit` is what the size comes from: boards as bought, the bed, or both.
    """

    width_mm: float
    height_mm: float
    edges_mm: Size
    limit: Literal["stock", "bed", "both"]

    @property
    def room_mm(self) -> Size:
        """Width and height of the place for cut lines."""
        return self.width_mm - 2 * self.edges_mm[0], self.height_mm - 2 * self.edges_mm[1]


def find_board_size(material: MaterialJob, machine: MachineJob) -> BoardSize | None:
    """The size of a board: that of the wood as bought, but no more than the bed takes.

    Wood keeps the gap from its edges; the bed is no wood, and its edge is as good as its middle. Where both are known
    the wood lies as it gives the larger board.
    """
    stock, bed = _size(material.stock_width, material.stock_height), _size(machine.bed_width, machine.bed_height)
    gap = material.gap
    if stock is None:
        return None if bed is None else BoardSize(*bed, (0.0, 0.0), "bed")
    if bed is None:
        return BoardSize(*stock, (gap, gap), "stock")
    ways = [_within(lying, bed, gap) for lying in (stock, stock[::-1])]
    return max(ways, key=lambda way: way.width_mm * way.height_mm)


def require_room(panel: Panel, material: MaterialJob, size: BoardSize) -> None:
    """Raise JobError where a board has no room for anything, or none for the panel.

    Whether a panel fits the bed is asked before (`stack/panel.py`), and its rim afterwards
    (`planning/material.py`): that is told, and no board is written.
    """
    board = said_size(size.width_mm, size.height_mm, "g")
    if min(size.room_mm) <= 0:
        raise JobError(
            "board-gap",
            f"a gap of {said_mm(material.gap, 'g')} at the edges leaves nothing of a board of {board}.",
            "Make 'material.gap' smaller, or give larger boards.",
        )
    if size.limit != "bed" and not _takes(size, panel, material.kerf):
        cut = said_size(panel.width_mm + material.kerf, panel.height_mm + material.kerf, ".2f")
        room = said_size(*size.room_mm, "g")
        where = " on this bed" if size.limit == "both" else ""
        raise JobError(
            "board-part",
            f"a sheet is cut at {cut}, kerf included, and a board{where} has room for {room}, "
            "with 'material.gap' left free at its edges.",
            "Give larger boards with 'material.stock_width' and 'material.stock_height', or make the panel smaller.",
        )


def _takes(size: BoardSize, panel: Panel, kerf_mm: float) -> bool:
    wide, high = panel.width_mm + kerf_mm, panel.height_mm + kerf_mm
    room = [side + 1e-6 for side in size.room_mm]
    return (wide <= room[0] and high <= room[1]) or (high <= room[0] and wide <= room[1])


def _size(width: float | None, height: float | None) -> Size | None:
    return None if not width or not height else (width, height)


def _within(stock: Size, bed: Size, gap: float) -> BoardSize:
    """What of a board as bought lies on the bed: where the bed ends first, the wood goes on beyond the edge."""
    width, height = (min(wood, reach) for wood, reach in zip(stock, bed, strict=True))
    edges = tuple(gap if wood <= reach else 0.0 for wood, reach in zip(stock, bed, strict=True))
    limits = {wood <= reach for wood, reach in zip(stock, bed, strict=True)}
    limit: Literal["stock", "bed", "both"] = "both" if len(limits) == 2 else "stock" if True in limits else "bed"
    return BoardSize(width, height, (edges[0], edges[1]), limit)
