"""What the page shows, at any moment, for any number of open tabs.

Enters: changes of parts of it. Leaves: the whole as one JSON text to whoever follows, and the pictures it names.
Holds: only used from the server's own loop, so nothing changes while it is read.
"""

import asyncio
import itertools
import json
from collections.abc import AsyncIterator
from dataclasses import asdict, dataclass
from typing import Literal

from layercut.units import UnitName
from layercut.views.picture.scene import Box
from layercut.watching.choices import LengthView
from layercut.watching.view_model import FindingView, IslandView, SheetView

KEPT_PICTURES = 120
"""So many pictures are kept: those of the last few saves, for tabs that haven't fetched them yet."""


@dataclass(frozen=True, slots=True)
class ShownPicture:
    """A picture on the page: whose run's, what it shows, when the save was made (ms), its address and box."""

    run: int
    kind: Literal["quick", "same", "stack", "whole"]
    saved: int
    url: str
    box: Box


@dataclass(frozen=True, slots=True)
class Trouble:
    """Why a save can't be shown, or can't be made."""

    run: int
    saved: int
    sentence: str


@dataclass(frozen=True, slots=True)
class State:
    """All that the page shows; the fields are the keys that page.js reads.

    `run` counts the saves, and `saved` is when the last was made, ms since the epoch. `known_run` and `sheets_run`
    are the runs that the findings and the sheets are of.
    """

    session: str
    file: str
    job: str
    lengths: tuple[LengthView, ...]
    islands_fixed: bool = False
    run: int = 0
    saved: int = 0
    busy: str = "starting"
    trouble: Trouble | None = None
    picture: ShownPicture | None = None
    panel: tuple[float, float] | None = None
    units: UnitName = "mm"
    known_run: int = 0
    findings: tuple[FindingView, ...] = ()
    more_findings: int = 0
    islands: tuple[IslandView, ...] = ()
    changes: tuple[str, ...] = ()
    island_policy: str = "auto"
    sheets: tuple[SheetView, ...] = ()
    sheets_run: int = 0
    proof: str = ""
    outcome: str = ""


class LiveState:
    """The state, whoever follows it, and the pictures that it names."""

    def __init__(self, first: State) -> None:
        self._now = first
        self._pictures: dict[str, str] = {}
        self._names = itertools.count(1)
        self._changed = asyncio.Event()
        self._closed = False

    @property
    def now(self) -> State:
        """The state as it is; whoever changes it gives a new one to `show`."""
        return self._now

    def show(self, state: State) -> None:
        """Put a state in place of what was there, and wake all followers."""
        self._now = state
        self._wake()

    def add_picture(self, svg: str) -> str:
        """Keep a picture; returns its address on the server."""
        name = f"/picture/{next(self._names)}.svg"
        self._pictures[name] = svg
        while len(self._pictures) > KEPT_PICTURES:
            del self._pictures[next(iter(self._pictures))]
        return name

    def picture(self, address: str) -> str | None:
        """The picture at an address; None where there is none, or none any more."""
        return self._pictures.get(address)

    def text(self) -> str:
        """The whole state as JSON on one line."""
        return json.dumps(asdict(self._now), ensure_ascii=False, allow_nan=False)

    async def follow(self) -> AsyncIterator[str]:
        """The state now and after every change, until it is closed. Changes close together come as one."""
        while not self._closed:
            changed = self._changed
            yield self.text()
            await changed.wait()

    def close(self) -> None:
        """Let all followers go."""
        self._closed = True
        self._wake()

    def _wake(self) -> None:
        before, self._changed = self._changed, asyncio.Event()
        before.set()
