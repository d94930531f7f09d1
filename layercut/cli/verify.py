"""The command that reads a compiled folder back: verify.

Enters: arguments. Leaves: files and exit codes. What a command needs is imported when it runs, so that `--help` is
quick.
"""

from pathlib import Path
from typing import Annotated

import typer

from layercut.cli.app import app
from layercut.cli.exits import DONE, NOT_MAKEABLE
from layercut.cli.options import CAUTION, JsonOption
from layercut.cli.printing import print_result, show_problems, utf8, verdict_line, write_result

_VERIFY_HELP = f"""Read a compiled folder's sheets back, cut them in thought, and say whether they make the drawing.

\b
Example: layercut verify house-sheets

{CAUTION}"""


@app.command("verify", help=_VERIFY_HELP, short_help="Say whether a compiled folder's sheets make the drawing.")
def _verify(
    folder: Annotated[
        Path,
        typer.Argument(
            metavar="FOLDER", show_default=False, help="A folder that 'compile' wrote, or a file of 'bundle'."
        ),
    ],
    *,
    as_json: JsonOption = False,
) -> int:
    from layercut import verdict_text, verify_folder

    verdict = verify_folder(folder)
    show_problems(verdict)
    if as_json:
        write_result(utf8(verdict_text(verdict, folder.name)))
    else:
        print_result(verdict_line(verdict))
    return DONE if verdict.holds else NOT_MAKEABLE
