"""Threads: geometry work on all processors. GEOS lets other threads run while it works, so this needs no processes.

Enters: a function and what it is to be called with. Leaves: the results, in order. Holds: the same results as one
call after another, on any number of processors.
"""

import ctypes
import os
from collections.abc import Callable, Iterable
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from functools import cache
from typing import TypeVar

T = TypeVar("T")
R = TypeVar("R")

WORKERS = max(1, min(4, os.cpu_count() or 1))
"""Threads at most; a sheet or two are all there is to do at once."""


_ARENA_MAX = -8
"""The option M_ARENA_MAX of glibc's mallopt(3)."""


@cache
def _share_memory() -> None:
    """Let all threads take their memory from one or two stores, where the C library is glibc: otherwise each has a
    store of its own, and what one has freed the others can't use, which takes a sixth more in all."""
    with suppress(OSError, TypeError, AttributeError):
        ctypes.CDLL(None).mallopt(_ARENA_MAX, 2)


def each(function: Callable[[T], R], items: Iterable[T]) -> list[R]:
    """The function of each item, in order; an error is raised as it would be without threads."""
    items = list(items)
    if len(items) < 2 or WORKERS < 2:
        return [function(item) for item in items]
    _share_memory()
    with ThreadPoolExecutor(WORKERS) as pool:
        return list(pool.map(function, items))


def both(first: Callable[[], T], second: Callable[[], R]) -> tuple[T, R]:
    """What two functions give, called side by side."""
    _share_memory()
    with ThreadPoolExecutor(1) as pool:
        ahead = pool.submit(first)
        other = second()
        return ahead.result(), other
