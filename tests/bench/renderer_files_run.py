"""The test files of renderers, or any folder of SVG files, through the reader and the whole compile.

    python tests/bench/renderer_files_run.py FOLDER [--write]

Debian's package librsvg2-tests (2.54.7) carries those of a general-purpose renderer, the SVG 1.1 suite of the W3C
among them; `apt-get download` and `dpkg-deb -x` lay them into a folder. They test what pictures on the web can do,
and few have layers; so what is drawn outside every layer is put into one first. Each file has its own process.
Counted: what was read and how it compares with the package's own picture of it (NAME-ref.png), if there is one;
what was refused and by which code, what the compile made of it, and faults of layercut's own (must be 0). A file is
silently wrong if the pictures differ away from edges and no finding says why; letters are marks, in the fonts that
this machine has, so files with text aren't compared. Prints each fault, each run over the limits, and each file
that is silently wrong. `--write` puts the counts into the page docs/drawing-support.md.
"""

import argparse
import multiprocessing
import re
import resource
import signal
import sys
import tempfile
import time
from collections import Counter
from dataclasses import dataclass, replace
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "support"))

import numpy as np
import support_page
from lxml import etree
from open_drawings import PAGE_MM
from PIL import Image
from renderer import compare

from layercut import LayercutError, compile_drawing, load_job
from layercut.drawing import read_drawing

SVG = "{http://www.w3.org/2000/svg}"
SECONDS, MEGABYTES, HUNG_S = 10.0, 1000.0, 120
HARMLESS = {"layer-empty"}
"""Findings that tell of nothing left out."""

MM_PER_PX = 25.4 / 96


@dataclass(frozen=True)
class Outcome:
    """What came of one file: as read and as compiled; `seconds` are of the processor, for the compile."""

    name: str
    read: str
    made: str
    seconds: float
    megabytes: float
    message: str = ""


def in_layers(data: bytes) -> bytes:
    """The file with all that is drawn outside a layer put into one; what is no SVG stays as it is."""
    try:
        root = etree.fromstring(data, etree.XMLParser(resolve_entities=False, no_network=True))
    except etree.XMLSyntaxError:
        return data
    if root.tag != SVG + "svg":
        return data
    drawn = [child for child in root if isinstance(child.tag, str) and child.tag not in (SVG + "defs", SVG + "style")]
    if not drawn:
        return data
    layer = etree.SubElement(root, SVG + "g", id="layer")
    layer.extend(drawn)
    return etree.tostring(root)


def try_file(task: tuple[str, Path]) -> Outcome:
    """Read one file, compare, compile."""
    signal.signal(signal.SIGALRM, _give_up)
    signal.alarm(HUNG_S)
    name, source = task
    with tempfile.TemporaryDirectory() as folder:
        data = in_layers(source.read_bytes())
        path = Path(folder) / "file.svg"
        path.write_bytes(data)
        read, told = _read(path, data, source.with_name(f"{source.stem}-ref.png"))
        begun = time.process_time()
        made, message = _compile(path)
        took = time.process_time() - begun
    return Outcome(name, read, made, took, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024, told or message)


def _give_up(_signal: int, _frame: object) -> None:
    raise TimeoutError(f"not done in {HUNG_S} s")


def _read(path: Path, data: bytes, reference: Path) -> tuple[str, str]:
    job = load_job(None, ["marks.line_below=0mm"])
    try:
        drawing = read_drawing(path, job)
    except LayercutError as error:
        return _refusal(error), error.sentence()
    except Exception as error:
        return "fault", repr(error)
    if re.search(rb"<(\w+:)?text\b", data):
        return "read; text is marked", ""
    if not reference.is_file():
        return "read; there is no picture of it", ""
    picture = np.asarray(Image.open(reference).convert("RGBA"))
    # Pictures have whole pixels, pages needn't.
    rows, columns = picture.shape[:2]
    whole = replace(drawing, width_mm=columns * MM_PER_PX, height_mm=rows * MM_PER_PX)
    said = sorted({finding.code for finding in drawing.findings} - HARMLESS)
    if compare(whole, picture) == (0, 0):
        return "read, and shows the picture", ""
    return ("read, differs, and said why" if said else "read, differs silently"), ", ".join(said)


def _compile(path: Path) -> tuple[str, str]:
    try:
        build = compile_drawing(path, load_job(None, ["islands.policy=loose", f"panel.width={PAGE_MM}mm"]))
    except LayercutError as error:
        return _refusal(error), error.sentence()
    except Exception as error:
        return "fault", repr(error)
    codes = sorted({finding.code for finding in build.findings if finding.severity == "error"})
    return ("made" if build.makeable else f"refused: {', '.join(codes)}"), ""


def _refusal(error: LayercutError) -> str:
    return f"fault: {error.code}" if error.exit_code == 70 else f"refused: {error.code}"


def main() -> None:
    """Run, print and write the counts; ends with 1 if there was a fault, or a limit was broken."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--write", action="store_true", help="put the counts into docs/drawing-support.md")
    asked = parser.parse_args()
    files = sorted(asked.folder.rglob("*.svg"))
    tasks = [(str(file.relative_to(asked.folder)), file) for file in files]
    outcomes = []
    with multiprocessing.get_context("fork").Pool(2, maxtasksperchild=1) as pool:
        for one in pool.imap_unordered(try_file, tasks):
            outcomes.append(one)
            over = one.seconds > SECONDS or one.megabytes > MEGABYTES
            if over or "fault" in one.read + one.made or one.read.endswith("silently"):
                figures = f"{one.seconds:.1f} s, {one.megabytes:.0f} MB"
                print(f"  {one.name}: {one.read}; {one.made}; {figures} {one.message}", flush=True)
    limits = {
        "over 10 s": sum(one.seconds > SECONDS for one in outcomes),
        "over 1 GB": sum(one.megabytes > MEGABYTES for one in outcomes),
    }
    counts = {
        "reader": dict(Counter(one.read for one in outcomes).most_common()),
        "compile": {**dict(Counter(one.made for one in outcomes).most_common()), **limits},
    }
    for stage, numbers in counts.items():
        print(f"{stage}: {', '.join(f'{name} {number}' for name, number in numbers.items())}")
    if asked.write:
        support_page.write_file_counts(len(outcomes), counts)
    faults = sum("fault" in one.read + one.made for one in outcomes)
    sys.exit(1 if faults or any(limits.values()) else 0)


if __name__ == "__main__":
    main()
