"""Saves are seen however an editor makes them, and what the files hold is told apart."""

import asyncio
import os
import time
from pathlib import Path

import pytest
from own_loop import DEADLINE_S, run_apart, until

from layercut.watching.file_watch import FRESH_S, follow_saves, look


async def _noting(paths: list[Path], seen: list[str]) -> None:
    """Note what the files hold at each burst of changes."""
    async for _ in follow_saves(paths):
        seen.append(look(paths).digest)


async def _watched(paths: list[Path], tried: Path) -> tuple[list[str], "asyncio.Task[None]"]:
    """What is seen of some files from now on; one of them is written until that is seen, and the watch stands."""
    seen: list[str] = []
    task = asyncio.create_task(_noting(paths, seen))
    async with asyncio.timeout(DEADLINE_S):
        while not seen:
            tried.write_text(f"<svg>{time.monotonic_ns()}</svg>")
            await asyncio.sleep(0.02)
    return seen, task


def test_saves_are_seen_however_an_editor_makes_them(drawing: Path) -> None:
    job, other = drawing.with_suffix(".toml"), drawing.with_name("other.svg")

    def rewritten() -> None:
        with drawing.open("w") as stream:
            for _ in range(20):
                stream.write("<svg/>")
                stream.flush()

    def removed() -> None:
        drawing.unlink()
        drawing.write_text("<svg>removed</svg>")

    def renamed() -> None:
        new = drawing.with_name("~harbour.svg")
        new.write_text("<svg>renamed</svg>")
        new.replace(drawing)

    async def run() -> None:
        files = [drawing, job]
        seen, task = await _watched(files, drawing)
        of_other, other_task = await _watched([other], other)
        for act in (rewritten, removed, lambda: job.write_text("# new"), renamed):
            act()
            await until(lambda: look(files).digest == seen[-1])
        # What happens to another file is seen by who asked for it, and by nobody else up to the next save.
        before, count = seen[-1], len(seen)
        for number in range(5):
            other.write_text(f"<svg>{number}</svg>")
            await until(lambda: look([other]).digest == of_other[-1])
        renamed_job = job.with_name("~harbour.toml")
        renamed_job.write_text("# newer")
        renamed_job.replace(job)
        await until(lambda: look(files).digest == seen[-1])
        assert seen[count:].count(before) <= 1  # the last word of the save before may come late
        for done in (task, other_task):
            done.cancel()
            with pytest.raises(asyncio.CancelledError):
                await done

    run_apart(run())


def test_the_digest_is_that_of_what_the_files_hold(tmp_path: Path) -> None:
    one, other = tmp_path / "a.svg", tmp_path / "a.toml"
    one.write_text("ab")
    before = look([one, other])
    assert look([one, other]).digest == before.digest
    other.write_text("")
    assert look([one, other]).digest == before.digest  # a job file without words says what none says
    one.write_text("a")
    other.write_text("b")
    assert look([one, other]).digest != before.digest


def test_the_time_of_a_save_is_its_files_unless_that_was_copied_along(tmp_path: Path) -> None:
    path = tmp_path / "a.svg"
    path.write_text("<svg/>")
    now = time.time()
    os.utime(path, (now, now - 1))
    assert look([path]).at_s == pytest.approx(now - 1, abs=1e-3)
    for odd in (now - 100 * FRESH_S, now + 3600):
        os.utime(path, (now, odd))
        assert now <= look([path]).at_s <= time.time()
