"""The command that makes sheets of a drawing: compile.

Enters: arguments. Leaves: files and exit codes. What a command needs is imported when it runs, so that `--help` is
quick.
"""

from pathlib import Path
from typing import Annotated

import typer

from layercut.cli.app import app
from layercut.cli.exits import DONE, NOT_MAKEABLE
from layercut.cli.options import CAUTION, DrawingArgument, IslandsOption, JobOption, JsonOption, SetOption, load_job
from layercut.cli.printing import Progress, outcome_line, print_result, say, show_findings, write_result

_COMPILE_HELP = f"""Write the sheets of a drawing, with a picture of the stack and the page that goes to the machine.

If the drawing can't be made as drawn, no sheet is written; the picture and the page show where and why.

\b
Example: layercut compile house.svg --set material.kerf=0.18mm

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
    steps: Annotated[
        bool, typer.Option("--steps", help="Show on the page how each sheet looks after base, middle and light.")
    ] = False,
    timings: Annotated[bool, typer.Option("--timings", help="Tell how long each stage took.")] = False,
    as_json: JsonOption = False,
) -> int:
    progress = Progress()
    from layercut import check_folder, compile_drawing, folder_files, write_folder

    folder = drawing.parent / f"{drawing.stem}-sheets" if out is None else out
    loaded = load_job(drawing, job, islands, [*(settings or ()), *(["page.steps=true"] if steps else ())])
    check_folder(folder, inputs=[drawing], keep_old=keep_old)  # before the work, not after it
    build = compile_drawing(drawing, loaded, progress)
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
