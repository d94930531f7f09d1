"""How long whole compiles take, beside the yardstick, in one run: `python tests/bench/speed.py [SHAPES ...]`.

The drawings (make_drawing.py) and the yardstick (floor.py: the bare region algebra with nothing else) lie beside the
repository. Each command is a process of its own; the two take turns, three times at 1,000 shapes, else once. Printed
are wall seconds, processor seconds and peak memory of each, their ratios with the bars, how the compile's time grows,
and how long `--help` takes. A drawing of leaves that float has islands, so the compile ties them here, or cuts them
loose (`--islands loose`); under `refuse` it would stop before the sheets and be no fair match. Leaves get smaller as
they get more, so that more of them than 1,000 are cut with the finer limits that their maker would set (`LIMITS`).
"""

import argparse
import math
import os
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

BENCH = Path(__file__).parents[3] / "shared" / "bench"
SIZES = (1000, 4000, 16000)
BARS = {1000: 1.5, 4000: 1.0, 16000: 1.0}
LIMITS = {
    ("tie", 1000): ("limits.slender=100",),
    ("tie", 4000): ("limits.neck=0.8mm", "limits.slender=100"),
    ("tie", 16000): ("limits.neck=0.2mm", "limits.slender=100"),
    ("loose", 4000): ("limits.neck=0.8mm", "limits.setback=0.2mm"),
}
"""Settings without which leaves as small as these can't be tied or carried; 16,000 can't be carried at all."""

MEMORY_BAR, GROWTH_BAR, HELP_BAR_S = 2.0, 1.15, 0.35
MEGABYTE = 1024


@dataclass(frozen=True)
class Cost:
    """What one process took: wall and processor seconds, peak memory in MB, and its exit code."""

    wall_s: float
    cpu_s: float
    megabytes: float
    code: int


def run(words: list[str]) -> Cost:
    """Run one command and measure it, its children included."""
    begun = time.perf_counter()
    process = subprocess.Popen(words, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    _, status, usage = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)  # it is waited for already
    wall = time.perf_counter() - begun
    return Cost(wall, usage.ru_utime + usage.ru_stime, usage.ru_maxrss / MEGABYTE, process.returncode)


def best(costs: list[Cost]) -> Cost:
    """The quickest of some runs: the one that was disturbed least."""
    return min(costs, key=lambda cost: cost.wall_s)


def compare(shapes: int, folder: Path, policy: str) -> tuple[Cost, Cost]:
    """The compile and the yardstick on one drawing, taking turns."""
    drawing = folder / f"foliage-{shapes}.svg"
    made = [sys.executable, str(BENCH / "make_drawing.py"), "--shapes", str(shapes), "--out", str(drawing)]
    subprocess.run(made, check=True, capture_output=True)
    ours = [sys.executable, "-m", "layercut", "compile", str(drawing), "--islands", policy]
    ours += ["--out", str(folder / f"sheets-{shapes}")]
    ours += [word for setting in LIMITS.get((policy, shapes), ()) for word in ("--set", setting)]
    floor = [sys.executable, str(BENCH / "floor.py"), str(drawing), str(folder / f"floor-{shapes}")]
    pairs = [(run(ours), run(floor)) for _ in range(3 if shapes <= SIZES[0] else 1)]
    return best([pair[0] for pair in pairs]), best([pair[1] for pair in pairs])


def main() -> None:
    """Print every bar with its figure."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("shapes", type=int, nargs="*", default=list(SIZES))
    parser.add_argument("--islands", choices=("loose", "refuse", "tie"), default="tie")
    asked = parser.parse_args()
    if not BENCH.is_dir():
        sys.exit(f"{BENCH} isn't there: the yardstick lies beside the repository.")
    found: dict[int, Cost] = {}
    print(f"{'shapes':>7} {'':10} {'wall s':>8} {'cpu s':>8} {'MB':>6} {'exit':>5}")
    with tempfile.TemporaryDirectory() as folder:
        for shapes in asked.shapes:
            ours, floor = compare(shapes, Path(folder), asked.islands)
            found[shapes] = ours
            for name, cost in (("layercut", ours), ("yardstick", floor)):
                figures = f"{cost.wall_s:8.2f} {cost.cpu_s:8.2f} {cost.megabytes:6.0f} {cost.code:5}"
                print(f"{shapes:7} {name:10} {figures}")
            bar = f" (bar {BARS[shapes]})" if shapes in BARS else ""
            times, memory = ours.wall_s / floor.wall_s, ours.megabytes / floor.megabytes
            print(
                f"{shapes:7} times the yardstick: {times:.2f}{bar}; memory {memory:.2f} (bar {MEMORY_BAR})",
                flush=True,
            )
    least, most = min(found), max(found)
    if least < most and found[least].code != found[most].code:
        print("how time grows can't be told: one of the drawings was refused before its sheets")
    elif least < most:
        growth = math.log(found[most].wall_s / found[least].wall_s) / math.log(most / least)
        print(f"time grows with shapes^{growth:.2f} (bar {GROWTH_BAR})")
    shown = best([run([sys.executable, "-m", "layercut", "--help"]) for _ in range(5)])
    typer = best([run([sys.executable, "-c", "import typer"]) for _ in range(5)])
    print(f"--help {shown.wall_s:.2f} s (bar {HELP_BAR_S} s, or 2 times import typer: {2 * typer.wall_s:.2f} s)")


if __name__ == "__main__":
    main()
