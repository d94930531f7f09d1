"""Time on the machine.

Holds: frozen values; lengths are mm on the panel, areas mm2, times s, weights g, forces N.
"""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class BurnTimes:
    """How long the machine takes for one sheet, by what it does there, s."""

    areas_s: float = 0.0
    lines_s: float = 0.0
    openings_s: float = 0.0
    rim_s: float = 0.0
    travel_s: float = 0.0

    @property
    def marking_s(self) -> float:
        """Engraving, areas and lines, s."""
        return self.areas_s + self.lines_s

    @property
    def cutting_s(self) -> float:
        """Cutting, openings and rim, s."""
        return self.openings_s + self.rim_s

    @property
    def total_s(self) -> float:
        """All of it, s."""
        return self.marking_s + self.cutting_s + self.travel_s


@dataclass(frozen=True, slots=True)
class SheetTime:
    """One sheet's time on the machine; `copies` says how often it is cut."""

    name: str
    copies: int
    times: BurnTimes


@dataclass(frozen=True, slots=True)
class TimePlan:
    """Every sheet's time, and all of them together, copies counted."""

    sheets: tuple[SheetTime, ...]
    total: BurnTimes
