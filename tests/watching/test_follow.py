"""The board shows the newest save; a broken one leaves the last good picture, with a sentence."""

import asyncio
from collections.abc import Awaitable, Callable
from pathlib import Path
from typing import Any

import pytest
from own_loop import run_apart

from layercut.watching.board import KEPT_PICTURES, Board
from layercut.watching.follow import SETTLE_S, Follower, Watched
from layercut.watching.saves import follow_saves
from layercut.watching.worker import Kind, Order, Told


class Recorder:
    """Stands in for the compiler: keeps the orders and compiles nothing."""

    def __init__(self, _listen: object, _example: Path) -> None:
        self.orders: list[Order] = []

    def start(self, order: Order) -> None:
        self.orders.append(order)

    def close(self) -> None:
        pass


def follow(drawing: Path, act: Callable[[Follower, Recorder], Awaitable[None]]) -> None:
    async def run() -> None:
        made: list[Recorder] = []

        def make(listen: object, example: Path) -> Any:
            made.append(Recorder(listen, example))
            return made[0]

        follower = Follower(Watched(drawing, drawing.with_suffix(".toml")), make)
        await act(follower, made[0])
        follower.close()

    run_apart(run())


def picture(run: int, words: str = "<svg/>") -> Told:
    return Told(run, "picture", {"svg": words, "box": [0, 0, 1, 1], "panel": [100.0, 80.0]})


def known(run: int, kind: Kind = "stack") -> Told:
    content = {"svg": f"<svg>{kind}</svg>", "box": [0, 0, 1, 1], "findings": [], "more_findings": 0, "outcome": ""}
    return Told(run, kind, {**content, "islands": []} if kind == "stack" else {**content, "sheets": []})


def test_a_save_is_compiled_once_and_the_job_file_counts(drawing: Path) -> None:
    async def act(follower: Follower, compiler: Recorder) -> None:
        follower.compile_now()
        follower.compile_now()
        drawing.touch()
        follower.compile_now()
        assert [(order.run, order.job) for order in compiler.orders] == [(1, None)]
        job = drawing.with_suffix(".toml")
        job.write_text("")
        drawing.write_text(drawing.read_text() + " ")
        follower.compile_now()
        assert [(order.run, order.job) for order in compiler.orders] == [(1, None), (2, job)]

    follow(drawing, act)


def test_the_newest_save_wins(drawing: Path) -> None:
    async def act(follower: Follower, _compiler: Recorder) -> None:
        follower.compile_now()
        drawing.write_text("<svg/>")
        follower.compile_now()
        follower.hear(picture(2, "<svg>new</svg>"))
        follower.hear(known(1))
        follower.hear(Told(1, "broken", {"sentence": "old."}, last=True))
        await asyncio.sleep(2 * SETTLE_S)
        assert follower.board["picture"]["run"] == 2
        assert follower.board["picture"]["kind"] == "quick"
        assert follower.board["trouble"] is None
        assert follower.board["known_run"] == 0

    follow(drawing, act)


def test_a_broken_save_keeps_the_last_good_picture_and_a_good_one_clears_it(drawing: Path) -> None:
    async def act(follower: Follower, _compiler: Recorder) -> None:
        follower.compile_now()
        follower.hear(picture(1))
        follower.hear(known(1))
        before = follower.board["picture"]
        drawing.write_text("<svg")
        follower.compile_now()
        follower.hear(Told(2, "broken", {"sentence": "harbour.svg: is not XML."}, last=True))
        assert follower.board["trouble"] is None  # it may be half written
        await asyncio.sleep(2 * SETTLE_S)
        assert follower.board["trouble"]["sentence"] == "harbour.svg: is not XML."
        assert follower.board["trouble"]["run"] == 2
        assert follower.board["picture"] == before
        assert follower.board.picture(before["url"]) == "<svg>stack</svg>"
        assert follower.board["busy"] == ""
        drawing.write_text("<svg />")
        follower.compile_now()
        follower.hear(picture(3))
        assert follower.board["trouble"] is None
        assert follower.board["picture"]["run"] == 3

    follow(drawing, act)


def test_a_half_written_save_is_never_told(drawing: Path) -> None:
    async def act(follower: Follower, _compiler: Recorder) -> None:
        drawing.write_text("<svg")
        follower.compile_now()
        follower.hear(Told(1, "broken", {"sentence": "is not XML."}, last=True))
        await asyncio.sleep(SETTLE_S / 3)
        drawing.write_text("<svg/>")
        follower.compile_now()
        await asyncio.sleep(2 * SETTLE_S)
        assert follower.board["trouble"] is None

    follow(drawing, act)


def test_a_drawing_that_looks_the_same_keeps_the_better_picture(drawing: Path) -> None:
    async def act(follower: Follower, _compiler: Recorder) -> None:
        follower.compile_now()
        follower.hear(picture(1))
        follower.hear(known(1, "sheets"))
        better = follower.board["picture"]["url"]
        drawing.with_suffix(".toml").write_text("")
        drawing.write_text("<svg/>")
        follower.compile_now()
        follower.hear(picture(2))
        assert (follower.board["picture"]["url"], follower.board["picture"]["run"]) == (better, 2)

    follow(drawing, act)


def test_an_error_in_the_drawing_takes_the_sheets_away(drawing: Path) -> None:
    async def act(follower: Follower, _compiler: Recorder) -> None:
        follower.compile_now()
        told = known(1, "sheets")
        sheet = {"name": "quay", "svg": "<svg>quay</svg>"}
        follower.hear(Told(1, "sheets", {**told.content, "sheets": [sheet]}))
        assert follower.board.picture(follower.board["sheets"][0]["svg"]) == "<svg>quay</svg>"
        bad = {"severity": "error", "code": "island"}
        follower.hear(Told(1, "stack", {**known(1).content, "findings": [bad]}))
        assert follower.board["sheets"] == []

    follow(drawing, act)


def test_a_choice_shows_at_once_and_what_it_changed_is_told(drawing: Path) -> None:
    async def act(follower: Follower, _compiler: Recorder) -> None:
        ways = [{"policy": "tie", "price": "2.0 mm²", "why": ""}]
        buoy = {"id": "buoy", "policy": "auto", "own": False, "chosen": "tie", "ways": ways}
        post = {"id": "post", "policy": "auto", "own": True, "chosen": "loose", "ways": ways}
        follower.compile_now()
        follower.hear(Told(1, "stack", {**known(1).content, "islands": [buoy, post]}))
        assert follower.board["changes"] == []
        follower.note_choice("", "tie")
        assert follower.board["islands"] == [{**buoy, "policy": "tie"}, post]
        assert follower.board["island_policy"] == "tie"
        follower.note_choice("post", "tie")
        now = {**post, "policy": "tie", "chosen": "tie", "ways": []}
        follower.hear(Told(1, "stack", {**known(1).content, "islands": [buoy, now]}))
        # Prices that the new run doesn't know yet stay as they were until they follow.
        assert follower.board["islands"][1]["ways"] == ways
        assert follower.board["changes"] == ["post was cut loose and is tied now (2.0 mm²)."]

    follow(drawing, act)


# --- the board


def test_every_follower_hears_of_every_change_until_the_board_closes() -> None:
    async def run() -> None:
        board = Board(run=0)
        heard: dict[str, list[str]] = {"a": [], "b": []}

        async def listen(name: str) -> None:
            async for text in board.follow():
                heard[name].append(text)

        listeners = [asyncio.create_task(listen(name)) for name in heard]
        await asyncio.sleep(0)
        for number in (1, 2):
            board.change(run=number)
            await asyncio.sleep(0.01)
        board.close()
        await asyncio.wait_for(asyncio.gather(*listeners), 1)
        assert heard == {name: ['{"run": 0}', '{"run": 1}', '{"run": 2}'] for name in heard}

    run_apart(run())


def test_old_pictures_are_let_go() -> None:
    async def run() -> None:
        board = Board()
        addresses = [board.add_picture(f"<svg>{number}</svg>") for number in range(KEPT_PICTURES + 1)]
        assert board.picture(addresses[0]) is None
        assert board.picture(addresses[1]) == "<svg>1</svg>"

    run_apart(run())


# --- saves


async def _seen(paths: list[Path], acts: list[Callable[[], object]]) -> list[int]:
    """How many bursts of changes are seen after each of the acts."""
    counts = [0]

    async def listen() -> None:
        async for _ in follow_saves(paths):
            counts[-1] += 1

    task = asyncio.create_task(listen())
    await asyncio.sleep(0.4)
    for act in acts:
        counts.append(0)
        act()
        await asyncio.sleep(0.4)
    task.cancel()
    with pytest.raises(asyncio.CancelledError):
        await task
    return counts[1:]


def test_saves_are_seen_however_an_editor_makes_them(drawing: Path) -> None:
    job, other = drawing.with_suffix(".toml"), drawing.with_name("other.svg")

    def renamed() -> None:
        new = drawing.with_name("~harbour.svg")
        new.write_text("<svg/>")
        new.replace(drawing)

    def rewritten() -> None:
        with drawing.open("w") as stream:
            for _ in range(20):
                stream.write("<svg/>")
                stream.flush()

    def removed() -> None:
        drawing.unlink()
        drawing.write_text("<svg/>")

    acts = [renamed, rewritten, removed, lambda: job.write_text("# new"), lambda: other.write_text("<svg/>")]
    seen = run_apart(_seen([drawing, job], acts))
    assert all(seen[:4])
    assert seen[4] == 0
