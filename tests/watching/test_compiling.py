"""Real processes: what they tell, in which order, and that a newer order doesn't wait for an older one."""

import queue
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, cast

import pytest

from layercut.drawing import CurveCache
from layercut.watching import worker
from layercut.watching.compiling import Compiler
from layercut.watching.messages import Broken, CompileRequest, Event, IslandsKnown, QuickPicture, StackKnown, Stage
from layercut.watching.worker import carry_out

SLOW = 400

WHOLE = ["QuickPicture", "StackKnown", "SheetsKnown", "Concluded"]
"""What is told of a drawing that can be made."""


@pytest.fixture
def told() -> queue.Queue[Event]:
    return queue.Queue()


@pytest.fixture
def compiler(told: queue.Queue[Event], drawing: Path) -> Iterator[Compiler]:
    made = Compiler(told.put, drawing)
    yield made
    made.close()


@pytest.fixture
def slow_drawing(tmp_path: Path) -> Path:
    """Hundreds of overlapping discs, whose stack takes a while."""
    discs = "".join(
        f'<circle cx="{7 + (37 * n) % 86}" cy="{7 + (53 * n) % 66}" r="5.{n % 10}" fill="#{n % 7}a8844"/>'
        for n in range(SLOW)
    )
    path = tmp_path / "slow.svg"
    path.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="80mm" viewBox="0 0 100 80">'
        f'<g id="back"><rect width="100" height="80" fill="#fff"/></g><g id="discs">{discs}</g></svg>'
    )
    return path


def until_last(told: "queue.Queue[Event]", run: int) -> list[Event]:
    heard: list[Event] = []
    while not heard or not (heard[-1].last and heard[-1].run == run):
        heard.append(told.get(timeout=30))
    return heard


def kinds(heard: list[Event]) -> list[str]:
    return [type(one.news).__name__ for one in heard if not isinstance(one.news, Stage)]


def request(run: int, drawing: Path, *settings: str) -> CompileRequest:
    return CompileRequest(run, drawing, None, settings)


def test_the_picture_comes_first_and_what_takes_longer_after_it(
    compiler: Compiler, told: "queue.Queue[Event]", drawing: Path
) -> None:
    compiler.start(request(1, drawing, "islands.policy=refuse"))
    assert kinds(until_last(told, 1)) == ["QuickPicture", "StackKnown", "IslandsKnown"]
    compiler.start(request(2, drawing, "islands.policy=loose"))
    assert kinds(until_last(told, 2)) == [*WHOLE, "IslandsKnown"]
    compiler.start(request(3, drawing))
    assert kinds(until_last(told, 3)) == WHOLE


def test_every_way_out_of_a_piece_has_its_price_or_the_reason_why_it_is_none(
    compiler: Compiler, told: "queue.Queue[Event]", drawing: Path
) -> None:
    for run, policy in enumerate(("auto", "refuse"), start=1):
        compiler.start(request(run, drawing, f"islands.policy={policy}"))
        heard = [one.news for one in until_last(told, run) if isinstance(one.news, StackKnown | IslandsKnown)]
        (buoy,) = heard[-1].islands
        assert [way.policy for way in buoy.ways] == ["tie", "loose", "behind", "out"]
        assert all(bool(way.price) != bool(way.why) for way in buoy.ways)
        assert bool(buoy.chosen) == (policy == "auto")


def test_a_newer_order_does_not_wait(
    compiler: Compiler, told: "queue.Queue[Event]", drawing: Path, slow_drawing: Path
) -> None:
    compiler.start(request(1, slow_drawing))
    started = time.monotonic()
    while not isinstance(told.get(timeout=30).news, QuickPicture):
        pass
    slow_s = time.monotonic() - started
    compiler.start(request(2, drawing))
    heard = until_last(told, 2)
    late = [one for one in heard if one.run == 1]
    assert kinds([one for one in heard if one.run == 2]) == WHOLE
    assert "SheetsKnown" not in kinds(late), f"the slow one was done after {slow_s:.1f} s"
    assert heard.index(next(one for one in heard if one.run == 2)) >= len(late)


def test_what_can_not_be_read_is_one_sentence(drawing: Path) -> None:
    heard: list[Event] = []
    drawing.write_text("<svg")
    carry_out(request(1, drawing), heard.append)
    carry_out(request(2, drawing.with_name("gone.svg")), heard.append)
    carry_out(request(3, drawing, "material.kerf=wide"), heard.append)
    broken = [one for one in heard if isinstance(one.news, Broken)]
    assert [(one.run, one.last) for one in broken] == [(run, True) for run in (1, 2, 3)]
    sentences = [one.news.sentence for one in broken if isinstance(one.news, Broken)]
    assert sentences[0].startswith("harbour.svg: is not an SVG drawing")
    assert "there is no such drawing" in sentences[1]
    assert "needs a number and a unit" in sentences[2]


def test_a_fault_of_our_own_is_told_too(drawing: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def fails(*_arguments: object) -> Callable[[], None]:
        raise MemoryError

    monkeypatch.setattr("layercut.pipeline.plan_stack", fails)
    heard: list[Event] = []
    carry_out(request(1, drawing), heard.append)
    assert kinds(heard) == ["QuickPicture", "Broken"]
    assert isinstance(heard[-1].news, Broken)
    assert heard[-1].news.sentence.startswith("a fault of layercut's own")


def test_a_process_that_dies_is_told_and_replaced(
    compiler: Compiler, told: "queue.Queue[Event]", drawing: Path, slow_drawing: Path
) -> None:
    compiler.start(request(1, slow_drawing))
    while not isinstance(told.get(timeout=30).news, QuickPicture):
        pass
    compiler._running._process.kill()
    heard = until_last(told, 1)
    assert isinstance(heard[-1].news, Broken)
    compiler.start(request(2, drawing))
    assert kinds(until_last(told, 2)) == WHOLE


class Orders:
    """A pipe with two orders of one drawing in it; before the second, flattening curves is made to fail."""

    def __init__(self, drawing: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        self.orders = [request(1, drawing), request(2, drawing)]
        self.monkeypatch = monkeypatch
        self.heard: list[Event] = []
        self.send = self.heard.append

    def poll(self) -> bool:
        return True

    def recv(self) -> CompileRequest:
        if len(self.orders) == 1:
            for module in ("curve_cache", "layers"):
                self.monkeypatch.setattr(f"layercut.drawing.{module}.flatten", None)
        if not self.orders:
            raise EOFError
        return self.orders.pop(0)


def test_curves_are_kept_from_one_order_to_the_next(drawing: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("layercut.watching.worker.signal.signal", lambda *_: None)
    monkeypatch.setattr("layercut.watching.worker.gc.freeze", lambda: None)
    pipe = Orders(drawing, monkeypatch)
    worker.serve(cast(Any, pipe), drawing)
    assert kinds(pipe.heard) == [*WHOLE, *WHOLE]
    carry_out(request(3, drawing), pipe.heard.append, CurveCache())
    assert kinds(pipe.heard)[-1] == "Broken"
