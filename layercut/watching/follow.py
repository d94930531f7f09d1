"""From a save to what the page shows.

Enters: saves, choices, and what the compiler tells. Leaves: the page's state. Holds: a save that can't be read leaves
the last good picture where it is, with a sentence; what an older save's compile tells is never shown after a newer
one's.
"""

import asyncio
import secrets
from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Literal

from layercut.watching.choices import JobFile, view_lengths
from layercut.watching.compiling import Compiler, Listen
from layercut.watching.file_watch import Saved, follow_saves, look
from layercut.watching.messages import (
    Broken,
    CompileRequest,
    Concluded,
    Event,
    IslandsKnown,
    News,
    QuickPicture,
    SheetsKnown,
    StackKnown,
    Stage,
)
from layercut.watching.state import LiveState, ShownPicture, State, Trouble
from layercut.watching.view_model import FindingsView, IslandView, PictureView, what_changed

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
    """Compiles every save and shows what is told. Made and used in the server's loop."""

    def __init__(self, watched: Watched, make_compiler: Callable[[Listen, Path], Compiler] = Compiler) -> None:
        self.watched = watched
        self.job_file = JobFile(watched.job, watched.settings)
        first = State(
            session=secrets.token_hex(8),
            file=watched.drawing.name,
            job=watched.job.name,
            lengths=view_lengths(self.job_file),
            islands_fixed=any(setting.startswith("islands.policy=") for setting in watched.settings),
        )
        self.live = LiveState(first)
        loop = asyncio.get_running_loop()
        self._compiler = make_compiler(lambda event: _in_loop(loop, self.hear, event), watched.drawing)
        self._seen: Saved | None = None
        self._trouble: asyncio.Task[None] | None = None
        self._quick = ""

    async def run(self) -> None:
        """Follow saves until cancelled."""
        self.compile_now()
        async for _ in follow_saves(self.watched.files):
            self.compile_now()

    @property
    def state(self) -> State:
        """What the page shows now."""
        return self.live.now

    def compile_now(self) -> None:
        """Compile what the files hold, if that has changed."""
        saved = look(self.watched.files)
        if self._seen is not None and saved.digest == self._seen.digest:
            return
        self._seen = saved
        self._forget_trouble()
        run = self.state.run + 1
        self.live.show(replace(self.state, run=run, saved=round(saved.at_s * 1000), busy="reading the drawing"))
        job = self.watched.job if self.watched.job_must_exist or self.watched.job.exists() else None
        self._compiler.start(CompileRequest(run, self.watched.drawing, job, self.watched.settings))

    def names_of(self, island: str) -> tuple[str, ...]:
        """All names by which the job file may speak of an island; none for one that isn't known."""
        return next((one.names for one in self.state.islands if one.id == island), ())

    def note_choice(self, island: str, policy: str) -> None:
        """Show a choice for an island, or with no name for all without their own, before its compile tells of it."""
        noted = tuple(
            replace(one, policy=policy, own=one.own or one.id == island)
            if one.id == island or not (island or one.own)
            else one
            for one in self.state.islands
        )
        every = self.state.island_policy if island else policy
        self.live.show(replace(self.state, islands=noted, island_policy=every))

    def hear(self, event: Event) -> None:
        """Show what the compiler tells of the newest save."""
        if event.run != self.state.run:
            return
        if isinstance(event.news, Broken):
            self._show_trouble(event.run, event.news.sentence)
            return
        state = self._with_news(event.run, event.news)
        self.live.show(replace(state, busy="") if event.last else state)

    def close(self) -> None:
        """End the compiler and let all followers of the state go."""
        self._forget_trouble()
        self.live.close()
        self._compiler.close()

    def _with_news(self, run: int, news: News) -> State:
        match news:
            case Stage():
                return replace(self.state, busy=news.name)
            case QuickPicture():
                return self._with_quick(run, news)
            case StackKnown():
                return self._with_stack(run, news)
            case IslandsKnown():
                return replace(self.state, islands=news.islands)
            case SheetsKnown():
                return self._with_sheets(run, news)
            case Concluded():
                found = _with_findings(self.state, news.findings)
                return replace(found, outcome=news.outcome, proof=news.proof)
            case Broken():
                return self.state

    def _with_quick(self, run: int, news: QuickPicture) -> State:
        """The first picture. Where the drawing looks the same, what is shown of it already says more."""
        self.job_file = replace(self.job_file, size_mm=news.panel)
        state = replace(self.state, panel=news.panel, units=news.units, trouble=None)
        state = replace(state, lengths=view_lengths(self.job_file))
        if news.picture.svg != self._quick or state.picture is None:
            picture = self._picture(run, "quick", news.picture)
        else:
            picture = replace(state.picture, run=run, kind="same", saved=state.saved)
        self._quick = news.picture.svg
        return replace(state, picture=picture)

    def _with_stack(self, run: int, news: StackKnown) -> State:
        """A better picture, with all that is known by now; what can't be made has no sheets."""
        state = _with_findings(self.state, news.findings)
        state = replace(
            state,
            picture=self._picture(run, "stack", news.picture),
            known_run=run,
            island_policy=news.island_policy,
            outcome=news.outcome,
            proof="",
        )
        if any(finding.severity == "error" for finding in news.findings.listed):
            state = replace(state, sheets=(), sheets_run=run)
        islands = _with_prices(state.islands, news.islands)
        return replace(state, islands=islands, changes=what_changed(state.islands, islands))

    def _with_sheets(self, run: int, news: SheetsKnown) -> State:
        sheets = tuple(replace(sheet, svg=self.live.add_picture(sheet.svg)) for sheet in news.sheets)
        state = _with_findings(self.state, news.findings)
        return replace(state, picture=self._picture(run, "whole", news.picture), sheets=sheets, sheets_run=run)

    def _picture(self, run: int, kind: Literal["quick", "stack", "whole"], picture: PictureView) -> ShownPicture:
        return ShownPicture(run, kind, self.state.saved, self.live.add_picture(picture.svg), picture.box)

    def _show_trouble(self, run: int, sentence: str) -> None:
        async def tell() -> None:
            await asyncio.sleep(SETTLE_S)
            # The drawing is not as the last quick picture was made, so the same one is news again.
            self._quick = ""
            trouble = Trouble(run, self.state.saved, sentence)
            lengths = view_lengths(self.job_file)
            self.live.show(replace(self.state, busy="", outcome="", trouble=trouble, lengths=lengths))

        self._trouble = asyncio.get_running_loop().create_task(tell())

    def _forget_trouble(self) -> None:
        if self._trouble is not None:
            self._trouble.cancel()
            self._trouble = None


def _with_findings(state: State, findings: FindingsView) -> State:
    return replace(state, findings=findings.listed, more_findings=findings.more)


def _with_prices(before: tuple[IslandView, ...], now: tuple[IslandView, ...]) -> tuple[IslandView, ...]:
    """The islands as they are known now; prices that aren't known yet stay as they were, since they follow."""
    old = {island.id: island.ways for island in before}
    return tuple(replace(one, ways=one.ways or old.get(one.id, ())) for one in now)


def _in_loop(loop: asyncio.AbstractEventLoop, act: Callable[[Event], None], event: Event) -> None:
    with suppress(RuntimeError):  # the loop has ended, so nobody looks any more
        loop.call_soon_threadsafe(act, event)


def watched_files(drawing: Path, job: Path | None, settings: Sequence[str]) -> Watched:
    """What is watched, when the command line names these."""
    beside = drawing.parent / f"{drawing.stem}.toml"
    return Watched(drawing, job if job is not None else beside, tuple(settings), job_must_exist=job is not None)
