"""The command that packs a compiled folder into one file: bundle.

Enters: arguments. Leaves: files and exit codes. What a command needs is imported when it runs, so that `--help` is
quick.
"""

from pathlib import Path
from typing import Annotated

import typer

from layercut.cli.app import app
from layercut.cli.exits import DONE, NOT_MAKEABLE
from layercut.cli.options import CAUTION, ForceOption
from layercut.cli.printing import print_result, say, show_problems, verdict_line

_BUNDLE_HELP = f"""Pack a compiled folder with its drawing and job file into one file, to keep or to hand over.

The folder is verified first. 'layercut verify' reads the bundle too, on any machine.

\b
Example: layercut bundle house-sheets -o house.zip

{CAUTION}"""


@app.command("bundle", help=_BUNDLE_HELP, short_help="Pack a compiled folder with its drawing into one file.")
def _bundle(
    folder: Annotated[
        Path, typer.Argument(metavar="FOLDER", show_default=False, help="A folder that 'compile' wrote.")
    ],
    *,
    out: Annotated[
        Path, typer.Option("-o", "--out", metavar="BUNDLE", help="The file to write; its name ends in .zip.")
    ],
    drawing: Annotated[
        Path | None,
        typer.Option("--drawing", metavar="FILE", help="The drawing. Without it, the one beside FOLDER."),
    ] = None,
    job: Annotated[
        Path | None,
        typer.Option(
            "--job", metavar="FILE", help="The job file. Without it, the drawing's name with .toml, if there is one."
        ),
    ] = None,
    force: ForceOption = False,
) -> int:
    from layercut import check_bundle, verify_folder, write_bundle

    check_bundle(out, force=force)  # before the work, not after it
    verdict = verify_folder(folder)
    if not verdict.holds:
        show_problems(verdict)
        say(f"not packed, for the folder {verdict_line(verdict)}")
        return NOT_MAKEABLE
    write_bundle(folder, out, drawing=drawing, job=job, force=force)
    print_result(str(out))
    return DONE
