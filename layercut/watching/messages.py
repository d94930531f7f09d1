"""What the server and its compiling processes say to each other.

Enters: nothing. Leaves: `CompileRequest` one way, `Event`s the other, frozen; each event holds one kind of news.
"""

from dataclasses import dataclass
from pathlib import Path
from typing import TypeAlias

from layercut.units import UnitName
from layercut.watching.view_model import FindingsView, IslandView, PictureView, SheetView


@dataclass(frozen=True, slots=True)
class CompileRequest:
    """What to compile: the run's number, the drawing, its job file if there is one, and settings that win over it."""

    run: int
    drawing: Path
    job: Path | None
    settings: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Stage:
    """What a run is at; empty at its end."""

    name: str


@dataclass(frozen=True, slots=True)
class QuickPicture:
    """The drawing could be read: its paints as drawn, the panel's width and height, mm, and the units of words."""

    picture: PictureView
    panel: tuple[float, float]
    units: UnitName = "mm"


@dataclass(frozen=True, slots=True)
class StackKnown:
    """The stack is settled, or, after its sheets, turned out not to be one that can be made; `outcome` says so."""

    picture: PictureView
    findings: FindingsView
    islands: tuple[IslandView, ...]
    island_policy: str
    outcome: str


@dataclass(frozen=True, slots=True)
class IslandsKnown:
    """All ways out of every piece have their prices."""

    islands: tuple[IslandView, ...]


@dataclass(frozen=True, slots=True)
class SheetsKnown:
    """The sheets are cut; whether they make the drawing isn't known yet."""

    picture: PictureView
    findings: FindingsView
    sheets: tuple[SheetView, ...]


@dataclass(frozen=True, slots=True)
class Concluded:
    """The work is planned and the proof holds: all findings, what came of the run, and what the proof found."""

    findings: FindingsView
    outcome: str
    proof: str


@dataclass(frozen=True, slots=True)
class Broken:
    """The run came to nothing: it can't be read, doesn't go together, or its proof failed."""

    sentence: str


News: TypeAlias = Stage | QuickPicture | StackKnown | IslandsKnown | SheetsKnown | Concluded | Broken


@dataclass(frozen=True, slots=True)
class Event:
    """News of a run; `last` says that no more will come."""

    run: int
    news: News
    last: bool = False
