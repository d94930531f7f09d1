"""How long after a save the browser has the new picture: `python tests/bench/watch_latency.py [DRAWING ...]`.

Measured end to end: from just before the file is put in place to the frame after the decoded picture was put into the
page, both by the machine's clock. Every save changes the colour of a fill. Without drawings it takes the samples.
Figures: the first picture, and the last one, with its sheets. Needs Chromium and Playwright.
"""

import re
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from playwright.sync_api import Page, sync_playwright

ROOT = Path(__file__).parents[2]
SAVES = 8
COLOUR = re.compile(rb"(?<=fill=.)#[0-9a-fA-F]{6}\b")
FIRST_LIMIT_MS, WHOLE_LIMIT_MS = 20_000, 180_000


def main(drawings: list[Path]) -> None:
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=shutil.which("chromium"), args=["--no-sandbox", "--disable-gpu"]
        )
        page = browser.new_page(viewport={"width": 1280, "height": 1000})
        for drawing in drawings:
            measure(drawing, page)
        browser.close()


def measure(drawing: Path, page: Page) -> None:
    """Print the figures of one drawing."""
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder) / drawing.name
        shutil.copy(drawing, copy)
        job = drawing.with_suffix(".toml")
        if job.exists():
            shutil.copy(job, folder)
        with watched(copy) as address:
            page.goto(address)
            settle(page, 1)
            first = [save(copy, page, number) for number in range(2, SAVES + 2)]
            # The next save comes while the last is still compiled: it must not have to wait.
            hasty = [save(copy, page, number, settled=False) for number in range(SAVES + 2, 2 * SAVES + 2)]
            settle(page, 2 * SAVES + 1)
    firsts, wholes = zip(*first, strict=True)
    print(
        f"{drawing.name}: first picture {figures(firsts)}; saved while it compiles "
        f"{figures([one for one, _ in hasty])}; everything {figures(wholes)}"
    )


@contextmanager
def watched(drawing: Path) -> Iterator[str]:
    command = [sys.executable, "-m", "layercut", "watch", "--no-open", str(drawing)]
    process = subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True)
    try:
        assert process.stdout is not None
        yield process.stdout.readline().strip()
    finally:
        process.terminate()
        process.wait(10)


def save(drawing: Path, page: Page, number: int, *, settled: bool = True) -> tuple[float, float]:
    """Save with another colour; ms until the first picture and, if `settled`, until the last."""
    colour = f"#{(number * 0x251F3B) % 0xFFFFFF:06x}".encode()
    new = drawing.with_suffix(".saving")
    new.write_bytes(COLOUR.sub(colour, drawing.read_bytes(), count=1))
    start_ms = 1000 * time.time()
    new.replace(drawing)
    page.wait_for_selector(f'#picture[data-run="{number}"]', timeout=FIRST_LIMIT_MS)
    first = float(page.get_attribute("#picture", "data-at") or 0) - start_ms
    if not settled:
        return first, 0.0
    settle(page, number)
    return first, float(page.get_attribute("#picture", "data-last-at") or 0) - start_ms


def settle(page: Page, number: int) -> None:
    """Wait until everything about a save is shown."""
    page.wait_for_selector(f'#picture[data-run="{number}"]', timeout=WHOLE_LIMIT_MS)
    page.wait_for_selector("#busy:not(.on)", state="attached", timeout=WHOLE_LIMIT_MS)


def figures(values: tuple[float, ...] | list[float]) -> str:
    return f"{statistics.median(values):.0f} ms (at most {max(values):.0f})"


if __name__ == "__main__":
    named = [Path(name) for name in sys.argv[1:]]
    main(named or sorted((ROOT / "samples").glob("*/*.svg")))
