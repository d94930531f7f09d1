"""The command that only says what is wrong: check.

Enters: arguments. Leaves: files and exit codes. What a command needs is imported when it runs, so that `--help` is
quick.
"""

from layercut.cli.app import app
from layercut.cli.exits import DONE, NOT_MAKEABLE
from layercut.cli.options import CAUTION, DrawingArgument, IslandsOption, JobOption, JsonOption, SetOption, load_job
from layercut.cli.printing import Progress, outcome_line, print_result, show_findings, write_result

_CHECK_HELP = f"""Say whether a drawing can be made, and what is wrong or doubtful. Nothing is written.

\b
Example: layercut check house.svg

{CAUTION}"""


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
    from layercut import compile_drawing, manifest_text

    build = compile_drawing(drawing, load_job(drawing, job, islands, settings), progress)
    show_findings(build, rest="--json lists them all")
    if as_json:
        write_result(manifest_text(build).encode())
    else:
        print_result(outcome_line(build))
    return DONE if build.makeable else NOT_MAKEABLE
