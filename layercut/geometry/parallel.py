"""Threads: geometry work on all processors. GEOS lets other threads run while it works, so this needs no processes.

Enters: a function and what it is to be called with. Leaves: the results, in order. Holds: the same results as one
call after another, on any number of processors.
"""

import os
from collections.abc import Callable, Iterable
from concurrent.futures import ThreadPoolExecutor
from typing import TypeVar

T = TypeVar("T")
R = TypeVar("R")

WORKERS = max(1, min(4, os.cpu_count() or 1))
"""Threads at most; a sheet or two are all there is to do at once."""


def each(function: Callable[[T], R], items: Iterable[T]) -> list[R]:
    """The function of each item, in order; an error is raised as it would be without threads."""
    items = list(items)
    if len(items) < 2 or WORKERS < 2:
        return [function(item) for item in items]
    with ThreadPoolExecutor(WORKERS) as pool:
        return list(pool.map(function, items))


def both(first: Callable[[], T], second: Callable[[], R]) -> tuple[T, R]:
    """What two functions give, called side by side."""
    with ThreadPoolExecutor(1) as pool:
        ahead = pool.submit(first)
        other = second()
        return ahead.result(), other
