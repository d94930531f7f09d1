"""Writes the pages of docs/ that say what the program itself can say: `python docs/generate.py`.

Enters: the pydantic models of layercut/job.py and layercut/cli/documents.py, the limits that modules declare, and a
run of the reader over tests/support/constructs.py. Leaves: docs/job-file.md, the tables of docs/limits.md and
docs/paint.md, a docs/NAME.schema.json for what a command prints, and the table of docs/drawing-support.md. Tests fail
while one is out of date.
"""

import importlib
import json
import sys
from pathlib import Path
from typing import Any

from layercut.cli.documents import document_schemas
from layercut.colour.oklab import oklab_of, within_srgb
from layercut.drawing import document, layers, render, tiling, walk
from layercut.drawing.css import limits
from layercut.drawing.lettering import text
from layercut.geometry import fill, precision
from layercut.job import Job
from layercut.job_text import JOB_FILE_LIMIT
from layercut.job_values import MM_PER_UNIT
from layercut.planning import own_paints
from layercut.planning.shades import STEP, lstar_of, shades_of
from layercut.setup import photo
from layercut.stack import faces, resolve_islands

DOCS = Path(__file__).parent

_PREFACE = f"""# The job file

<!-- Written by docs/generate.py from layercut/job_tables.py; change it there. -->

Everything about a job that isn't in the drawing: the wood, the frame, what the wood must bear, the machine. It is a
text file in [TOML](https://toml.io). For a drawing `house.svg`, layercut reads `house.toml` beside it, if there is
one, or the file that you name with `--job`. You need none to begin with: every key has a default, and an unknown key
is an error that offers the nearest known one.

- Every length has a unit: `"3mm"`, `"0.25in"`, `"3/8in"`, `"6 1/2in"`. The units are
  {", ".join(f"`{unit}`" for unit in MM_PER_UNIT)}. Only zero may stand without one.
- Speeds are such as `"12mm/s"` or `"600mm/min"`, densities such as `"680kg/m3"`, colours such as `"#56b4e9"`.
- Where the panel is given in inches or feet, all that you read is in inches (fractions of a folding rule where one is
  within 0.1 mm, else decimals), ounces and pounds; `[page]` says otherwise. The sheets and `--json` are in mm.
- `--set TABLE.KEY=VALUE` on the command line wins over the file: `--set material.kerf=0.18mm`. It can be given more
  than once. `--islands refuse` is short for `--set islands.policy=refuse`.

An example, with all that many jobs ever need:

```toml
{{example}}
```
"""

EXAMPLE = """[panel]
width = "11in"
height = "8.5in"
frame = "0.25in"

[material]
name = "3 mm birch plywood"
thickness = "3mm"
kerf = "0.18mm"

[limits]
neck = "2mm"

[paint.roles]
"#ff0000" = "mark-line\""""

_NOTES = {
    "layers": (
        'NAME is the layer\'s name as the messages give it: `[layers.boat]`, or `[layers."small boat"]`. '
        'In the drawing, `data-layercut-face="lines"` on the layer\'s group says the same; the job wins. '
        "Dashed lines, and lines that are named or painted to be something, are what they are and enclose nothing."
    ),
    "marks": (
        "Text is looked for in the job's fonts first, then in the machine's. Single-line letters are those of "
        "[a set of open data](single-line.md); they are burnt along their strokes and have the letters of ASCII only."
    ),
    "islands": (
        "A piece's own choice comes before its layer's, and that before `policy`. Each finding `island` names its "
        "piece and says what to write; the page of `layercut watch` writes it for you. "
        "A piece can be left out too: `out`, under `pieces` only. [auto](auto.md) shows what `auto` chooses."
    ),
    "hanging": (
        "Hang it into something that holds: a stud, solid wall or a proper anchor. The figures that come of these "
        "keys are arithmetic, not a licence: local codes count more. With `spacers` the page says how long the "
        "screws may be; with `screw`, how many spacers they need; with both, a screw that would come through is an "
        "error."
    ),
    "label": (
        "`LABEL.svg` in the folder, to print and to glue on the back. One key is enough; the wood is `material.name`."
    ),
    "machine": "The speeds don't reach the machine: layercut only reckons the time with them.",
    "roles": "The four must differ. Give your machine's program the same four colours once.",
}


def job_file_markdown() -> str:
    """The text of docs/job-file.md: a table of keys, defaults and meanings for each table of the job file."""
    schema = Job.model_json_schema()
    sections = [_PREFACE.replace("{example}", EXAMPLE)]
    for name, reference in schema["properties"].items():
        by_name = reference.get("additionalProperties")
        model = schema["$defs"][(by_name or reference)["$ref"].rpartition("/")[2]]
        sections.append(_table(name, model, "NAME." if by_name else ""))
    return "\n".join(sections)


def _table(name: str, model: dict[str, Any], prefix: str) -> str:
    lines = [f"## `[{name}]`", "", model["description"], ""]
    if name in _NOTES:
        lines += [_NOTES[name], ""]
    lines += ["| key | default | meaning |", "| --- | --- | --- |"]
    for key, field in model["properties"].items():
        lines.append(f"| `{prefix}{key}` | {_default(field)} | {_meaning(field)} |")
    return "\n".join(lines) + "\n"


def _default(field: dict[str, Any]) -> str:
    """The default as a maker would write it, with its unit."""
    value = field.get("default")
    if value is None:
        return "none"
    if isinstance(value, bool) or "unit" not in field:
        return f"`{json.dumps(value)}`"
    return f'`"{value:g}{field["unit"]}"`'


def _meaning(field: dict[str, Any]) -> str:
    meaning = field["description"].replace("|", "\\|")
    choices = field.get("enum")
    return f"{meaning}. One of {', '.join(f'`{choice}`' for choice in choices)}" if choices else meaning


def check_schema() -> dict[str, Any]:
    """The schema of what `check --json` prints: a manifest of no folder, so that it names no files."""
    schema = json.loads((DOCS / "manifest.schema.json").read_text(encoding="utf-8"))
    schema["title"] = "layercut check"
    schema["description"] = "What `layercut check --json` prints: the manifest of a run that writes no folder."
    schema["properties"]["files"]["maxItems"] = 0
    return dict(schema)


_MB = 2**20

LIMITS: tuple[tuple[str, float, str, str, str], ...] = (
    (
        "size of a drawing, unpacked",
        document.MAX_BYTES / _MB,
        "MB",
        "too-large",
        "take photos out; simplify traced paths",
    ),
    (
        "elements in the file, drawn or not",
        document.MAX_TAGS,
        "",
        "too-many-elements",
        "simplify, or split the drawing",
    ),
    ("elements drawn, each use of a symbol counted", walk.MAX_ELEMENTS, "", "too-many-elements", "the same"),
    ("groups within groups", document.MAX_DEPTH, "", "too-deep", "ungroup"),
    ("layers", layers.MAX_LAYERS, "", "too-many-layers", "group what belongs on one sheet"),
    ("rules of style sheets", limits.MAX_RULES, "", "too-detailed", "save as plain SVG"),
    ("points of a layer's flattened curves", render.MAX_POINTS, "", "too-detailed", "simplify its paths"),
    ("dashes of a line", render.MAX_DASHES, "", "unsupported", "draw longer dashes; it is marked solid"),
    ("edges of a shape that crosses itself", fill.MAX_EDGES, "", "too-detailed", "unite it with itself"),
    ("times that a shape crosses itself", fill.MAX_CROSSINGS, "", "too-detailed", "the same"),
    ("letters of text", text.MAX_LETTERS, "", "unsupported", "turn some into paths, or take it out"),
    ("repeats of a pattern's tile", tiling.MAX_REPEATS, "", "unsupported", "use a larger tile"),
    ("pairs of a layer's outlines that meet", faces.MAX_MEETINGS, "", "too-crowded", "unite shapes of one colour"),
    (
        "islands of a layer that may be tied",
        resolve_islands.MAX_ISLANDS,
        "",
        "too-many-islands",
        "cut them loose, or unite them",
    ),
    (
        "distance of a point from the page's corner",
        precision.MAX_COORDINATE_MM / 1000,
        "m",
        "coordinate",
        "delete it",
    ),
    ("longest side of a panel", precision.MAX_PANEL_MM / 1000, "m", "size", "correct the page or panel.width"),
    ("size of a job file", JOB_FILE_LIMIT / 10**6, "MB", "job-unreadable", "name another file"),
    ("size of a photo", photo.MAX_BYTES / _MB, "MB", "photo-unreadable", "make it smaller"),
    ("pixels of a photo", photo.MAX_PIXELS, "", "photo-unreadable", "make it smaller"),
    ("paints of your own", own_paints.LIMIT_PAINTS, "", "own-unreadable", "list those that you have"),
)
"""What it stops, how many, its unit, the code of the message, and what to do."""

_LIMITS_PREFACE = """# Limits

<!-- The table is written by docs/generate.py from the constants of the modules; change it there. -->

No drawing that somebody drew comes near these. They stop files that would fill the memory or take hours: each is
refused in one sentence that names the count or the limit, or is told as a finding, and nothing is written by halves.
The codes are explained in [messages.md](messages.md).

| what | the most | code | what to do |
| --- | --- | --- | --- |
"""


def limits_markdown() -> str:
    """The text of docs/limits.md: its table, then what was measured."""
    rows = [
        f"| {what} | {most:,.10g}{' ' * bool(unit)}{unit} | `{code}` | {way} |"
        for what, most, unit, code, way in LIMITS
    ]
    return _LIMITS_PREFACE + "\n".join(rows) + "\n" + _below(DOCS / "limits.md", "\n## Measured")


def _below(path: Path, heading: str) -> str:
    """What a page says below its table, from a heading on, which is written by hand."""
    _, mark, rest = (path.read_text(encoding="utf-8") if path.exists() else "").partition(heading)
    return mark + rest


TWELVE = {
    "white": "#f7f4ec",
    "cream": "#f2e6c9",
    "yellow": "#f2c53d",
    "orange": "#e07b2a",
    "barn red": "#8c2f24",
    "brown": "#5d402d",
    "near-black": "#1b1b1d",
    "black": "#000000",
    "mid-grey": "#808080",
    "leaf green": "#4f7d3a",
    "deep blue": "#1f3a6b",
    "sky blue": "#8fc1de",
}
"""Colours whose shades docs/paint.md shows."""

_PAINT_PREFACE = f"""# Paint

<!-- The table is written by docs/generate.py from layercut/planning/shades.py; change it there. -->

What the paint table of the traveller is worked out from. A colour on a screen is no paint: try each on a scrap.

## Shades

Each paint comes in three shades: base for shadows, middle as drawn, light for what faces the lamp. Base and light lie
{STEP:g} steps of CIELAB's L* below and above the middle, which looks equally far for every colour; near black and
white it is at most half the way there. Hue and chroma stay as they are in OKLab, as far as sRGB has them. White has
no shades: it is several coats of one paint. In brackets stands L*. "Before" is what layercut did until it reckoned
so: 0.8 of OKLab's lightness, and 0.35 of the way to white, which turned near-black into mid-grey and gave cream a
grey base.

| colour | drawn | base before | base | light before | light |
| --- | --- | --- | --- | --- | --- |
"""


def paint_markdown() -> str:
    """The text of docs/paint.md: its table of shades, then what is written by hand."""
    rows = []
    for name, colour in TWELVE.items():
        shades, former = shades_of(colour), _former_shades(colour)
        told = (colour, former[0], shades.base, former[1], shades.light)
        cells = (f"`{one}` ({lstar_of(one):.1f})" for one in told)
        rows.append(f"| {name} | {' | '.join(cells)} |")
    return _PAINT_PREFACE + "\n".join(rows) + "\n" + _below(DOCS / "paint.md", "\n## Coats")


def _former_shades(colour: str) -> tuple[str, str]:
    """Base and light as they were: 0.8 of OKLab's lightness, and 0.35 of the way to white; white kept to itself."""
    if shades_of(colour).base == shades_of(colour).light:
        return colour, colour
    lightness, a, b = oklab_of(colour)
    return within_srgb((0.8 * lightness, a, b)), within_srgb((lightness + 0.35 * (1 - lightness), a, b))


def schema_files() -> dict[str, str]:
    """The text of docs/NAME.schema.json for every command that prints a document."""
    schemas = {"check": check_schema(), **document_schemas()}
    return {
        f"{name}.schema.json": json.dumps(schema, indent=2, ensure_ascii=False) + "\n"
        for name, schema in schemas.items()
    }


def main() -> None:
    """Write every generated page."""
    for name, schema in schema_files().items():
        (DOCS / name).write_text(schema, encoding="utf-8")
    (DOCS / "job-file.md").write_text(job_file_markdown(), encoding="utf-8")
    (DOCS / "limits.md").write_text(limits_markdown(), encoding="utf-8")
    (DOCS / "paint.md").write_text(paint_markdown(), encoding="utf-8")
    sys.path.insert(0, str(DOCS.parent / "tests" / "support"))
    importlib.import_module("support_page").write_table()


if __name__ == "__main__":
    main()
