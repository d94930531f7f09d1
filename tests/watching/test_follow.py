"""The page shows the newest save; a broken one leaves the last good picture, with a sentence."""

import asyncio
import json
from collections.abc import Awaitable, Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from own_loop import run_apart, until

from layercut.watching.follow import Follower, Watched
from layercut.watching.messages import Broken, CompileRequest, Concluded, Event, QuickPicture, SheetsKnown, StackKnown
from layercut.watching.state import KEPT_PICTURES, LiveState, ShownPicture, State, Trouble
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


def noted_troubles(follower: Follower, monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The sentences of all troubles that are ever shown, in order."""
    sentences: list[str] = []
    show = follower.live.show

    def noting(state: State) -> None:
        if state.trouble is not None:
            sentences.append(state.trouble.sentence)
        show(state)

    monkeypatch.setattr(follower.live, "show", noting)
    return sentences


def shown(follower: Follower) -> ShownPicture:
    """The picture of the page, which is there."""
    assert follower.state.picture is not None
    return follower.state.picture


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


def test_the_newest_save_wins(drawing: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    async def act(follower: Follower, _compiler: Recorder) -> None:
        troubles = noted_troubles(follower, monkeypatch)
        follower.compile_now()
        drawing.write_text("<svg/>")
        follower.compile_now()
        follower.hear(picture(2, "<svg>new</svg>"))
        follower.hear(known(1))
        follower.hear(broken(1, "old."))
        assert (shown(follower).run, shown(follower).kind) == (2, "quick")
        assert follower.state.known_run == 0
        follower.hear(broken(2, "new."))  # told after all that is to be told of what came before
        await until(lambda: bool(troubles))
        assert troubles == ["new."]

    follow(drawing, act)


def test_a_broken_save_keeps_the_last_good_picture_and_a_good_one_clears_it(drawing: Path) -> None:
    async def act(follower: Follower, _compiler: Recorder) -> None:
        follower.compile_now()
        follower.hear(picture(1))
        follower.hear(known(1))
        before = shown(follower)
        drawing.write_text("<svg")
        follower.compile_now()
        follower.hear(broken(2, "harbour.svg: is not XML."))
        assert follower.state.trouble is None  # it may be half written
        await until(lambda: follower.state.trouble is not None)
        assert follower.state.trouble == Trouble(2, follower.state.saved, "harbour.svg: is not XML.")
        assert follower.state.picture == before
        assert follower.live.picture(before.url) == "<svg>stack</svg>"
        assert follower.state.busy == ""
        drawing.write_text("<svg />")
        follower.compile_now()
        follower.hear(picture(3))
        assert follower.state.trouble is None
        assert shown(follower).run == 3

    follow(drawing, act)


def test_a_half_written_save_is_never_told(drawing: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    async def act(follower: Follower, _compiler: Recorder) -> None:
        troubles = noted_troubles(follower, monkeypatch)
        drawing.write_text("<svg")
        follower.compile_now()
        follower.hear(broken(1, "is not XML."))
        await asyncio.sleep(0)  # the wait for something better has begun
        drawing.write_text("<svg/>")
        follower.compile_now()
        follower.hear(broken(2, "not so either."))  # told after the first, if that were told
        await until(lambda: bool(troubles))
        assert troubles == ["not so either."]

    follow(drawing, act)


def test_a_drawing_that_looks_the_same_keeps_the_better_picture(drawing: Path) -> None:
    async def act(follower: Follower, _compiler: Recorder) -> None:
        follower.compile_now()
        follower.hear(picture(1))
        follower.hear(cut(1))
        better = shown(follower).url
        drawing.with_suffix(".toml").write_text("")
        drawing.write_text("<svg/>")
        follower.compile_now()
        follower.hear(picture(2))
        assert (shown(follower).url, shown(follower).run) == (better, 2)

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
        await until(lambda: follower.state.trouble is not None)
        assert (follower.state.outcome, follower.state.proof) == ("", "")
        assert follower.state.trouble == Trouble(2, follower.state.saved, "nothing was written.")

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
        for number in (0, 1, 2):
            live.show(replace(live.now, run=number))
            await until(lambda: all(runs and runs[-1] == live.now.run for runs in heard.values()))
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
