"""Processes: work for Python on two processors. Threads only help where GEOS works: Python runs in one at a time.

Enters: functions, and what they are to be called with. Leaves: the results, in order. Holds: the same results and the
same errors as one call after another. What the second process doesn't bring, because it failed or was ended or the
system lets there be none, is done here.

The second process is a copy of this one as it stands (POSIX `fork`), so nothing has to be handed to it, nor imported
again: only what it found comes back, pickled. A copy has one thread; what another thread held at that moment would
stay held in it, so there is no copy where another thread runs. Nor is there one of a process that another started to
work for it and may end, as nobody would end the copy.
"""

import os
import pickle
import signal
import sys
import threading
import warnings
from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from typing import Any, TypeVar

from layercut.geometry.parallel import WORKERS, both

T = TypeVar("T")
R = TypeVar("R")

_MOST = 2000
"""Items that two processes share, at most: their numbers, two bytes each, must fit into a pipe (4096 bytes do)."""


@dataclass(frozen=True, slots=True)
class _Child:
    """A process, and the pipe that its result comes through."""

    pid: int
    pipe: int


def both_apart(first: Callable[[], T], second: Callable[[], R]) -> tuple[T, R]:
    """What two functions give, called side by side, the first in a process of its own, or else in threads.

    The first must change nothing that anybody needs.
    """
    child = _start(first)
    if child is None:
        return both(first, second)
    other, found = _meanwhile(second, child)
    return (first() if found is None else found[0]), other


def each_apart(function: Callable[[T], R], items: Sequence[T], weight: Callable[[T], float]) -> list[R]:
    """The function of each item, in order; two processes take the heaviest first. It must change nothing."""
    if not 1 < len(items) <= _MOST:
        return [function(item) for item in items]
    queue = _queue(sorted(range(len(items)), key=lambda number: -weight(items[number])))

    def take() -> dict[int, R]:
        found = {}
        # Each number is read by one of the two processes, whichever is free.
        while word := os.read(queue, 2):
            number = int.from_bytes(word, "big")
            found[number] = function(items[number])
        return found

    try:
        ours, theirs = _meanwhile(take, _start(take))
    except Exception:  # once more, in order, so that it is the first item's error that is told
        return [function(item) for item in items]
    finally:
        os.close(queue)
    found = ours if theirs is None else {**ours, **theirs[0]}
    return [found[number] if number in found else function(item) for number, item in enumerate(items)]


def _meanwhile(work: Callable[[], R], child: _Child | None) -> tuple[R, tuple[Any] | None]:
    """What a function gives, and what a process that is at work brought, None where nothing."""
    try:
        own = work()
    except BaseException:
        _end(child)
        raise
    return own, _outcome(child)


def _queue(numbers: Sequence[int]) -> int:
    """A pipe to read numbers from, two bytes each."""
    reading, writing = os.pipe()
    os.write(writing, b"".join(number.to_bytes(2, "big") for number in numbers))
    os.close(writing)
    return reading


def _start(work: Callable[[], object]) -> _Child | None:
    """A copy of this process that does the work; None where there can't be one."""
    if not _may_start():
        return None
    reading, writing = os.pipe()
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # numpy's threads wait, and Python warns of any
            pid = os.fork()
    except OSError:
        os.close(reading)
        os.close(writing)
        return None
    if pid == 0:
        os.close(reading)
        _work(work, writing)
    os.close(writing)
    return _Child(pid, reading)


def _may_start() -> bool:
    # macOS has fork as well, but its own libraries may not be used after it.
    if sys.platform != "linux" or WORKERS < 2 or threading.active_count() > 1:
        return False
    started = sys.modules.get("multiprocessing.process")
    return started is None or started.parent_process() is None


def _work(work: Callable[[], object], writing: int) -> None:
    """The copy's whole life. It never goes on with what this process was doing, nor writes what that had yet to."""
    try:
        with os.fdopen(writing, "wb") as pipe:
            pipe.write(pickle.dumps((work(),), pickle.HIGHEST_PROTOCOL))
    finally:
        os._exit(0)


def _outcome(child: _Child | None) -> tuple[Any] | None:
    """What a process found, once it has; None where it brought nothing."""
    if child is None:
        return None
    try:
        with os.fdopen(child.pipe, "rb", closefd=False) as pipe:
            data = pipe.read()
    finally:
        _end(child)
    try:
        found: tuple[Any] = pickle.loads(data)
    except (pickle.UnpicklingError, EOFError):
        return None
    return found


def _end(child: _Child | None) -> None:
    """End a process, which may have ended already."""
    if child is None:
        return
    os.close(child.pipe)
    with suppress(ProcessLookupError, ChildProcessError):  # where SIGCHLD is ignored, the system waits for it itself
        os.kill(child.pid, signal.SIGKILL)
        os.waitpid(child.pid, 0)
