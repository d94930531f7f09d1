"""Run a coroutine where no other event loop can be: a browser's driver may keep one running in this thread."""

import asyncio
from collections.abc import Coroutine
from concurrent.futures import ThreadPoolExecutor
from typing import Any, TypeVar

T = TypeVar("T")


def run_apart(coroutine: Coroutine[Any, Any, T]) -> T:
    """The coroutine's result, from a loop and a thread of its own."""
    with ThreadPoolExecutor(1) as pool:
        return pool.submit(asyncio.run, coroutine).result()
