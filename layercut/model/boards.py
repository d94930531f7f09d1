"""What lies on each board, and what is burnt on it.

Holds: all values are frozen; `model/__init__.py` says where the origin is.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from layercut.geometry.curves import Path
from layercut.model.sheets import Sheet
from layercut.workplan import BurnTimes


@dataclass(frozen=True, slots=True)
class BoardPart:
    """What is cut from a board in one piece: a sheet, a strip of a spacer, or a spare of a sheet's loose piece.

    `cut` is what the machine does, where the sheet has it: of a strip or a spare its own contours and marks alone.
    `piece` is the piece's id or the strip's name, empty for a whole sheet. A place of the sheet is turned about the
    sheet's origin by `turned_deg`, clockwise as one sees it (SVG's `rotate`), and lies `at_mm` further on the board.
    `inside` says that the part lies in an opening of another, and so is cut before that.
    """

    name: str
    cut: Sheet
    piece: str
    at_mm: tuple[float, float]
    turned_deg: int
    inside: bool

    @property
    def spare(self) -> bool:
        """Whether it is a spare of a loose piece."""
        return bool(self.piece) and not self.cut.strips


@dataclass(frozen=True, slots=True)
class BoardLayout:
    """One board and the parts that lie on it; sizes in mm."""

    file: str
    width_mm: float
    height_mm: float
    parts: tuple[BoardPart, ...]

    @property
    def waste_share(self) -> float:
        """The share of its wood that is in no part, 0 to 1."""
        return 1 - sum(float(part.cut.wood.area) for part in self.parts) / (self.width_mm * self.height_mm)


@dataclass(frozen=True, slots=True)
class BoardCuts:
    """All that is burnt on a board, in burning order, as curves: areas, lines, then the contours that lie inside
    others', and last the rims that don't. `travel_mm` is the way between; `times` are estimates."""

    mark_areas: tuple[tuple[Path, ...], ...]
    mark_lines: tuple[Path, ...]
    openings: tuple[Path, ...]
    outlines: tuple[Path, ...]
    travel_mm: float
    times: BurnTimes


@dataclass(frozen=True, slots=True)
class BoardPlan:
    """All boards of a job, and how good that is.

    `limit` is what their size comes from: boards as bought, the bed, or one of each. `flat` is how many boards there
    would be with nothing in the openings; `least` how many no layout can do without.
    """

    boards: tuple[BoardLayout, ...]
    limit: Literal["stock", "bed", "both"]
    flat: int
    least: int

    def waste_share(self, boards: int) -> float:
        """The share of so many boards' wood that is in no part, 0 to 1."""
        wood = sum(float(part.cut.wood.area) for board in self.boards for part in board.parts)
        first = self.boards[0]
        return 1 - wood / (boards * first.width_mm * first.height_mm)


@dataclass(frozen=True, slots=True)
class Boards:
    """The boards as they are laid and as they are written: each one's SVG by its file, and their times in order."""

    plan: BoardPlan
    written: Mapping[str, str]
    times: tuple[BurnTimes, ...]
