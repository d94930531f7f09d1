"""The application that the commands join, and what it says of itself.

Enters: nothing. Leaves: `app`, which each module of commands adds its own to.
"""

import importlib.metadata
from typing import Annotated

import typer

from layercut.cli.exits import DONE
from layercut.cli.options import CAUTION
from layercut.cli.printing import print_result

_HELP = f"""From one layered drawing (SVG) to the sheets of a layered wooden picture.

Every top-level group of the drawing is one sheet of wood, from back to front. layercut opens each sheet where
something deeper must show, checks that it holds together, and writes it ready to cut.

\b
Example: layercut check house.svg

{CAUTION}"""

app = typer.Typer(
    name="layercut",
    help=_HELP,
    rich_markup_mode=None,  # the rich help takes twice as long to start
    pretty_exceptions_enable=False,
)


def _show_version(asked: bool) -> None:
    if asked:
        print_result(f"layercut {_version()}")
        raise typer.Exit(DONE)


@app.callback()
def _layercut(
    version: Annotated[
        bool, typer.Option("--version", is_eager=True, callback=_show_version, help="Print the version and leave.")
    ] = False,
) -> None:
    pass


def _version() -> str:
    try:
        return importlib.metadata.version("layercut")
    except importlib.metadata.PackageNotFoundError:
        return "(not installed)"
