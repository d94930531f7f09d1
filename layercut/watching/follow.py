"""From a save to what the page shows.

Enters: saves, choices, and what the compiler tells. Leaves: the board. Holds: a save that can't be read leaves the
last good picture where it is, with a sentence; what an older save's compile tells is never shown after a newer one's.
"""

import asyncio
import secrets
from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from layercut.watching.board import Board
from layercut.watching.choices import JobFile, show_lengths
from layercut.watching.compiling import Compiler, Listen
from layercut.watching.saves import Saved, follow_saves, look
from layercut.watching.showing import what_changed
from layercut.watching.worker import Order, Told

SETTLE_S = 0.15
"""A save that can't be read may be half written: it is told when nothing better came in this time, s."""


@dataclass(frozen=True, slots=True)
class Watched:
    """What is watched: the drawing, the job file (which may not exist yet), and settings that win over it."""

    drawing: Path
    job: Path
    settings: tuple[str, ...] = ()
    job_must_exist: bool = False

    @property
    def files(self) -> tuple[Path, Path]:
        return (self.drawing, self.job)


class Follower:
    """Compiles every save and puts what is told on the board. Made and used in the server's loop."""

    def __init__(self, watched: Watched, make_compiler: Callable[[Listen, Path], Compiler] = Compiler) -> None:
        self.watched = watched
        self.job_file = JobFile(watched.job, watched.settings)
        self.board = Board(
            session=secrets.token_hex(8),
            file=watched.drawing.name,
            job=watched.job.name,
            run=0,
            saved=0,
            busy="starting",
            trouble=None,
            picture=None,
            panel=None,
            known_run=0,
            findings=[],
            more_findings=0,
            islands=[],
            changes=[],
            island_policy="auto",
            islands_fixed=any(setting.startswith("islands.policy=") for setting in watched.settings),
            sheets=[],
            sheets_run=0,
            proof=None,
            outcome="",
            lengths=show_lengths(self.job_file),
        )
        loop = asyncio.get_running_loop()
        self._compiler = make_compiler(lambda told: _in_loop(loop, self.hear, told), watched.drawing)
        self._seen: Saved | None = None
        self._trouble: asyncio.Task[None] | None = None
        self._quick = ""

    async def run(self) -> None:
        """Follow saves until cancelled."""
        self.compile_now()
        async for _ in follow_saves(self.watched.files):
            self.compile_now()

    def compile_now(self) -> None:
        """Compile what the files hold, if that has changed."""
        saved = look(self.watched.files)
        if self._seen is not None and saved.digest == self._seen.digest:
            return
        self._seen = saved
        self._forget_trouble()
        run = self.board["run"] + 1
        self.board.change(run=run, saved=round(saved.at_s * 1000), busy="reading the drawing")
        job = self.watched.job if self.watched.job_must_exist or self.watched.job.exists() else None
        self._compiler.start(Order(run, self.watched.drawing, job, self.watched.settings))

    def names_of(self, island: str) -> list[str]:
        """All names by which the job file may speak of an island; none for one that isn't known."""
        return next((one["names"] for one in self.board["islands"] if one["id"] == island), [])

    def note_choice(self, island: str, policy: str) -> None:
        """Show a choice for an island, or with no name for all without their own, before its compile tells of it."""
        noted = [
            {**one, "policy": policy, "own": one["own"] or one["id"] == island}
            if one["id"] == island or not (island or one["own"])
            else one
            for one in self.board["islands"]
        ]
        self.board.change(islands=noted, **({} if island else {"island_policy": policy}))

    def hear(self, told: Told) -> None:
        """Put something that the compiler tells on the board."""
        if told.run != self.board["run"]:
            return
        act: dict[str, Callable[[int, dict[str, Any]], None]] = {
            "picture": self._show_quick,
            "stack": self._show_known,
            "sheets": self._show_known,
            "broken": self._show_trouble,
        }
        act.get(told.kind, self._show_parts)(told.run, told.content)
        if told.last and told.kind != "broken":
            self.board.change(busy="")

    def close(self) -> None:
        """End the compiler and let all followers of the board go."""
        self._forget_trouble()
        self.board.close()
        self._compiler.close()

    def _show_quick(self, run: int, content: dict[str, Any]) -> None:
        """The first picture. Where the drawing looks the same, what is shown of it already says more."""
        self.job_file = replace(self.job_file, size_mm=tuple(content["panel"]))
        parts = {"panel": content["panel"], "trouble": None, "lengths": show_lengths(self.job_file)}
        if content["svg"] != self._quick or self.board["picture"] is None:
            parts |= {"picture": self._picture(run, "quick", content)}
        else:
            parts |= {"picture": {**self.board["picture"], "run": run, "kind": "same", "saved": self.board["saved"]}}
        self._quick = content["svg"]
        self.board.change(**parts)

    def _show_known(self, run: int, content: dict[str, Any]) -> None:
        """A better picture, with all that is known by now."""
        parts = {key: value for key, value in content.items() if key not in {"svg", "box"}}
        if "islands" in parts:
            parts["islands"] = _with_prices(self.board["islands"], parts["islands"])
            parts["changes"] = what_changed(self.board["islands"], parts["islands"])
        if "sheets" in parts:
            parts["sheets"] = [{**sheet, "svg": self.board.add_picture(sheet["svg"])} for sheet in content["sheets"]]
            parts["sheets_run"] = run
        else:
            parts |= {"proof": None}
            if any(finding["severity"] == "error" for finding in content["findings"]):
                parts |= {"sheets": [], "sheets_run": run}
        kind = "whole" if "sheets" in content else "stack"
        self.board.change(picture=self._picture(run, kind, content), known_run=run, **parts)

    def _show_parts(self, _run: int, content: dict[str, Any]) -> None:
        self.board.change(**({"busy": content["stage"]} if "stage" in content else content))

    def _picture(self, run: int, kind: str, content: dict[str, Any]) -> dict[str, Any]:
        return {
            "run": run,
            "kind": kind,
            "saved": self.board["saved"],
            "url": self.board.add_picture(content["svg"]),
            "box": content["box"],
        }

    def _show_trouble(self, run: int, content: dict[str, Any]) -> None:
        async def tell() -> None:
            await asyncio.sleep(SETTLE_S)
            # The drawing is not as the last quick picture was made, so the same one is news again.
            self._quick = ""
            trouble = {"run": run, "saved": self.board["saved"], "sentence": content["sentence"]}
            self.board.change(busy="", trouble=trouble, lengths=show_lengths(self.job_file))

        self._trouble = asyncio.get_running_loop().create_task(tell())

    def _forget_trouble(self) -> None:
        if self._trouble is not None:
            self._trouble.cancel()
            self._trouble = None


def _with_prices(before: list[dict[str, Any]], now: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """The islands as they are known now; prices that aren't known yet stay as they were, since they follow."""
    old = {island["id"]: island.get("ways") for island in before}
    return [{**one, "ways": one.get("ways") or old.get(one["id"]) or []} for one in now]


def _in_loop(loop: asyncio.AbstractEventLoop, act: Callable[[Told], None], told: Told) -> None:
    with suppress(RuntimeError):  # the loop has ended, so nobody looks any more
        loop.call_soon_threadsafe(act, told)


def watched_files(drawing: Path, job: Path | None, settings: Sequence[str]) -> Watched:
    """What is watched, when the command line names these."""
    beside = drawing.parent / f"{drawing.stem}.toml"
    return Watched(drawing, job if job is not None else beside, tuple(settings), job_must_exist=job is not None)
