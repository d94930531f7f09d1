"""Fuzzes the reader, or the whole compile, with drawings made by chance.

    python tests/bench/fuzz.py --target reader|compile --seconds 60 [--seed N] [--once] [--keep FOLDER]

Each seed gives one drawing (tests/support/fuzz_drawings.py). A failure is any exception but a refusal (a
LayercutError that isn't layercut's own fault), a warning, more than 10 s of the processor, more than 1 GB, or the end
of the process. Prints each failing seed and writes its drawing to the folder that `--keep` names. `--once` tries one
seed alone, and shows the whole traceback. Ends with 1 if anything failed.
"""

import argparse
import multiprocessing
import resource
import sys
import tempfile
import time
import traceback
import warnings
from collections import Counter
from collections.abc import Callable
from multiprocessing.connection import Connection
from pathlib import Path
from random import Random

sys.path.insert(0, str(Path(__file__).parents[1] / "support"))

from fuzz_drawings import make_drawing, read_corpus
from random_scenes import random_settings

from layercut import LayercutError, compile_drawing, load_job, sheet_files
from layercut.drawing import read_drawing
from layercut.output.contents import folder_files

SECONDS, MEGABYTES = 10.0, 1000.0
HANGS_S = 120.0
"""Seconds of silence after which a run counts as hanging, even on a busy machine."""

VIEWS_SHARE = 0.2
"""Share of compiled drawings whose pictures and pages are made too; they cost more than the rest."""


def fuzz_reader(path: Path, _chance: Random) -> str:
    """Read the drawing; what came of it."""
    drawing = read_drawing(path, load_job(None))
    return "read with findings" if drawing.findings else "read"


def fuzz_compile(path: Path, chance: Random) -> str:
    """Compile the drawing under settings made by chance, now and then with all files; what came of it."""
    settings = [text for text in random_settings(chance) if not text.startswith(("islands.layers", "islands.pieces"))]
    build = compile_drawing(path, load_job(None, settings))
    sheet_files(build)
    if chance.random() < VIEWS_SHARE:
        folder_files(build)
    return "made" if build.makeable else "can't be made"


TARGETS: dict[str, Callable[[Path, Random], str]] = {"reader": fuzz_reader, "compile": fuzz_compile}


def try_seed(target: str, seed: int, corpus: list[bytes], folder: Path) -> tuple[str, str]:
    """What came of one seed, and what failed ('' if nothing did)."""
    chance = Random(f"{target} {seed}")
    path = folder / "drawing.svg"
    path.write_bytes(make_drawing(chance, corpus))
    came, problem = "", ""
    begun = time.process_time()
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error")
            came = TARGETS[target](path, chance)
    except LayercutError as error:
        came = f"refused: {error.code}"
        sentence = error.sentence()
        if error.exit_code == 70:
            problem = f"own fault: {sentence}"
        elif "\n" in sentence or len(sentence) > 1000 or not sentence.strip():
            problem = f"no clear sentence: {sentence[:200]!r}"
    except BaseException as error:  # a library's compiled code may raise outside of Exception
        if isinstance(error, KeyboardInterrupt):
            raise
        last = traceback.extract_tb(error.__traceback__)[-1]
        came = "failed"
        problem = f"{type(error).__name__}: {str(error)[:200]} ({Path(last.filename).name}:{last.lineno})"
    seconds = time.process_time() - begun
    if seconds > SECONDS:
        problem = problem or f"{seconds:.1f} s"
    megabytes = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    if megabytes > MEGABYTES:
        problem = problem or f"{megabytes:.0f} MB"
    return came, problem


def _work(target: str, first: int, pipe: Connection) -> None:
    """Try seeds from the first on, telling of each before and after, until one fails."""
    corpus = read_corpus()
    with tempfile.TemporaryDirectory() as folder:
        seed = first
        while True:
            pipe.send((seed, "", ""))
            came, problem = try_seed(target, seed, corpus, Path(folder))
            pipe.send((seed, came, problem))
            if problem:
                return  # a fresh process after each failure, so that memory is counted anew
            seed += 1


def run(target: str, first: int, seconds: float, keep: Path | None) -> int:
    """Try seeds for so many seconds; returns how many failed."""
    counts: Counter[str] = Counter()
    seed, failed, end = first, 0, time.monotonic() + seconds
    context = multiprocessing.get_context("fork")
    while time.monotonic() < end:
        ours, theirs = context.Pipe(duplex=False)
        worker = context.Process(target=_work, args=(target, seed, theirs), daemon=True)
        worker.start()
        theirs.close()
        problem = ""
        while not problem and time.monotonic() < end:
            try:
                if not ours.poll(HANGS_S):
                    problem = f"silent for {HANGS_S:.0f} s"
                    break
                seed, came, problem = ours.recv()
            except EOFError:
                worker.join()
                problem = f"the process ended with {worker.exitcode}"
                break
            counts.update([came] if came else [])
        worker.kill()
        worker.join()
        if problem:
            failed += 1
            print(f"seed {seed}: {problem}", flush=True)
            _keep(target, seed, keep)
        seed += 1
    shown = ", ".join(f"{came} {number}" for came, number in counts.most_common())
    print(f"{target}: {counts.total()} drawings from seed {first}, {failed} failed; {shown}")
    return failed


def _keep(target: str, seed: int, keep: Path | None) -> None:
    if keep is not None:
        keep.mkdir(parents=True, exist_ok=True)
        data = make_drawing(Random(f"{target} {seed}"), read_corpus())
        (keep / f"{target}-{seed}.svg").write_bytes(data)


def _show_once(target: str, seed: int, keep: Path | None) -> int:
    chance = Random(f"{target} {seed}")
    _keep(target, seed, keep)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "drawing.svg"
        path.write_bytes(make_drawing(chance, read_corpus()))
        try:
            with warnings.catch_warnings():
                warnings.simplefilter("error")
                print(TARGETS[target](path, chance))
        except LayercutError as error:
            print(error.sentence())
            return error.exit_code == 70
        except Exception:
            traceback.print_exc()
            return 1
    return 0


def main() -> None:
    """Run one target."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--target", choices=sorted(TARGETS), required=True)
    parser.add_argument("--seconds", type=float, default=60)
    parser.add_argument("--seed", type=int, default=0, help="the first seed")
    parser.add_argument("--once", action="store_true", help="try that one seed, and show the whole traceback")
    parser.add_argument("--keep", type=Path, help="folder for the drawings that fail")
    asked = parser.parse_args()
    if asked.once:
        sys.exit(_show_once(asked.target, asked.seed, asked.keep))
    sys.exit(1 if run(asked.target, asked.seed, asked.seconds, asked.keep) else 0)


if __name__ == "__main__":
    main()
