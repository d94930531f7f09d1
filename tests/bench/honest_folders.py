"""Whether the proof ever refuses a good folder.

    python tests/bench/honest_folders.py --scenes 500 [--first SEED] [--drawings 100]

Each seed gives one random scene full of marks and one job (tests/support/marked_scenes.py); `--drawings` adds open
drawings dealt into layers, compiled whole. Each is written as a folder and verified. Prints what `verify` finds and
the compile's own proof doesn't, or the reverse, the problems that both find, and in the end how many of each there
were. Ends with 1 if the two ever disagreed, or marks, roles, hashes or the manifest were said to be wrong.
"""

import argparse
import sys
import tempfile
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from random import Random

from builds import made_of

sys.path.insert(0, str(Path(__file__).parents[1] / "support"))

from marked_scenes import made_build, marked_scene, marked_settings, write_build
from open_drawings import deal_into_layers, open_drawings

from layercut import LayercutError, load_job
from layercut.drawing import read_drawing
from layercut.job import Job
from layercut.model import Drawing
from layercut.proof.failures import ProofFailure
from layercut.proof.verify import verify_folder

GEOMETRY = {"picture-differs", "frame-differs", "piece-loose", "piece-missing", "piece-differs", "tie-missing"}
"""What a compile may find too, and tells or refuses then: blemishes, and pieces too fine for the beam."""


def scenes(first: int, count: int) -> Iterator[tuple[str, Drawing, Job]]:
    """Random scenes by their seeds."""
    for seed in range(first, first + count):
        chance = Random(seed)
        drawing, settings = marked_scene(chance), marked_settings(chance)
        yield f"seed {seed}", drawing, load_job(None, settings)


def drawings(count: int, folder: Path) -> Iterator[tuple[str, Drawing, Job]]:
    """Open drawings, with loose pieces."""
    for source in open_drawings(count):
        path = folder / "drawing.svg"
        path.write_text(deal_into_layers(source))
        try:
            job = load_job(None, ["islands.policy=loose"])
            yield source.name, read_drawing(path, job), job
        except LayercutError:
            continue


def try_one(drawing: Drawing, job: Job, folder: Path) -> tuple[str, list[ProofFailure], list[ProofFailure]]:
    """What came of it, and what the compile's proof and `verify` found wrong."""
    try:
        build, verdict = made_build(drawing, job)
    except LayercutError as error:
        return f"refused: {error.code}", [], []
    if verdict is None:
        return "can't be made", [], []
    made = made_of(build)
    write_build(made, folder)
    marks = sum(len(sheet.mark_areas) + len(sheet.mark_lines) for sheet in made.sheets)
    return f"made, {'with' if marks else 'without'} marks", [*verdict.failures], [*verify_folder(folder).failures]


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--scenes", type=int, default=500)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--drawings", type=int, default=0)
    words = parser.parse_args()
    came, faults = Counter[str](), 0
    with tempfile.TemporaryDirectory() as holder:
        base = Path(holder)
        for source in (scenes(words.first, words.scenes), drawings(words.drawings, base)):
            for name, drawing, job in source:
                outcome, compiled, verified = try_one(drawing, job, base / "folder")
                came[outcome] += 1
                codes = [Counter(problem.code for problem in found) for found in (compiled, verified)]
                wrong = codes[0] != codes[1] or bool(set(codes[0] | codes[1]) - GEOMETRY)
                faults += wrong
                if compiled or verified:
                    came["with a problem that both find" if not wrong else "WRONG"] += 1
                    print(name, "WRONG" if wrong else "", *(f"\n  compile {p}" for p in compiled), flush=True)
                    print(*(f"  verify  {p}\n" for p in verified), flush=True)
    for outcome, count in sorted(came.items()):
        print(f"{count:6} {outcome}")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
