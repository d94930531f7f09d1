"""The command that follows a drawing while it is drawn: watch.

Enters: arguments. Leaves: a page on this machine, its address on standard output, and exit code 0 once it is ended
with Ctrl-C, which is how a watch ends.
"""

import threading
from typing import Annotated

import typer

from layercut.cli.app import app
from layercut.cli.exits import DONE
from layercut.cli.options import CAUTION, DrawingArgument, IslandsOption, JobOption, SetOption
from layercut.cli.printing import print_result, say
from layercut.errors import DrawingError

_WATCH_HELP = f"""Open a page that shows the stack, what was found and the sheets, and that follows every save.

The page is for this machine alone. What you choose on it is written to the job file; nothing else is written.
Ctrl-C ends it.

\b
Example: layercut watch house.svg

{CAUTION}"""


@app.command("watch", help=_WATCH_HELP, short_help="Open a page that follows every save of a drawing.")
def _watch(
    drawing: DrawingArgument,
    *,
    job: JobOption = None,
    islands: IslandsOption = None,
    settings: SetOption = None,
    port: Annotated[
        int, typer.Option("--port", metavar="N", min=0, max=65535, help="Port of the page; 0 is any free one.")
    ] = 0,
    no_open: Annotated[bool, typer.Option("--no-open", help="Only print the address; open no browser.")] = False,
) -> int:
    from layercut.job import load_job
    from layercut.watching.follow import watched_files
    from layercut.watching.run import watch

    if not drawing.is_file():
        # A drawing that is broken gets a page that says so; a name that leads nowhere is rather a slip of the hand.
        raise DrawingError("not-found", "there is no such drawing.", file=str(drawing))
    policy = [f"islands.policy={islands.value}"] if islands is not None else []
    chosen = [*(settings or ()), *policy]
    load_job(None, chosen)  # a wrong setting stays wrong however often the drawing is saved
    watch(watched_files(drawing, job, chosen), port, lambda address: _announce(address, open_it=not no_open))
    return DONE


def _announce(address: str, *, open_it: bool) -> None:
    import webbrowser

    print_result(address)
    say("Follows every save. Ctrl-C ends it.")
    if open_it:
        threading.Thread(target=webbrowser.open, args=(address,), daemon=True).start()  # some browsers block
