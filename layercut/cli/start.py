"""The command that begins a drawing from measurements: start.

Enters: arguments. Leaves: files and exit codes. What a command needs is imported when it runs, so that `--help` is
quick.
"""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from layercut.cli.app import app
from layercut.cli.exits import DONE
from layercut.cli.options import CAUTION, SAFETY, ForceOption, JsonOption, UnitsOption
from layercut.cli.printing import print_result, say
from layercut.errors import LayercutError
from layercut.units import Units

if TYPE_CHECKING:
    from layercut.setup.measures import ScaleBar
    from layercut.setup.start import House, StartPlan

_START_HELP = f"""Begin a drawing from a few real measurements: NAME.svg and NAME.toml.

The sizes may come from a tape (--width 36ft) or from an overhead picture with a scale bar (--scale-bar 20ft=84px
--width 151px). layercut proposes the usual scales that fit the panel, takes the largest, and writes empty layers over
a guide with the ground, each storey, a door and people. What you don't measure is taken from common practice, and
told. With a panel in inches or feet, what is told is in inches, and so is the job file, else in mm; --units says
otherwise. A file that exists is never overwritten.

\b
Example: layercut start house --width 36ft --storeys 2 --panel "12in x 9in"

{SAFETY}

{CAUTION}"""


@app.command("start", help=_START_HELP, short_help="Begin a drawing from a few real measurements.")
def _start(
    name: Annotated[
        Path, typer.Argument(metavar="NAME", show_default=False, help="NAME.svg and NAME.toml are written.")
    ],
    *,
    width: Annotated[str, typer.Option("--width", metavar="LENGTH", help="Real width, such as 36ft, or 151px.")],
    panel: Annotated[
        str | None, typer.Option("--panel", metavar="SIZE", help='The panel, such as "12in x 9in".')
    ] = None,
    panel_width: Annotated[str | None, typer.Option("--panel-width", metavar="LENGTH", help="Or its width,")] = None,
    panel_height: Annotated[
        str | None, typer.Option("--panel-height", metavar="LENGTH", help="and its height.")
    ] = None,
    frame: Annotated[
        str | None,
        typer.Option("--frame", metavar="LENGTH", help="Width of the frame. Without it, a quarter of an inch."),
    ] = None,
    margin: Annotated[
        str, typer.Option("--margin", metavar="LENGTH", help="What stays free between the frame and the house.")
    ] = "0",
    scale_bar: Annotated[
        str | None,
        typer.Option(
            "--scale-bar",
            metavar="LENGTH=PX",
            help="A scale bar in a picture, such as 20ft=84px; sizes may be px then.",
        ),
    ] = None,
    pixel_error: Annotated[
        float, typer.Option("--pixel-error", metavar="PX", help="How far a reading in pixels may be off.")
    ] = 1.0,
    storeys: Annotated[int | None, typer.Option("--storeys", metavar="N", help="How many. Without it, 2.")] = None,
    storey_height: Annotated[
        str | None,
        typer.Option("--storey-height", metavar="LENGTH", help="Floor to floor. Without it, 9ft, which is common."),
    ] = None,
    foundation: Annotated[
        str | None,
        typer.Option("--foundation", metavar="LENGTH", help="Ground to first floor. Without it, 18in: three steps."),
    ] = None,
    roof: Annotated[
        str | None,
        typer.Option("--roof", metavar="LENGTH", help="Eaves to ridge. Without it, a quarter of the width."),
    ] = None,
    scale: Annotated[
        str | None,
        typer.Option("--scale", metavar="1:N", help="A scale of your own, instead of the largest usual one."),
    ] = None,
    layers: Annotated[
        str | None,
        typer.Option("--layers", metavar="A,B,C", help="From back to front. Without it, sky,house,front,foreground."),
    ] = None,
    units: UnitsOption = None,
    force: ForceOption = False,
    as_json: JsonOption = False,
) -> int:
    from layercut import plan_start, write_start
    from layercut.cli.documents import StartDocument, print_document
    from layercut.setup.measures import parse_real, parse_scale_bar, units_of
    from layercut.setup.scale import parse_scale
    from layercut.setup.start import LAYERS
    from layercut.setup.start_report import plan_document

    stem = _stem_of(name)
    bar = parse_scale_bar(scale_bar, pixel_error) if scale_bar is not None else None
    plan = plan_start(
        stem,
        _house(width, storeys, (storey_height, foundation, roof), bar),
        _panel_size(panel, panel_width, panel_height),
        frame_mm=parse_real(frame, "--frame") if frame is not None else None,
        margin_mm=parse_real(margin, "--margin", zero=True),
        scale=parse_scale(scale) if scale is not None else None,
        layers=LAYERS if layers is None else layers.split(","),
        units=Units(units) if units is not None else units_of(panel, panel_width, panel_height),
    )
    files = write_start(plan, name.parent, stem, force=force)
    _tell_start(plan)
    if as_json:
        print_document(StartDocument, {"drawing": str(files.drawing), "job": str(files.job), **plan_document(plan)})
    else:
        print_result(str(files.drawing))
    return DONE


def _stem_of(name: Path) -> str:
    """NAME without its folder and its ending, as it may already end in .svg."""
    stem = name.name
    for ending in (".svg", ".toml"):
        stem = stem.removesuffix(ending)
    if not stem or stem.startswith("."):
        raise LayercutError("usage", f"'{name}' is no name for a drawing.")
    return stem


def _house(
    width: str, storeys: int | None, heights: tuple[str | None, str | None, str | None], bar: "ScaleBar | None"
) -> "House":
    from layercut.setup.measures import measure
    from layercut.setup.start import describe_house

    names = ("--storey-height", "--foundation", "--roof")
    storey, foundation, roof = (
        measure(text, option, bar, zero=option != "--storey-height") if text is not None else None
        for option, text in zip(names, heights, strict=True)
    )
    return describe_house(measure(width, "--width", bar), storeys, storey, foundation, roof)


def _panel_size(panel: str | None, width: str | None, height: str | None) -> tuple[float, float]:
    from layercut.setup.measures import parse_pair, parse_real

    if panel is not None and width is None and height is None:
        return parse_pair(panel, "--panel")
    if panel is None and width is not None and height is not None:
        return parse_real(width, "--panel-width"), parse_real(height, "--panel-height")
    raise LayercutError(
        "usage", 'the panel\'s size is needed, once: --panel "12in x 9in", or --panel-width and --panel-height.'
    )


def _tell_start(plan: "StartPlan") -> None:
    from layercut.setup.start_report import plan_lines

    for line in plan_lines(plan):
        say(line)
    say(" ".join(SAFETY.split()))
