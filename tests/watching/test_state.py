"""The state of the page, and whoever follows it; the follower that changes it: test_follow.py."""

import asyncio
import json
from dataclasses import asdict, replace

import pytest
from own_loop import run_apart

from layercut.watching.state import KEPT_PICTURES, LiveState, ShownPicture, State

FIRST = State("abc", "harbour.svg", "harbour.toml", ())


def test_the_text_is_the_whole_state_on_one_line() -> None:
    live = LiveState(
        replace(FIRST, outcome="Küste\nund Hafen", picture=ShownPicture(1, "quick", 5, "/a", (0, 0, 1, 1)))
    )
    text = live.text()
    assert "\n" not in text
    assert json.loads(text) == json.loads(json.dumps(asdict(live.now)))


def test_what_is_no_number_never_leaves() -> None:
    with pytest.raises(ValueError, match="JSON"):
        LiveState(replace(FIRST, panel=(float("nan"), 1.0))).text()


def test_every_picture_has_an_address_of_its_own_and_the_oldest_go() -> None:
    live = LiveState(FIRST)
    addresses = [live.add_picture("<svg/>") for _ in range(KEPT_PICTURES + 5)]
    assert len(set(addresses)) == len(addresses)
    assert [live.picture(address) is not None for address in addresses] == [False] * 5 + [True] * KEPT_PICTURES
    assert live.picture("/picture/none.svg") is None


def test_changes_close_together_come_as_one_and_the_last_is_never_lost() -> None:
    async def run() -> list[int]:
        live, runs = LiveState(FIRST), []
        async for text in live.follow():
            runs.append(json.loads(text)["run"])
            if len(runs) == 1:
                for number in (1, 2, 3):
                    live.show(replace(live.now, run=number))
            else:
                live.close()
        return runs

    assert run_apart(run()) == [0, 3]


def test_who_comes_late_gets_what_is_shown_and_after_the_end_nothing() -> None:
    async def run() -> list[str]:
        live = LiveState(FIRST)
        live.show(replace(FIRST, busy="mapping the cells"))
        async with asyncio.timeout(20):
            first = json.loads(await anext(live.follow()))["busy"]
            live.close()
            return [first, *[text async for text in live.follow()]]

    assert run_apart(run()) == ["mapping the cells"]
