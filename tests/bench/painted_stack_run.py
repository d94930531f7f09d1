"""The colours of the painted stack against a renderer's picture of the whole drawing.

    python tests/bench/painted_stack_run.py [--samples] [--open N] [--random N] [--files FOLDER] [--worst N]

`stack.svg` without what isn't paint, rendered by resvg, against the drawing rendered by resvg over bare wood: OKLab
at every pixel inside the frame, away from edges. Prints each drawing with more than 1 % of wrong pixels, and for each kind of
drawing the median and the worst share, and how many have more than 1 %. Drawings of the open package are dealt
into four layers (--open); --files is a folder such as renderer_files_run.py takes, of which those are compared that
use gradients, opacity, patterns or masks, and no text, filters, blend modes, markers, pictures or animation.
"""

import argparse
import re
import statistics
import sys
import tempfile
from collections.abc import Iterable, Iterator
from pathlib import Path
from random import Random

sys.path.insert(0, str(Path(__file__).parents[1] / "support"))

from open_drawings import PAGE_MM, deal_into_layers, open_drawings
from painted import Colours, stack_colours
from random_paint import random_painting
from renderer_files_run import in_layers

from layercut import LayercutError

ROOT = Path(__file__).parents[2]
MOST = 0.01
LEFT_OUT = re.compile(
    rb"<(\w+:)?(text|filter|image|foreignObject|marker|animate\w*|set|switch|style)\b|mix-blend-mode|<!ENTITY"
)
PAINTED = re.compile(rb"Gradient\b|opacity|<(\w+:)?(pattern|mask)\b")

Task = tuple[str, str | bytes, Path | None]


def samples() -> Iterator[Task]:
    """The project's own."""
    for path in sorted((ROOT / "samples").glob("*/*.svg")):
        yield path.stem, path.read_text(encoding="utf-8"), path.with_suffix(".toml")


def dealt(count: int) -> Iterator[Task]:
    """Drawings of the open package."""
    for path in open_drawings(count):
        yield path.stem, deal_into_layers(path), None


def by_chance(count: int) -> Iterator[Task]:
    """Random drawings."""
    for seed in range(count):
        yield f"random {seed}", random_painting(Random(seed)), None


def of_folder(folder: Path) -> Iterator[Task]:
    """A renderer's test files that paint what is meant here."""
    for path in sorted(folder.rglob("*.svg")):
        data = path.read_bytes()
        if PAINTED.search(data) and not LEFT_OUT.search(data):
            yield str(path.relative_to(folder)), in_layers(data), None


def compare_all(tasks: Iterable[Task], settings: list[str]) -> dict[str, Colours]:
    """Every drawing that is read, by name; prints those that aren't."""
    found: dict[str, Colours] = {}
    with tempfile.TemporaryDirectory() as folder:
        for name, text, job in tasks:
            path = Path(folder) / "drawing.svg"
            path.write_bytes(text if isinstance(text, bytes) else text.encode())
            try:
                found[name] = stack_colours(path, job, settings)
            except LayercutError as error:
                print(f"  {name}: {error.code}", flush=True)
                continue
            if found[name].share > MOST:
                print(f"  {name}: {100 * found[name].share:.2f} %", flush=True)
    return found


def tell(kind: str, found: dict[str, Colours], worst: int) -> None:
    """Print the figures of one kind."""
    if not found:
        return
    shares = {name: colours.share for name, colours in found.items()}
    over = [name for name, share in shares.items() if share > MOST]
    compared = sum(colours.compared for colours in found.values()) / sum(colours.inside for colours in found.values())
    print(
        f"{kind}: {len(found)} drawings, {100 * compared:.0f} % of the pixels compared; wrong: median "
        f"{100 * statistics.median(shares.values()):.3f} %, worst {100 * max(shares.values()):.2f} %, "
        f"{len(over)} drawings over {100 * MOST:g} %",
        flush=True,
    )
    for name in sorted(shares, key=lambda name: -shares[name])[:worst]:
        print(f"  {100 * shares[name]:6.2f} %  {name}  {found[name].worst:.3f} at {found[name].at_mm}", flush=True)


def main() -> None:
    """Run what is asked for and print the figures."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--samples", action="store_true")
    parser.add_argument("--open", type=int, default=0)
    parser.add_argument("--random", type=int, default=0)
    parser.add_argument("--files", type=Path)
    parser.add_argument("--worst", type=int, default=0, help="name so many, the worst, whatever their shares")
    asked = parser.parse_args()
    if asked.samples:
        tell("samples", compare_all(samples(), []), asked.worst)
    if asked.open:
        tell("open drawings", compare_all(dealt(asked.open), []), asked.worst)
    if asked.random:
        tell("random drawings", compare_all(by_chance(asked.random), []), asked.worst)
    if asked.files:
        size = [f"panel.width={PAGE_MM}mm"]
        tell("test files", compare_all(of_folder(asked.files), size), asked.worst)


if __name__ == "__main__":
    main()
