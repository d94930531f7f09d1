"""Run a coroutine where no other event loop can be, since a browser's driver may keep one running in this thread; and
wait in it."""

import asyncio
from collections.abc import Callable, Coroutine
from concurrent.futures import ThreadPoolExecutor
from typing import Any, TypeVar

T = TypeVar("T")

DEADLINE_S = 20.0
"""What hasn't come by then, s, won't come."""


def run_apart(coroutine: Coroutine[Any, Any, T]) -> T:
    """The coroutine's result, from a loop and a thread of its own."""
    with ThreadPoolExecutor(1) as pool:
        return pool.submit(asyncio.run, coroutine).result()


async def until(holds: Callable[[], bool]) -> None:
    """Wait until something holds; a test that waits in vain fails."""
    async with asyncio.timeout(DEADLINE_S):
        while not holds():
            await asyncio.sleep(0.005)
