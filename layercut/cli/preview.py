"""The command that draws a picture of the stack: preview.

Enters: arguments. Leaves: files and exit codes. What a command needs is imported when it runs, so that `--help` is
quick.
"""

from pathlib import Path
from typing import Annotated

import typer

from layercut.cli.app import app
from layercut.cli.exits import DONE, NOT_MAKEABLE
from layercut.cli.options import CAUTION, DrawingArgument, ForceOption, IslandsOption, JobOption, SetOption, load_job
from layercut.cli.printing import Progress, print_result, show_findings

_PREVIEW_HELP = f"""Draw a picture of the finished stack.

\b
Example: layercut preview house.svg -o house.png --exploded

{CAUTION}"""


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
    ] = 1400,
    force: ForceOption = False,
    job: JobOption = None,
    islands: IslandsOption = None,
    settings: SetOption = None,
) -> int:
    progress = Progress()
    from layercut import check_picture, compile_drawing, write_picture

    check_picture(out, drawing, force=force)  # before the work, not after it
    build = compile_drawing(drawing, load_job(drawing, job, islands, settings), progress)
    progress("drawing the picture")
    write_picture(build, out, width_px=width, exploded=exploded, force=force)
    show_findings(build, rest="layercut check --json lists them all")
    print_result(str(out))
    return DONE if build.makeable else NOT_MAKEABLE
