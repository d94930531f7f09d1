"""Drawings far larger than anybody draws: each ends within a minute and 2 GB, or is refused at once in one sentence.

    python tests/bench/big_inputs.py [NAME ...]

Makes each drawing of DRAWINGS in a folder of its own, compiles it in a process of its own, and prints seconds, the
most memory (GB) and how it ended. Ends with 1 if one took longer than 60 s or more than 2 GB, or ended with a fault.
A process is stopped after 170 s or at 8 GB. POSIX only.
"""

import os
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from random import Random

ROOT = Path(__file__).parents[2]
LIMIT_S, LIMIT_GB = 60, 2.0
STOP_S, STOP_GB = 170, 8

BACK = '<g id="back"><rect width="300" height="200" fill="#88aacc"/></g>'


def _page(layers: str, size: str = 'width="300mm" height="200mm" viewBox="0 0 300 200"') -> Iterator[str]:
    yield f'<svg xmlns="http://www.w3.org/2000/svg" {size}>{layers}</svg>'


def random_rects() -> Iterator[str]:
    """50,000 rectangles of 0.5 to 6 mm, anywhere, in eight colours."""
    chance = Random(1)
    rects = "".join(
        f'<rect x="{chance.uniform(0, 295):.3f}" y="{chance.uniform(0, 195):.3f}" '
        f'width="{chance.uniform(0.5, 6):.3f}" height="{chance.uniform(0.5, 6):.3f}" '
        f'fill="#{chance.randrange(8):d}04422"/>'
        for _ in range(50_000)
    )
    return _page(f'{BACK}<g id="front">{rects}</g>')


def thick_stroke() -> Iterator[str]:
    """One stroke of 2 mm through 200,000 random points."""
    chance = Random(2)
    points = " ".join(f"{chance.uniform(5, 295):.3f},{chance.uniform(5, 195):.3f}" for _ in range(200_000))
    line = f'<polyline points="{points}" fill="none" stroke="#402010" stroke-width="2"/>'
    return _page(f'{BACK}<g id="front">{line}</g>')


def smooth_stroke() -> Iterator[str]:
    """One stroke of 2 mm through 200,000 points that follow each other closely."""
    points = " ".join(f"{5 + i * 0.00145:.5f},{100 + 90 * ((i * 37) % 997) / 997:.3f}" for i in range(200_000))
    line = f'<polyline points="{points}" fill="none" stroke="#402010" stroke-width="2"/>'
    return _page(f'{BACK}<g id="front">{line}</g>')


def empty_groups() -> Iterator[str]:
    """62 MB of groups with nothing in them."""
    yield '<svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="200mm" viewBox="0 0 300 200">'
    yield f'{BACK}<g id="front"><rect y="100" width="300" height="100" fill="#448844"/>'
    for _ in range(155):
        yield "<g/>" * 100_000
    yield "</g></svg>"


def coincident_shapes() -> Iterator[str]:
    """The same circle 5,000 times."""
    circles = '<circle cx="150" cy="120" r="90" fill="#aa5522"/>' * 5_000
    return _page(f'{BACK}<g id="front">{circles}</g>')


def coincident_glazes() -> Iterator[str]:
    """The same translucent circle 5,000 times."""
    circles = '<circle cx="150" cy="120" r="90" fill="#aa5522" opacity="0.2"/>' * 5_000
    return _page(f'{BACK}<g id="front"><rect y="100" width="300" height="100" fill="#448844"/>{circles}</g>')


def many_layers() -> Iterator[str]:
    """2,000 layers of a rectangle each, every one a little lower."""
    layers = "".join(
        f'<g id="l{n}"><rect y="{n / 10:g}" width="300" height="300" fill="#{n % 10}0{n % 7}{n % 3}44"/></g>'
        for n in range(2_000)
    )
    return _page(layers)


def large_panel() -> Iterator[str]:
    """A panel of 100 m."""
    return _page(BACK, 'width="100000mm" height="80000mm" viewBox="0 0 300 240"')


DRAWINGS: dict[str, Callable[[], Iterator[str]]] = {
    maker.__name__: maker
    for maker in (
        random_rects,
        thick_stroke,
        smooth_stroke,
        empty_groups,
        coincident_shapes,
        coincident_glazes,
        many_layers,
        large_panel,
    )
}


def _hold_memory() -> None:
    resource.setrlimit(resource.RLIMIT_AS, (STOP_GB * 2**30, STOP_GB * 2**30))


def try_one(name: str) -> bool:
    """Make and compile one drawing, and print its figures; whether it kept within the limits."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"{name}.svg"
        with path.open("w", encoding="utf-8") as file:
            file.writelines(DRAWINGS[name]())
        said = Path(folder) / "said.txt"
        begun = time.monotonic()
        with said.open("wb") as stream:
            process = subprocess.Popen(
                [sys.executable, "-m", "layercut", "compile", path, "--timings"],
                stdout=stream,
                stderr=stream,
                env={**os.environ, "PYTHONPATH": str(ROOT)},
                preexec_fn=_hold_memory,  # noqa: PLW1509  (no threads here)
            )
            code, peak_gb = _wait(process, begun + STOP_S)
        seconds = time.monotonic() - begun
        lines = said.read_text(encoding="utf-8", errors="replace").splitlines() or [""]
    print(f"{name:18} {_ending(lines, code):>9} {seconds:6.1f} s {peak_gb:5.2f} GB", flush=True)
    for line in lines if "-v" in sys.argv else lines[-2:]:
        print(f"    {line[:200]}", flush=True)
    return code in {0, 1, 2} and seconds <= LIMIT_S and peak_gb <= LIMIT_GB


def _ending(lines: list[str], code: int) -> str:
    """How it ended, in a word."""
    return {0: "made", 1: "findings", 2: "refused"}.get(code, f"code {code}") if lines else ""


def _wait(process: "subprocess.Popen[bytes]", until: float) -> tuple[int, float]:
    """Its exit code, and the most memory it held, in GB; it is stopped when its time is over."""
    while True:
        pid, status, usage = os.wait4(process.pid, os.WNOHANG)
        if pid:
            process.returncode = os.waitstatus_to_exitcode(status)
            return process.returncode, usage.ru_maxrss / 2**20
        if time.monotonic() > until:
            process.kill()
        time.sleep(0.05)


def main(names: list[str]) -> int:
    """Try each; 0 if all kept within the limits."""
    kept = [try_one(name) for name in names or DRAWINGS]
    return 0 if all(kept) else 1


if __name__ == "__main__":
    sys.exit(main([word for word in sys.argv[1:] if not word.startswith("-")]))
