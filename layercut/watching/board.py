"""What the page shows, at any moment, for any number of open tabs.

Enters: changes of parts of it. Leaves: the whole as one JSON text to whoever follows, and the pictures it names.
Holds: only used from the server's own loop, so nothing changes while it is read.
"""

import asyncio
import itertools
import json
from collections.abc import AsyncIterator
from typing import Any

KEPT_PICTURES = 120
"""So many pictures are kept: those of the last few saves, for tabs that haven't fetched them yet."""


class Board:
    """The state of the page; its keys are those that page.js reads."""

    def __init__(self, **state: Any) -> None:
        self._state: dict[str, Any] = state
        self._pictures: dict[str, str] = {}
        self._names = itertools.count(1)
        self._changed = asyncio.Event()
        self._closed = False

    def change(self, **parts: Any) -> None:
        """Put these parts in place of what was there, and wake all followers."""
        self._state |= parts
        self._wake()

    def __getitem__(self, part: str) -> Any:
        return self._state[part]

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
        return json.dumps(self._state, ensure_ascii=False, allow_nan=False)

    async def follow(self) -> AsyncIterator[str]:
        """The state now and after every change, until the board is closed. Changes close together come as one."""
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
