"""The page shows the newest save; a broken one leaves the last good picture, with a sentence."""

import asyncio
import json
from collections.abc import Awaitable, Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from own_loop import run_apart

from layercut.watching.file_watch import follow_saves
from layercut.watching.follow import SETTLE_S, Follower, Watched
from layercut.watching.messages import Broken, CompileRequest, Concluded, Event, QuickPicture, SheetsKnown, StackKnown
from layercut.watching.state import KEPT_PICTURES, LiveState, State
from layercut.watching.view_model import FindingsView, FindingView, IslandView, PictureView, SheetView, WayView

NOTHING = FindingsView((), 0)
BOX = (0.0, 0.0, 1.0, 1.0)


class Recorder:
    """Stands in for the compiler: keeps the orders and compiles nothing."""

    def __init__(self, _listen: object, _example: Path) -> None:
        self.orders: list[CompileRequest] = []

    def start(self, order: CompileRequest) -> None:
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


def picture(run: int, words: str = "<svg/>") -> Event:
    return Event(run, QuickPicture(PictureView(words, BOX), (100.0, 80.0)))


def known(run: int, *islands: IslandView, findings: FindingsView = NOTHING) -> Event:
    return Event(run, StackKnown(PictureView("<svg>stack</svg>", BOX), findings, islands, "auto", ""))


def cut(run: int, *sheets: SheetView) -> Event:
    return Event(run, SheetsKnown(PictureView("<svg>sheets</svg>", BOX), NOTHING, sheets))


def broken(run: int, sentence: str) -> Event:
    return Event(run, Broken(sentence), last=True)


def island(name: str, **parts: Any) -> IslandView:
    plain = IslandView(name, (name,), "quay", f"path '{name}'", "", "", (0.0, 0.0), "", "auto", False, "tie", ())
    return replace(plain, **parts)


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
        follower.hear(broken(1, "old."))
        await asyncio.sleep(2 * SETTLE_S)
        assert follower.state.picture.run == 2
        assert follower.state.picture.kind == "quick"
        assert follower.state.trouble is None
        assert follower.state.known_run == 0

    follow(drawing, act)


def test_a_broken_save_keeps_the_last_good_picture_and_a_good_one_clears_it(drawing: Path) -> None:
    async def act(follower: Follower, _compiler: Recorder) -> None:
        follower.compile_now()
        follower.hear(picture(1))
        follower.hear(known(1))
        before = follower.state.picture
        drawing.write_text("<svg")
        follower.compile_now()
        follower.hear(broken(2, "harbour.svg: is not XML."))
        assert follower.state.trouble is None  # it may be half written
        await asyncio.sleep(2 * SETTLE_S)
        assert follower.state.trouble.sentence == "harbour.svg: is not XML."
        assert follower.state.trouble.run == 2
        assert follower.state.picture == before
        assert follower.live.picture(before.url) == "<svg>stack</svg>"
        assert follower.state.busy == ""
        drawing.write_text("<svg />")
        follower.compile_now()
        follower.hear(picture(3))
        assert follower.state.trouble is None
        assert follower.state.picture.run == 3

    follow(drawing, act)


def test_a_half_written_save_is_never_told(drawing: Path) -> None:
    async def act(follower: Follower, _compiler: Recorder) -> None:
        drawing.write_text("<svg")
        follower.compile_now()
        follower.hear(broken(1, "is not XML."))
        await asyncio.sleep(SETTLE_S / 3)
        drawing.write_text("<svg/>")
        follower.compile_now()
        await asyncio.sleep(2 * SETTLE_S)
        assert follower.state.trouble is None

    follow(drawing, act)


def test_a_drawing_that_looks_the_same_keeps_the_better_picture(drawing: Path) -> None:
    async def act(follower: Follower, _compiler: Recorder) -> None:
        follower.compile_now()
        follower.hear(picture(1))
        follower.hear(cut(1))
        better = follower.state.picture.url
        drawing.with_suffix(".toml").write_text("")
        drawing.write_text("<svg/>")
        follower.compile_now()
        follower.hear(picture(2))
        assert (follower.state.picture.url, follower.state.picture.run) == (better, 2)

    follow(drawing, act)


def test_an_error_in_the_drawing_takes_the_sheets_away(drawing: Path) -> None:
    async def act(follower: Follower, _compiler: Recorder) -> None:
        follower.compile_now()
        follower.hear(cut(1, SheetView("quay", "layer", 1, 1, 0, "", 0, 0, "<svg>quay</svg>")))
        assert follower.live.picture(follower.state.sheets[0].svg) == "<svg>quay</svg>"
        bad = FindingView("island", "error", "falls out.", "quay", None, 0)
        follower.hear(known(1, findings=FindingsView((bad,), 0)))
        assert follower.state.sheets == ()

    follow(drawing, act)


def test_a_choice_shows_at_once_and_what_it_changed_is_told(drawing: Path) -> None:
    async def act(follower: Follower, _compiler: Recorder) -> None:
        ways = (WayView("tie", "2.0 mm²", ""),)
        buoy, post = island("buoy", ways=ways), island("post", own=True, chosen="loose", ways=ways)
        follower.compile_now()
        follower.hear(known(1, buoy, post))
        assert follower.state.changes == ()
        follower.note_choice("", "tie")
        assert follower.state.islands == (replace(buoy, policy="tie"), post)
        assert follower.state.island_policy == "tie"
        follower.note_choice("post", "tie")
        now = replace(post, policy="tie", chosen="tie", ways=())
        follower.hear(known(1, buoy, now))
        # Prices that the new run doesn't know yet stay as they were until they follow.
        assert follower.state.islands[1].ways == ways
        assert follower.state.changes == ("post was cut loose and is tied now (2.0 mm²).",)

    follow(drawing, act)


def test_a_save_whose_proof_fails_is_not_said_to_be_made(drawing: Path) -> None:
    async def act(follower: Follower, _compiler: Recorder) -> None:
        follower.compile_now()
        follower.hear(Event(1, Concluded(NOTHING, "It can be made: 2 sheets.", "Proof: holds."), last=True))
        assert follower.state.outcome == "It can be made: 2 sheets."
        drawing.write_text("<svg/>")
        follower.compile_now()
        for event in (picture(2), known(2), cut(2), broken(2, "nothing was written.")):
            follower.hear(event)
        await asyncio.sleep(2 * SETTLE_S)
        assert (follower.state.outcome, follower.state.proof) == ("", "")
        assert follower.state.trouble.sentence == "nothing was written."

    follow(drawing, act)


# --- the state of the page


def first_state() -> State:
    return State("abc", "harbour.svg", "harbour.toml", ())


def test_every_follower_hears_of_every_change_until_it_is_closed() -> None:
    async def run() -> None:
        live = LiveState(first_state())
        heard: dict[str, list[int]] = {"a": [], "b": []}

        async def listen(name: str) -> None:
            async for text in live.follow():
                heard[name].append(json.loads(text)["run"])

        listeners = [asyncio.create_task(listen(name)) for name in heard]
        await asyncio.sleep(0)
        for number in (1, 2):
            live.show(replace(live.now, run=number))
            await asyncio.sleep(0.01)
        live.close()
        await asyncio.wait_for(asyncio.gather(*listeners), 1)
        assert heard == {name: [0, 1, 2] for name in heard}

    run_apart(run())


def test_old_pictures_are_let_go() -> None:
    async def run() -> None:
        live = LiveState(first_state())
        addresses = [live.add_picture(f"<svg>{number}</svg>") for number in range(KEPT_PICTURES + 1)]
        assert live.picture(addresses[0]) is None
        assert live.picture(addresses[1]) == "<svg>1</svg>"

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
