"""The commands. The only module that prints or exits.

Enters: the command line. Leaves: results on standard output, all that is for people's eyes on standard error, and
an exit code (DESIGN, section 5). What a command needs is imported when it runs, so that `--help` is quick.
"""

import importlib.metadata
import json
import os
import sys
import time
import unicodedata
import warnings
from collections import Counter
from collections.abc import Sequence
from contextlib import suppress
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer
import typer.main

from layercut.errors import InternalError, LayercutError, OutputError

if TYPE_CHECKING:
    from layercut.findings import Finding, Severity
    from layercut.job import Job
    from layercut.model import Build
    from layercut.proof.verify import Verdict

DONE, NOT_MAKEABLE, INTERRUPTED, PIPE_CLOSED = 0, 1, 130, 141
"""Exit codes beside those that errors carry; the last two are what a shell reports for the signals."""

QUIET_S = 1.0
"""A run tells of its stages only after this many seconds: a quick one has nothing to tell."""

SHOWN_PER_CODE = 12
"""So many findings of one code and severity are listed on the terminal; the rest are counted."""

PICTURE_WIDTH_PX = 1400
"""Width of stack.png: sharp on a screen and on a page."""

ERROR_FORMAT = 1
"""Version of the JSON document that tells of an error, which has one key, `error`, beside it."""

_COLOURS: "dict[Severity, str]" = {"error": "31;1", "warning": "33", "info": "36"}
_NOUNS = {"island": ("island", "islands"), "neck": ("neck", "necks")}

_CAUTION = """layercut writes lines; it never sets a beam's power or starts a machine. Never leave a running laser
alone, and know how to put out a fire."""

_HELP = f"""From one layered drawing (SVG) to the sheets of a layered wooden picture.

Every top-level group of the drawing is one sheet of wood, from back to front. layercut opens each sheet where
something deeper must show, checks that it holds together, and writes it ready to cut.

\b
Example: layercut check house.svg

{_CAUTION}"""

_COMPILE_HELP = f"""Write the sheets of a drawing, with a picture of the stack and the page that goes to the machine.

If the drawing can't be made as drawn, no sheet is written; the picture and the page show where and why.

\b
Example: layercut compile house.svg --set material.kerf=0.18mm

{_CAUTION}"""

_CHECK_HELP = f"""Say whether a drawing can be made, and what is wrong or doubtful. Nothing is written.

\b
Example: layercut check house.svg

{_CAUTION}"""

_PREVIEW_HELP = f"""Draw a picture of the finished stack.

\b
Example: layercut preview house.svg -o house.png --exploded

{_CAUTION}"""

_VERIFY_HELP = f"""Read a compiled folder's sheets back, cut them in thought, and say whether they make the drawing.

\b
Example: layercut verify house-sheets

{_CAUTION}"""

app = typer.Typer(
    name="layercut",
    help=_HELP,
    rich_markup_mode=None,  # the rich help takes twice as long to start
    pretty_exceptions_enable=False,
)


class Islands(StrEnum):
    """What to do with wood that isn't joined to its frame, as `--islands` spells it."""

    REFUSE = "refuse"
    TIE = "tie"
    LOOSE = "loose"


_UsageError: Any = typer.BadParameter.__base__
"""What typer raises for a wrong command line. Newer versions carry click inside them, where it has no public name."""


class _PipeClosedError(Exception):
    """Whoever read standard output has gone."""


DrawingArgument = Annotated[
    Path, typer.Argument(metavar="DRAWING", show_default=False, help="The drawing, an SVG file.")
]
JobOption = Annotated[
    Path | None,
    typer.Option(
        "--job", metavar="FILE", help="The job file. Without it, DRAWING's name with .toml, if there is one."
    ),
]
IslandsOption = Annotated[
    Islands | None,
    typer.Option("--islands", help="What to do with wood that would fall out; short for --set islands.policy=..."),
]
SetOption = Annotated[
    list[str] | None,
    typer.Option(
        "--set", metavar="KEY=VALUE", help="A setting that wins over the job file, such as limits.neck=2mm."
    ),
]
JsonOption = Annotated[bool, typer.Option("--json", help="Print one JSON document instead of a line.")]


def main(arguments: Sequence[str] | None = None) -> int:
    """Run a command line (without the program's name; by default the process's own) and return its exit code."""
    words = list(sys.argv[1:] if arguments is None else arguments)
    try:
        return _run(words)
    except _PipeClosedError:
        return PIPE_CLOSED
    except KeyboardInterrupt:
        return INTERRUPTED


def _show_version(asked: bool) -> None:
    if asked:
        _print_result(f"layercut {_version()}")
        raise typer.Exit(DONE)


@app.callback()
def _layercut(
    version: Annotated[
        bool, typer.Option("--version", is_eager=True, callback=_show_version, help="Print the version and leave.")
    ] = False,
) -> None:
    pass


@app.command("compile", help=_COMPILE_HELP, short_help="Write the sheets of a drawing.")
def _compile(
    drawing: DrawingArgument,
    *,
    job: JobOption = None,
    out: Annotated[
        Path | None,
        typer.Option("--out", metavar="FOLDER", help="Where to write. Without it, DRAWING's name with -sheets."),
    ] = None,
    islands: IslandsOption = None,
    settings: SetOption = None,
    as_json: JsonOption = False,
) -> int:
    progress = _Progress()
    from layercut.views.folder import check_folder, write_folder
    from layercut.views.manifest import manifest_text

    folder = drawing.parent / f"{drawing.stem}-sheets" if out is None else out
    loaded = _load_job(drawing, job, islands, settings)
    check_folder(folder, inputs=[drawing])  # before the work, not after it
    build = _build(drawing, loaded, progress)
    progress("drawing the picture")
    files = _folder_files(build)
    progress("writing the folder")
    write_folder(folder, files)
    _show_findings(build, rest=f"see {folder / 'traveller.html'}")
    _say(_verdict(build))
    if as_json:
        _write_result(manifest_text(build).encode())
    else:
        _print_result(str(folder))
    return DONE if build.makeable else NOT_MAKEABLE


@app.command("check", help=_CHECK_HELP, short_help="Say whether a drawing can be made, and what is wrong.")
def _check(
    drawing: DrawingArgument,
    *,
    job: JobOption = None,
    islands: IslandsOption = None,
    settings: SetOption = None,
    as_json: JsonOption = False,
) -> int:
    progress = _Progress()
    from layercut.views.manifest import manifest_text

    build = _build(drawing, _load_job(drawing, job, islands, settings), progress)
    _show_findings(build, rest="--json lists them all")
    if as_json:
        _write_result(manifest_text(build).encode())
    else:
        _print_result(_verdict(build))
    return DONE if build.makeable else NOT_MAKEABLE


@app.command("preview", help=_PREVIEW_HELP)
def _preview(
    drawing: DrawingArgument,
    *,
    out: Annotated[
        Path,
        typer.Option("-o", "--out", metavar="PICTURE", help="The picture to write; its name ends in .png or .svg."),
    ],
    exploded: Annotated[bool, typer.Option("--exploded", help="Show the sheets apart.")] = False,
    width: Annotated[
        int, typer.Option("--width", metavar="PX", min=16, max=20000, help="Width of a .png, in pixels.")
    ] = PICTURE_WIDTH_PX,
    job: JobOption = None,
    islands: IslandsOption = None,
    settings: SetOption = None,
) -> int:
    progress = _Progress()
    from layercut.views.folder import write_file

    _check_picture(out, drawing)
    build = _build(drawing, _load_job(drawing, job, islands, settings), progress)
    progress("drawing the picture")
    from layercut.views.composite import compose_svg, render_png

    svg = compose_svg(build, exploded=exploded)
    write_file(out, _utf8(svg) if out.suffix.lower() == ".svg" else render_png(svg, width_px=width))
    _show_findings(build, rest="layercut check --json lists them all")
    _print_result(str(out))
    return DONE if build.makeable else NOT_MAKEABLE


@app.command("verify", help=_VERIFY_HELP, short_help="Say whether a compiled folder's sheets make the drawing.")
def _verify(
    folder: Annotated[
        Path, typer.Argument(metavar="FOLDER", show_default=False, help="A folder that 'compile' wrote.")
    ],
    *,
    as_json: JsonOption = False,
) -> int:
    from layercut.proof.verify import verdict_text, verify_folder

    verdict = verify_folder(folder)
    _show_problems(verdict)
    if as_json:
        _write_result(_utf8(verdict_text(verdict, folder.name)))
    else:
        _print_result(_verdict_line(verdict))
    return DONE if verdict.holds else NOT_MAKEABLE


def _run(words: list[str]) -> int:
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # a library's warning tells a maker nothing
            # Not app(words): that replaces the interpreter's exception hook.
            code = typer.main.get_command(app).main(args=words, prog_name="layercut", standalone_mode=False)
    except typer.Abort:
        return INTERRUPTED
    except (_PipeClosedError, KeyboardInterrupt, SystemExit):
        raise
    except BaseException as error:  # a library's compiled code may raise outside of Exception
        return _report(error, as_json="--json" in words)
    return code if isinstance(code, int) else DONE


def _load_job(drawing: Path, path: Path | None, islands: Islands | None, settings: list[str] | None) -> "Job":
    """The job: its file, then `--set` in order, then `--islands`."""
    from layercut.job import load_job

    if path is None:
        beside = drawing.parent / f"{drawing.stem}.toml"
        with suppress(OSError):  # a name that can't be looked up is the drawing's own error, told when it is read
            path = beside if beside.exists() else None
    policy = [f"islands.policy={islands.value}"] if islands is not None else []
    return load_job(path, [*(settings or ()), *policy])


def _build(drawing: Path, job: "Job", progress: "_Progress") -> "Build":
    from layercut.pipeline import compile_drawing

    return compile_drawing(drawing, job, progress)


def _folder_files(build: "Build") -> dict[str, bytes]:
    from layercut.pipeline import sheet_files
    from layercut.views.composite import compose_svg, render_png
    from layercut.views.manifest import manifest_text
    from layercut.views.paint_map import paint_files
    from layercut.views.traveller import traveller_html

    picture = compose_svg(build)
    texts = {
        "manifest.json": manifest_text(build),
        "stack.svg": picture,
        "traveller.html": traveller_html(build, picture),
        **sheet_files(build),
        **paint_files(build),
    }
    return {
        **{name: _utf8(text) for name, text in texts.items()},
        "stack.png": render_png(picture, width_px=PICTURE_WIDTH_PX),
    }


def _check_picture(out: Path, drawing: Path) -> None:
    if out.suffix.lower() not in {".png", ".svg"}:
        raise OutputError("picture-kind", "is not a kind of picture.", "End its name in .png or .svg.", file=str(out))
    with suppress(OSError):  # one of them missing is no clash
        if out.samefile(drawing):
            raise OutputError("picture-over-drawing", "is the drawing itself.", "Choose another name.", file=str(out))


class _Progress:
    """Names each stage on standard error, once the run has lasted long enough for somebody to wonder."""

    def __init__(self) -> None:
        self._start_s = time.monotonic()

    def __call__(self, stage: str) -> None:
        if time.monotonic() - self._start_s > QUIET_S:
            _say(f"{stage} ...")


def _show_findings(build: "Build", rest: str) -> None:
    """One line a finding, the worst first; `rest` says where to see those left out."""
    from layercut.views.manifest import ordered_findings

    counts: Counter[tuple[Severity, str]] = Counter()
    for finding in ordered_findings(build):
        kind = (finding.severity, finding.code)
        counts[kind] += 1
        if counts[kind] <= SHOWN_PER_CODE:
            _say(f"{finding.code}{_place(finding)}: {finding.message}", severity=finding.severity)
    for (severity, code), count in counts.items():
        if count > SHOWN_PER_CODE:
            _say(f"{code}: and {count - SHOWN_PER_CODE} more, {rest}", severity=severity)


def _place(finding: "Finding") -> str:
    """` garden (path 'leaf-3') at 120.4, 33.0 mm`, as far as known."""
    layer = f" {finding.layer}" if finding.layer else ""
    element = f" ({finding.element})" if finding.element else ""
    at = f" at {finding.at_mm[0]:.1f}, {finding.at_mm[1]:.1f} mm" if finding.at_mm else ""
    return f"{layer}{element}{at}"


def _show_problems(verdict: "Verdict") -> None:
    """One line a problem; beyond a dozen of one code, only how many more."""
    counts = Counter(problem.code for problem in verdict.problems)
    shown: Counter[str] = Counter()
    for problem in verdict.problems:
        shown[problem.code] += 1
        if shown[problem.code] <= SHOWN_PER_CODE:
            file = f"{problem.file} " if problem.file else "the folder "
            at = f"at {problem.at_mm[0]:.1f}, {problem.at_mm[1]:.1f} mm " if problem.at_mm else ""
            _say(f"{problem.code}: {file}{at}{problem.message}", severity="error")
    for code, count in counts.items():
        if count > SHOWN_PER_CODE:
            _say(f"{code}: and {count - SHOWN_PER_CODE} more, --json lists them all", severity="error")


def _verdict_line(verdict: "Verdict") -> str:
    if not verdict.holds:
        counts = Counter(problem.code for problem in verdict.problems)
        return "doesn't hold: " + ", ".join(f"{count} {code}" for code, count in sorted(counts.items()))
    sheets, framed = len(verdict.sheets), sum(sheet.pieces_on_frame for sheet in verdict.sheets)
    loose = sum(len(sheet.loose) for sheet in verdict.sheets)
    nouns = ("sheet" if sheets == 1 else "sheets", "piece on its frame" if framed == 1 else "pieces on their frames")
    return f"holds: {sheets} {nouns[0]}, {framed} {nouns[1]}, {loose} loose"


def _verdict(build: "Build") -> str:
    if build.makeable:
        count = sum(sheet.copies for sheet in build.sheets)
        panel = build.stack.panel
        size = " x ".join(f"{round(side, 2):.6g}" for side in (panel.width_mm, panel.height_mm))
        return f"can be made: {count} {'sheet' if count == 1 else 'sheets'}, {size} mm"
    counts = Counter(finding.code for finding in build.findings if finding.severity == "error")
    parts = [f"{count} {_NOUNS.get(code, (code, code))[count > 1]}" for code, count in sorted(counts.items())]
    return f"can't be made as drawn: {', '.join(parts)}"


def _report(error: BaseException, *, as_json: bool) -> int:
    """Tell what went wrong in one sentence, and as JSON where that was asked for; returns the exit code."""
    told = _as_layercut_error(error)
    if isinstance(told, InternalError):
        if os.environ.get("LAYERCUT_TRACEBACK"):
            import traceback

            _say("".join(traceback.format_exception(error)).rstrip(), lines=True)
        _say(
            f"layercut: a fault of its own, not of the drawing: {told.sentence()} "
            "With LAYERCUT_TRACEBACK=1 in the environment it shows where."
        )
    else:
        _say(f"layercut: {told.sentence()}")
    if as_json:
        with suppress(OutputError):  # the exit code already tells
            _write_result(_utf8(_error_text(told)))
    return told.exit_code


def _as_layercut_error(error: BaseException) -> LayercutError:
    if isinstance(error, LayercutError):
        return error
    if isinstance(error, _UsageError):
        context = error.ctx
        command = context.command_path if context is not None else "layercut"
        message = " ".join(error.format_message().replace("Value error, ", "").split()).rstrip(".")
        return LayercutError("usage", f"{message}.", f"'{command} --help' tells how to use it.")
    return InternalError("fault", f"{type(error).__name__}: {error}.", "Please report it.")


def _error_text(error: LayercutError) -> str:
    fields = ("code", "message", "hint", "file", "layer", "element")
    document = {"format": ERROR_FORMAT, "error": {field: getattr(error, field) or None for field in fields}}
    return json.dumps(document, indent=2, ensure_ascii=False) + "\n"


def _say(text: str, severity: "Severity | None" = None, *, lines: bool = False) -> None:
    """One line for people's eyes (or several, if `lines`); a terminal that is gone is no reason to fail."""
    text = "\n".join(_plain(line) for line in text.split("\n")) if lines else _plain(text)
    if severity is not None:
        coloured = sys.stderr is not None and sys.stderr.isatty() and not os.environ.get("NO_COLOR")
        text = f"\033[{_COLOURS[severity]}m{severity}\033[0m {text}" if coloured else f"{severity} {text}"
    if sys.stderr is not None:
        with suppress(OSError, ValueError):
            print(text, file=sys.stderr, flush=True)


def _plain(text: str) -> str:
    """Text that stays on its line and can be encoded: control characters, line ends and lone surrogates escaped."""
    return "".join(
        char.encode("unicode_escape").decode() if unicodedata.category(char) in {"Cc", "Cs", "Zl", "Zp"} else char
        for char in text
    )


def _print_result(line: str) -> None:
    """One line on standard output; a path leaves with the very bytes that it has on the disk."""
    _write_result(os.fsencode(line) + b"\n")


def _write_result(data: bytes) -> None:
    if sys.stdout is None:
        return
    try:
        sys.stdout.buffer.write(data)
        sys.stdout.buffer.flush()
    except OSError as error:
        # What is left in the buffer would fail again, loudly, when the interpreter ends.
        with suppress(OSError):
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        if isinstance(error, BrokenPipeError):
            raise _PipeClosedError from None
        raise OutputError(
            "output-unwritable", f"can't be written ({error.strerror}).", file="standard output"
        ) from None


def _utf8(text: str) -> bytes:
    return text.encode("utf-8", "replace")


def _version() -> str:
    try:
        return importlib.metadata.version("layercut")
    except importlib.metadata.PackageNotFoundError:
        return "(not installed)"
