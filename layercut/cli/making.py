"""The commands that make sheets of a drawing, show them and prove them: compile, check, preview, verify.

Enters: arguments. Leaves: files and exit codes. What a command needs is imported when it runs, so that `--help` is
quick.
"""

from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from layercut.cli.app import app
from layercut.cli.exits import DONE, NOT_MAKEABLE
from layercut.cli.options import (
    CAUTION,
    DrawingArgument,
    ForceOption,
    IslandsOption,
    JobOption,
    JsonOption,
    SetOption,
    load_job,
)
from layercut.cli.printing import (
    Progress,
    outcome_line,
    print_result,
    say,
    show_findings,
    show_problems,
    utf8,
    verdict_line,
    write_result,
)
from layercut.errors import OutputError

if TYPE_CHECKING:
    from layercut.job import Job
    from layercut.model import Build

PICTURE_WIDTH_PX = 1400
"""Width of stack.png: sharp on a screen and on a page."""

_COMPILE_HELP = f"""Write the sheets of a drawing, with a picture of the stack and the page that goes to the machine.

If the drawing can't be made as drawn, no sheet is written; the picture and the page show where and why.

\b
Example: layercut compile house.svg --set material.kerf=0.18mm

{CAUTION}"""

_CHECK_HELP = f"""Say whether a drawing can be made, and what is wrong or doubtful. Nothing is written.

\b
Example: layercut check house.svg

{CAUTION}"""

_PREVIEW_HELP = f"""Draw a picture of the finished stack.

\b
Example: layercut preview house.svg -o house.png --exploded

{CAUTION}"""

_VERIFY_HELP = f"""Read a compiled folder's sheets back, cut them in thought, and say whether they make the drawing.

\b
Example: layercut verify house-sheets

{CAUTION}"""


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
    keep_old: Annotated[
        bool,
        typer.Option("--keep-old", help="Set a folder that is there aside, with a number, instead of replacing it."),
    ] = False,
    timings: Annotated[bool, typer.Option("--timings", help="Tell how long each stage took.")] = False,
    as_json: JsonOption = False,
) -> int:
    progress = Progress()
    from layercut.views.folder import check_folder, write_folder

    folder = drawing.parent / f"{drawing.stem}-sheets" if out is None else out
    loaded = load_job(drawing, job, islands, settings)
    check_folder(folder, inputs=[drawing], keep_old=keep_old)  # before the work, not after it
    build = build_drawing(drawing, loaded, progress)
    progress("drawing the picture")
    files = folder_files(build)
    progress("writing the folder")
    aside = write_folder(folder, files, keep_old=keep_old)
    if timings:
        progress.show_timings()
    if aside is not None:
        say(f"what was in {folder} is in {folder.parent / aside.name}")
    show_findings(build, rest=f"see {folder / 'traveller.html'}")
    say(outcome_line(build))
    if as_json:
        write_result(files["manifest.json"])
    else:
        print_result(str(folder))
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
    progress = Progress()
    from layercut.views.manifest import manifest_text

    build = build_drawing(drawing, load_job(drawing, job, islands, settings), progress)
    show_findings(build, rest="--json lists them all")
    if as_json:
        write_result(manifest_text(build).encode())
    else:
        print_result(outcome_line(build))
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
    force: ForceOption = False,
    job: JobOption = None,
    islands: IslandsOption = None,
    settings: SetOption = None,
) -> int:
    progress = Progress()
    from layercut.views.files import check_file, write_file
    from layercut.views.seal import seal_png, seal_svg

    _check_picture(out, drawing)
    check_file(out, force=force)  # before the work, not after it
    build = build_drawing(drawing, load_job(drawing, job, islands, settings), progress)
    progress("drawing the picture")
    from layercut.views.composite import compose_svg
    from layercut.views.composite_png import compose_png

    as_svg = out.suffix.lower() == ".svg"
    if as_svg:
        picture = seal_svg(utf8(compose_svg(build, exploded=exploded)))
    else:
        picture = seal_png(compose_png(build, width, exploded=exploded))
    check_file(out, force=force)
    write_file(out, picture)
    show_findings(build, rest="layercut check --json lists them all")
    print_result(str(out))
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
    show_problems(verdict)
    if as_json:
        write_result(utf8(verdict_text(verdict, folder.name)))
    else:
        print_result(verdict_line(verdict))
    return DONE if verdict.holds else NOT_MAKEABLE


def build_drawing(drawing: Path, job: "Job", progress: Progress) -> "Build":
    """Compile a drawing; the compiler is imported here, when it is needed."""
    from layercut.pipeline import compile_drawing

    return compile_drawing(drawing, job, progress)


def folder_files(build: "Build") -> dict[str, bytes]:
    """All files of a compiled folder: relative name to content."""
    from layercut.geometry.processes import both_apart
    from layercut.views.manifest import manifest_text

    pictures, texts = both_apart(lambda: _pictures(build), lambda: _texts(build))
    files = {**texts, **pictures}
    # Last, because it names all the others with their hashes.
    return {**files, "manifest.json": utf8(manifest_text(build, files))}


def _texts(build: "Build") -> dict[str, bytes]:
    from layercut.pipeline import sheet_files
    from layercut.views.composite import compose_svg
    from layercut.views.paint_map import paint_files
    from layercut.views.traveller import traveller_html

    picture = compose_svg(build)
    maps = paint_files(build)  # side by side; what they find out, the page needs as well
    texts = {
        "stack.svg": picture,
        "traveller.html": traveller_html(build, picture),
        **sheet_files(build),
        **maps,
    }
    return {name: utf8(text) for name, text in texts.items()}


def _pictures(build: "Build") -> dict[str, bytes]:
    from layercut.views.composite_png import compose_png

    return {"stack.png": compose_png(build, PICTURE_WIDTH_PX)}


def _check_picture(out: Path, drawing: Path) -> None:
    if out.suffix.lower() not in {".png", ".svg"}:
        raise OutputError("picture-kind", "is not a kind of picture.", "End its name in .png or .svg.", file=str(out))
    with suppress(OSError):  # one of them missing is no clash
        if out.samefile(drawing):
            raise OutputError("picture-over-drawing", "is the drawing itself.", "Choose another name.", file=str(out))
