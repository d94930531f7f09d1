"""Islands under every policy, on open drawings or on random scenes.

    python tests/bench/policies.py --count 200
    python tests/bench/policies.py --scenes 2000 [--first SEED]

With `--count`, compiles open drawings dealt into layers and prints for each policy how many were made, how many were
refused by which code, how many ended in a fault of our own (must be 0), whether the stack is the drawing (`loose`),
or the drawing and its ties (`tie`), by an independent renderer, and the slowest. With `--scenes`, tries the laws of
tests/support/policy_laws.py on random scenes under random settings. Prints each drawing or seed that breaks one.
"""

import argparse
import resource
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Sequence
from pathlib import Path
from random import Random

sys.path.insert(0, str(Path(__file__).parents[1] / "support"))

from open_drawings import deal_into_layers, open_drawings
from policy_laws import broken_laws
from random_scenes import random_scene, random_settings
from raster_policies import different_pixels

from layercut import Build, LayercutError, compile_drawing, load_job
from layercut.job import Job

POLICIES = ("auto", "refuse", "tie", "loose", "behind")
PX_PER_MM = 4


def outcome(build: Build) -> str:
    """`made`, or the codes that refuse it."""
    codes = sorted({finding.code for finding in build.findings if finding.severity == "error"})
    return "made" if build.makeable else " and ".join(codes)


def try_drawing(source: Path, path: Path, job: Job, compared: bool) -> tuple[str, float, int]:
    """What came of one drawing, the seconds that took, and how many pixels differ."""
    dealt = deal_into_layers(source)
    path.write_text(dealt)
    begun = time.perf_counter()
    try:
        build = compile_drawing(path, job)
    except LayercutError as error:
        return f"fault {error.code}: {error.message}", time.perf_counter() - begun, 0
    except Exception as error:
        return f"fault {error!r}", time.perf_counter() - begun, 0
    took = time.perf_counter() - begun
    return outcome(build), took, different_pixels(dealt, path, build, PX_PER_MM) if compared else 0


def try_drawings(count: int, policies: Sequence[str]) -> int:
    """Print the counts of each policy; returns how many broke a law."""
    failed = 0
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "dealt.svg"
        for policy in policies:
            job = load_job(None, [f"islands.policy={policy}"])
            outcomes: Counter[str] = Counter()
            worst, wrong = (0.0, ""), 0
            for source in open_drawings(count):
                came, took, different = try_drawing(source, path, job, policy != "refuse")
                outcomes["fault" if came.startswith("fault") else came] += 1
                worst = max(worst, (took, source.stem))
                wrong += bool(different)
                if came.startswith("fault") or different:
                    failed += 1
                    print(f"  {policy} {source.stem}: {came}, {different} pixels differ", flush=True)
            shown = ", ".join(f"{name} {number}" for name, number in outcomes.most_common())
            print(f"{policy}: {shown}; {wrong} differ; slowest {worst[0]:.1f} s ({worst[1]})", flush=True)
    return failed


def try_scenes(count: int, first: int) -> int:
    """Print each seed that breaks a law; returns how many do."""
    failed, worst = 0, (0.0, 0)
    for seed in range(first, first + count):
        chance = Random(seed)
        scene, settings = random_scene(chance), random_settings(chance)
        begun = time.perf_counter()
        try:
            broken = broken_laws(scene, load_job(None, settings))
        except Exception as error:
            broken = [f"exception {error!r}"]
        worst = max(worst, (time.perf_counter() - begun, seed))
        failed += bool(broken)
        for law in broken:
            print(f"  seed {seed}: {law}", flush=True)
    print(f"{count} scenes from seed {first}: {failed} break a law; slowest {worst[0]:.1f} s (seed {worst[1]})")
    return failed


def main() -> None:
    """Run what is asked for; ends with 1 if anything broke a law."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--count", type=int, default=0, help="open drawings to compile under each policy")
    parser.add_argument("--scenes", type=int, default=0, help="random scenes to try the laws on")
    parser.add_argument("--first", type=int, default=0, help="the first scene's seed")
    parser.add_argument("--policy", choices=POLICIES, help="only this one of them")
    asked = parser.parse_args()
    policies = POLICIES if asked.policy is None else (asked.policy,)
    failed = try_drawings(asked.count, policies) if asked.count else 0
    failed += try_scenes(asked.scenes, asked.first) if asked.scenes else 0
    peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"most memory: {peak_mb:.0f} MB")
    sys.exit(1 if failed else 0)


if __name__ == "__main__":
    main()
