"""Saves of the drawing and the job file, however an editor makes them.

Enters: paths. Leaves: a word each time something happens to one of them, and what they hold. Holds: the folders are
watched, not the files, since many editors write another file and rename it.
"""

import hashlib
import time
from collections.abc import AsyncIterator, Iterable
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from watchfiles import Change, awatch

from layercut.drawing.document import MAX_BYTES
from layercut.reading import read_plain

STEP_MS = 10
"""A save is over when nothing more happened for this long, ms; what comes later is a save of its own."""

DEBOUNCE_MS = 150
"""However much happens, it is told after this long, ms."""

FRESH_S = 5.0
"""A file whose time lies further back than this when its change is seen was copied with its old time, s."""


@dataclass(frozen=True, slots=True)
class Saved:
    """What the files hold: a digest of all their bytes, and when the newest was written, s since the epoch."""

    digest: str
    at_s: float


def look(paths: Iterable[Path]) -> Saved:
    """What the files hold now; one that can't be read counts as empty."""
    digest, newest, now = hashlib.sha256(), 0.0, time.time()
    for path in paths:
        data = b""
        with suppress(OSError):
            newest = max(newest, path.stat().st_mtime)
            data = read_plain(path, MAX_BYTES)
        digest.update(f"{len(data)} ".encode())
        digest.update(data)
    return Saved(digest.hexdigest(), newest if now - FRESH_S < newest <= now else now)


async def follow_saves(paths: Iterable[Path]) -> AsyncIterator[None]:
    """One item for every burst of changes to the files, until the task is cancelled.

    Raises OSError where a folder can't be watched.
    """
    names = {name for path in paths for name in (path.absolute(), path.resolve())}
    folders = {name.parent for name in names if name.parent.is_dir()}
    wanted = {str(name) for name in names}

    def ours(_change: Change, name: str) -> bool:
        return name in wanted

    async for _ in awatch(
        *sorted(folders), watch_filter=ours, debounce=DEBOUNCE_MS, step=STEP_MS, recursive=False, rust_timeout=1000
    ):
        yield None
