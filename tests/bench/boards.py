"""How long it takes to lay a job on boards, and what of the wood is wasted.

python tests/bench/boards.py                12 sheets, 8 spacers and 30 loose pieces on 4 boards
python tests/bench/boards.py --random 1000  random jobs: each part once, nothing overlaps, the proof holds
"""

import argparse
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "support"))

from board_jobs import foliage_job, proved, random_job, require_apart

from layercut.planning.boards.plan import plan_boards
from layercut.sheets.boards import write_boards


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--random", type=int, default=0, metavar="COUNT", help="random jobs to lay and to prove")
    count = parser.parse_args().random
    for seed in range(count):
        sheets, job = random_job(seed)
        plan = plan_boards(sheets, job)
        assert plan is not None, seed
        require_apart(plan, job.material.gap)
        assert proved(sheets, job, plan) == (), seed
    if count:
        print(f"{count} random jobs: every part once, nothing overlaps, the proof holds")
        return
    for grain in ("along", "any"):
        sheets, job = foliage_job(grain)
        cpu, wall = time.process_time(), time.perf_counter()
        plan = plan_boards(sheets, job)
        cpu, wall = time.process_time() - cpu, time.perf_counter() - wall
        assert plan is not None
        parts = [part for board in plan.boards for part in board.parts]
        sheet_count = sum(not part.piece for part in parts)
        print(f"grain {grain}: {sheet_count} sheets and spacers, {len(parts) - sheet_count} spares, ", end="")
        print(f"{sum(part.inside for part in parts)} in openings; {wall:.2f} s, {cpu:.2f} s of processor time")
        counts = {"nested": len(plan.boards), "not nested": plan.flat, "at least": plan.least}
        print("  " + ", ".join(f"{name}: {n} boards, {plan.waste_share(n):.1%} waste" for name, n in counts.items()))
        wall = time.perf_counter()
        write_boards(plan.boards, job)
        print(f"  ordered and written in {time.perf_counter() - wall:.2f} s")


if __name__ == "__main__":
    main()
