"""A thousand translucent shapes over each other: how long they take, and how much memory.

    python tests/bench/translucent.py
    python tests/bench/translucent.py --shapes 300 --kind gradients

Prints seconds of each part of a compile, the peak of memory, the painted regions of each sheet and the findings.
"""

import argparse
import random
import resource
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

from layercut.drawing import read_drawing
from layercut.job import load_job
from layercut.pipeline import compile_drawing, plan_stack

Result = TypeVar("Result")
HEAD = '<svg xmlns="http://www.w3.org/2000/svg" width="280mm" height="200mm" viewBox="0 0 280 200">'
GRADIENTS = (
    '<linearGradient id="a"><stop stop-color="#fc0" stop-opacity=".4"/><stop offset="1" stop-color="#03c" '
    'stop-opacity=".1"/></linearGradient><radialGradient id="b"><stop stop-color="#fff" stop-opacity=".45"/>'
    '<stop offset="1" stop-color="#fff" stop-opacity="0"/></radialGradient>'
)


def scene(shapes: int, kind: str, seed: int = 1) -> str:
    """A sky, hills, and a layer of translucent circles of 10 to 60 mm, each of a colour of its own."""
    rng = random.Random(seed)
    glazes = []
    for _ in range(shapes):
        x, y, r = rng.uniform(0, 280), rng.uniform(0, 200), rng.uniform(10, 60)
        colour = f"#{rng.randrange(1 << 24):06x}"
        paint = f'fill="{colour}" fill-opacity="{rng.uniform(0.05, 0.45):.2f}"'
        if kind == "gradients":
            paint = f'fill="url(#{rng.choice("ab")})"'
        glazes.append(f'<circle cx="{x:.2f}" cy="{y:.2f}" r="{r:.2f}" {paint}/>')
    return (
        f'{HEAD}<defs>{GRADIENTS}</defs><g id="sky"><rect width="280" height="200" fill="#8cf"/></g>'
        '<g id="hills"><path d="M0 200V120Q70 60 140 120T280 110V200z" fill="#4a2"/></g>'
        f'<g id="front"><rect y="170" width="280" height="30" fill="#631"/>{"".join(glazes)}</g></svg>'
    )


def timed(what: str, work: Callable[[], Result]) -> Result:
    """Do some work, and print how long it took by the clock and of the processor, for machines that are busy."""
    begin, used = time.perf_counter(), time.process_time()
    result = work()
    took, busy = time.perf_counter() - begin, time.process_time() - used
    print(f"{what}: {took:.2f} s, {busy:.2f} s of the processor")
    return result


def main() -> None:
    """Compile the scene once and print what it took."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--shapes", type=int, default=1000)
    parser.add_argument("--kind", choices=("flat", "gradients"), default="flat")
    parser.add_argument("--stack-only", action="store_true", help="without sheets, work and proof")
    options = parser.parse_args()
    job = load_job(None)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "scene.svg"
        path.write_text(scene(options.shapes, options.kind))
        drawing = timed("reading", lambda: read_drawing(path, job))
        if options.stack_only:
            stack = timed("stack", lambda: plan_stack(drawing, job))
        else:
            stack = timed("whole compile", lambda: compile_drawing(path, job)).stack
    print(f"memory {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB")
    for layer in stack.layers:
        count = sum(len(getattr(part.region, "geoms", (part.region,))) for part in layer.painted)
        print(f"{layer.name}: {len(layer.painted)} paints in {count} regions")
    for finding in (*drawing.findings, *stack.findings):
        print(f"{finding.code}: {finding.message}")


if __name__ == "__main__":
    main()
