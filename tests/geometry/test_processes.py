"""Two processes give what one call after another gives, whatever becomes of the second."""

import os
import signal
import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from layercut.geometry.parallel import WORKERS
from layercut.geometry.processes import both_apart, each_apart

HERE = os.getpid()
APART = sys.platform == "linux" and WORKERS > 1
needs_two = pytest.mark.skipif(not APART, reason="this system or machine has no second process for us")


def elsewhere() -> bool:
    return os.getpid() != HERE


def end_if_elsewhere() -> None:
    if elsewhere():
        os.kill(os.getpid(), signal.SIGKILL)


def open_pipes() -> int:
    return len(list(Path("/proc/self/fd").iterdir())) if sys.platform == "linux" else 0


def children() -> set[str]:
    """The processes that this one has started and not yet waited for; the suite may have some, such as a browser."""
    return {child for thread in Path("/proc/self/task").glob("*/children") for child in thread.read_text().split()}


@pytest.fixture(autouse=True)
def _alone(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """The suite, where it runs on several processors, has a thread of its own, which only waits."""
    if "beside_another_thread" not in request.node.name:
        monkeypatch.setattr(threading, "active_count", lambda: 1)


@pytest.fixture(autouse=True)
def _nothing_is_left() -> Iterator[None]:
    pipes, processes = open_pipes(), children()
    yield
    assert open_pipes() == pipes
    assert children() == processes


@needs_two
def test_the_first_is_called_in_another_process() -> None:
    first, second = both_apart(os.getpid, os.getpid)
    assert first != second == HERE


@pytest.mark.parametrize("count", [0, 1, 2, 50, 5000])
def test_results_come_in_the_order_of_the_items(count: int) -> None:
    assert each_apart(lambda number: number * number, range(count), lambda number: number % 7) == [
        number * number for number in range(count)
    ]


@needs_two
def test_two_processes_share_the_items() -> None:
    def slow(_number: int) -> int:
        time.sleep(0.02)
        return os.getpid()

    assert len(set(each_apart(slow, range(10), lambda _number: 1))) == 2


@needs_two
def test_the_heaviest_are_taken_first() -> None:
    def taken_at(_number: int) -> float:
        now = time.monotonic()
        time.sleep(0.02)
        return now

    times = each_apart(taken_at, range(8), lambda number: number)
    assert max(times[6:]) < min(times[:4])


def test_much_comes_back_whole() -> None:
    assert both_apart(lambda: bytes(5_000_000), lambda: 1) == (bytes(5_000_000), 1)


def test_what_an_ended_process_didnt_bring_is_done_here() -> None:
    def first() -> int:
        end_if_elsewhere()
        return 1

    def third(number: int) -> int:
        time.sleep(0.01)
        end_if_elsewhere()
        return number * 3

    assert both_apart(first, lambda: 2) == (1, 2)
    assert each_apart(third, range(6), lambda _number: 1) == [0, 3, 6, 9, 12, 15]


def test_what_cant_be_handed_over_is_done_here() -> None:
    def seven() -> int:
        return 7

    first, _ = both_apart(lambda: seven, lambda: None)
    assert first() == 7


def test_an_error_is_raised_as_without_processes() -> None:
    def fails_from_three(number: int) -> int:
        if number >= 3:
            raise ValueError(f"number {number}")
        return number

    with pytest.raises(ValueError, match="number 3"):
        each_apart(fails_from_three, range(8), lambda number: number)
    with pytest.raises(ValueError, match="number 3"):
        both_apart(lambda: fails_from_three(3), lambda: 1)
    with pytest.raises(ValueError, match="number 4"):
        both_apart(lambda: time.sleep(60) if elsewhere() else None, lambda: fails_from_three(4))


@needs_two
def test_a_process_that_ignores_its_childrens_ends_has_results_too() -> None:
    before = signal.signal(signal.SIGCHLD, signal.SIG_IGN)
    try:
        first, second = both_apart(os.getpid, lambda: time.sleep(0.1))
        assert (first != HERE, second) == (True, None)
    finally:
        signal.signal(signal.SIGCHLD, before)


def test_beside_another_thread_there_is_no_other_process() -> None:
    done = threading.Event()
    other = threading.Thread(target=done.wait)
    other.start()
    try:
        assert both_apart(os.getpid, os.getpid) == (HERE, HERE)
        assert set(each_apart(lambda _number: os.getpid(), range(9), lambda _number: 1)) == {HERE}
    finally:
        done.set()
        other.join()
