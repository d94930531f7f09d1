"""The colours of the painted stack against a renderer's picture of the whole drawing.

    python tests/bench/painted_stack_run.py [--samples] [--open N] [--dealt N] [--random N] [--files FOLDER] [--write]

`stack.svg` without what isn't paint, rendered by resvg, against the drawing rendered by resvg over bare wood: OKLab
at every pixel inside the frame, away from edges. Prints each drawing with more than 1 % of wrong pixels, and for each
kind of drawing the median and the worst share. Drawings of the open package are taken as they are (--open) and dealt
into four layers (--dealt); --files is a folder such as renderer_files_run.py takes, of which those are compared that
use gradients, opacity, patterns or masks, and no filters, blend modes, markers, pictures or animation. --log
keeps what was found, so that a run that was stopped goes on from there; --write puts the figures into
docs/drawing-support.md.
"""

import argparse
import json
import re
import statistics
import sys
import tempfile
from collections.abc import Iterable, Iterator
from pathlib import Path
from random import Random

sys.path.insert(0, str(Path(__file__).parents[1] / "support"))

import support_page
from lxml import etree
from open_drawings import PAGE_MM, SVG, deal_into_layers, open_drawings
from painted import stack_colours
from random_paint import random_painting
from renderer_files_run import in_layers

from layercut import LayercutError

ROOT = Path(__file__).parents[2]
MOST = 0.01
PX_PER_MM = 3
NOT_ASKED = -1.0
LEFT_OUT = re.compile(rb"<(\w+:)?(filter|image|foreignObject|marker|animate\w*|set)\b|mix-blend-mode|<!ENTITY")
PAINTED = re.compile(
    rb"<(\w+:)?((linear|radial)Gradient|pattern|mask)\b|(?<!page)(?<!border)opacity\s*[=:]\s*[\"']?\s*[0.]"
)

Task = tuple[str, str | bytes, Path | None]


def samples() -> Iterator[Task]:
    """The project's own."""
    for path in sorted((ROOT / "samples").glob("*/*.svg")):
        yield path.stem, path.read_text(encoding="utf-8"), path.with_suffix(".toml")


def as_they_are(count: int) -> Iterator[Task]:
    """Drawings of the open package; their pages have only a viewBox, so the job gives their size."""
    for path in open_drawings(count):
        yield path.stem, path.read_bytes(), None


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
        # Icons that only carry an editor's gradients aren't tests of paint.
        if PAINTED.search(data) and not LEFT_OUT.search(data) and "adwaita" not in path.parts:
            yield str(path.relative_to(folder)), in_layers(_without_text(data)), None


def _without_text(data: bytes) -> bytes:
    """A file without its letters, which are marks and no paint."""
    try:
        root = etree.fromstring(data, etree.XMLParser(resolve_entities=False, no_network=True))
    except etree.XMLSyntaxError:
        return data
    for text in list(root.iter(SVG + "text")):
        text.getparent().remove(text)
    return etree.tostring(root)


def compare_all(kind: str, tasks: Iterable[Task], settings: list[str], log: Path | None) -> list[float]:
    """The share of wrong pixels of every drawing that can be read; prints the others, and those that are wrong."""
    known = _logged(log)
    shares = []
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "drawing.svg"
        for name, text, job in tasks:
            share = known.get((kind, name), NOT_ASKED)
            if share == NOT_ASKED:
                path.write_bytes(text if isinstance(text, bytes) else text.encode())
                share = _share(path, job, settings)
                if log is not None:
                    with log.open("a", encoding="utf-8") as stream:
                        stream.write(json.dumps([kind, name, share]) + "\n")
            if share is None or share > MOST:
                print(f"  {kind} {name}: {'not read' if share is None else f'{100 * share:.2f} %'}", flush=True)
            if share is not None:
                shares.append(share)
    return shares


def _share(path: Path, job: Path | None, settings: list[str]) -> float | None:
    try:
        return stack_colours(path, job, settings, PX_PER_MM).share
    except LayercutError:
        return None
    except Exception as error:
        print(f"  fault: {error!r}", flush=True)
        return 1.0


def _logged(log: Path | None) -> dict[tuple[str, str], float | None]:
    if log is None or not log.is_file():
        return {}
    lines = map(json.loads, log.read_text(encoding="utf-8").splitlines())
    return {(kind, name): share for kind, name, share in lines}


def main() -> None:
    """Run what is asked for, print and write the figures."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--samples", action="store_true")
    parser.add_argument("--open", type=int, default=0, help="drawings of the open package, a fixed random choice")
    parser.add_argument("--dealt", type=int, default=0, help="the same, dealt into layers")
    parser.add_argument("--random", type=int, default=0, help="random drawings")
    parser.add_argument("--files", type=Path, help="a folder of a renderer's test files")
    parser.add_argument("--log", type=Path, help="file that keeps each outcome, for a run in several goes")
    parser.add_argument("--write", action="store_true", help="put the figures into docs/drawing-support.md")
    asked = parser.parse_args()
    kinds: dict[str, tuple[Iterable[Task], list[str]]] = {
        "the samples": (samples() if asked.samples else (), []),
        "open drawings, as they are": (as_they_are(asked.open), [f"panel.width={PAGE_MM}mm"]),
        "open drawings, dealt into layers": (dealt(asked.dealt), []),
        "random paint": (by_chance(asked.random), []),
        "a renderer's test files": (of_folder(asked.files) if asked.files else (), [f"panel.width={PAGE_MM}mm"]),
    }
    rows: dict[str, tuple[int, int, float, float]] = {}
    for kind, (tasks, settings) in kinds.items():
        shares = compare_all(kind, tasks, settings, asked.log)
        if shares:
            right = sum(share <= MOST for share in shares)
            rows[kind] = (len(shares), right, statistics.median(shares), max(shares))
            count, right, median, worst = rows[kind]
            print(f"{kind}: {right} of {count} right; wrong: median {100 * median:.3f} %, worst {100 * worst:.2f} %")
    if asked.write:
        options = [f"--{name} {getattr(asked, name)}" for name in ("open", "dealt", "random") if getattr(asked, name)]
        options += ["--files files"] if asked.files else []
        line = " ".join([*(["--samples"] if asked.samples else []), *options, "--write"])
        support_page.write_colours(rows, f"python tests/bench/painted_stack_run.py {line}")


if __name__ == "__main__":
    main()
