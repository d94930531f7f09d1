"""The command that squares up a photo to draw over: rectify.

Enters: arguments. Leaves: files and exit codes. What a command needs is imported when it runs, so that `--help` is
quick.
"""

from contextlib import suppress
from pathlib import Path
from typing import Annotated

import typer

from layercut.cli.app import app
from layercut.cli.exits import DONE
from layercut.cli.options import CAUTION, ForceOption, JobOption, JsonOption, load_job
from layercut.cli.printing import Progress, print_result, say
from layercut.errors import LayercutError, OutputError, told_in

DPI = 150
"""Pixels to the inch of the panel in a squared-up photo: enough to draw over."""

_RECTIFY_HELP = f"""Square up a photo of a wall, at the drawing's scale, to draw over.

Give the wall's four corners in the photo's pixels, in the order top left, top right, bottom right, bottom left, and
its real size; a drawing that 'start' made knows it, from the ground to the eaves. The picture goes into the drawing's
guide layer, on the ground line of such a drawing, or to --out. Pixels count from the top left corner of the photo as
you see it upright. Where the job's panel makes the drawing larger or smaller than it is drawn, scale and places are
those of the panel.

A second photo of the same wall fills in what is hidden in the first: each spot comes from the view that sees it
larger, but never from inside a --hidden box of that photo, unless it is hidden in both. The second is made as bright
as the first. layercut says how far a pixel's slip of each corner moves the picture, and how well two views agree.
Nothing of the photos but their pixels is kept: no place, no time, no camera.

\b
Example: layercut rectify left.jpg --corners "212,340 1650,410 1662,1290 205,1344"
         --size "36ft x 18ft" --drawing house.svg
         layercut rectify left.jpg --corners "..." --above 9ft --drawing house.svg

{CAUTION}"""


@app.command("rectify", help=_RECTIFY_HELP, short_help="Square up a photo of a wall, to draw over.")
def _rectify(
    photo: Annotated[Path, typer.Argument(metavar="PHOTO", show_default=False, help="A photo, JPEG or PNG.")],
    *,
    corners: Annotated[str, typer.Option("--corners", metavar="X,Y X,Y X,Y X,Y", help="The wall's corners, px.")],
    size: Annotated[
        str | None,
        typer.Option(
            "--size",
            metavar="SIZE",
            help='Its real size, such as "36ft x 18ft". Without it, that of the walls in the guide of DRAWING.',
        ),
    ] = None,
    above: Annotated[
        str,
        typer.Option("--above", metavar="LENGTH", help="The picture goes on so far above the corners, for a gable."),
    ] = "0",
    drawing: Annotated[
        Path | None, typer.Option("--drawing", metavar="DRAWING", help="The drawing whose guide layer gets it.")
    ] = None,
    out: Annotated[Path | None, typer.Option("-o", "--out", metavar="PICTURE", help="A .png to write it to.")] = None,
    scale: Annotated[
        str | None, typer.Option("--scale", metavar="1:N", help="Without it, the scale that the drawing says.")
    ] = None,
    at: Annotated[
        str | None,
        typer.Option(
            "--at", metavar="X,Y", help="Where its lower left corner goes on the panel, such as 30mm,150mm."
        ),
    ] = None,
    dpi: Annotated[
        int, typer.Option("--dpi", metavar="N", min=20, max=1200, help="Its pixels to an inch of the panel.")
    ] = DPI,
    hidden: Annotated[
        list[str] | None,
        typer.Option(
            "--hidden",
            metavar="X0,Y0,X1,Y1",
            help="A box of PHOTO, px, where something hides the wall. Can be repeated.",
        ),
    ] = None,
    check: Annotated[
        list[str] | None,
        typer.Option(
            "--check",
            metavar="X,Y=A,B",
            help="A spot of PHOTO, px, that is A from the wall's left and B from its lower edge, such as 9ft,7ft. "
            "Can be repeated.",
        ),
    ] = None,
    second: Annotated[
        Path | None, typer.Option("--second", metavar="PHOTO", help="Another view of the same wall.")
    ] = None,
    second_corners: Annotated[
        str | None, typer.Option("--second-corners", metavar="X,Y X,Y X,Y X,Y", help="The same corners in it.")
    ] = None,
    second_hidden: Annotated[
        list[str] | None,
        typer.Option("--second-hidden", metavar="X0,Y0,X1,Y1", help="As --hidden, in it. Can be repeated."),
    ] = None,
    second_check: Annotated[
        list[str] | None,
        typer.Option("--second-check", metavar="X,Y=A,B", help="As --check, in it. Can be repeated."),
    ] = None,
    force: ForceOption = False,
    job: JobOption = None,
    as_json: JsonOption = False,
) -> int:
    progress = Progress()
    from layercut.cli.documents import RectifyDocument, print_document
    from layercut.output.files import check_file
    from layercut.setup.measures import parse_pair, parse_real, units_of
    from layercut.setup.rectify import parse_shot, rectify, report_document, report_lines
    from layercut.tracing import growth_line, put_picture, ratio_of, read_paper, walls_line, walls_of

    if second is None and (second_corners or second_hidden or second_check):
        raise LayercutError("usage", "--second-corners, --second-hidden and --second-check need --second.")
    if second is not None and second_corners is None:
        raise LayercutError("usage", "--second needs --second-corners, the same four corners in that photo.")
    if job is not None and drawing is None:
        raise LayercutError("usage", "--job needs --drawing, whose job it is.")
    _check_outputs(drawing, out, [photo, *([second] if second is not None else ())])
    if out is not None:
        check_file(out, force=force)  # before the work, not after it
    loaded = load_job(drawing, job, None, None) if drawing is not None else None
    units = loaded.units if loaded is not None else units_of(size)
    with told_in(units):
        paper = read_paper(drawing, loaded) if drawing is not None and loaded is not None else None
    size_mm = parse_pair(size, "--size") if size is not None else walls_of(paper)
    shots = [parse_shot(photo, corners, size_mm, hidden=hidden, check=check)]
    if second is not None and second_corners is not None:
        shots.append(
            parse_shot(second, second_corners, size_mm, hidden=second_hidden, check=second_check, options="--second-")
        )
    ratio = ratio_of(scale, paper)
    corner = _place(at) if at is not None else None
    progress("squaring up the photo")
    with told_in(units):
        made = rectify(shots, size_mm, ratio, dpi, parse_real(above, "--above", zero=True))
    put_picture(made, paper, corner, out, force=force)
    walls = walls_line(paper, size_mm, units) if size is None else ""
    for line in (walls, *report_lines(made, units), growth_line(paper, units)):
        if line:
            say(line)
    if as_json:
        print_document(RectifyDocument, report_document(made))
    else:
        print_result(str(drawing if drawing is not None else out))
    return DONE


def _check_outputs(drawing: Path | None, out: Path | None, photos: list[Path]) -> None:
    """The picture goes somewhere, and not over a photo or the drawing."""
    if drawing is None and out is None:
        raise LayercutError("usage", "say where the picture goes: --drawing DRAWING, or --out PICTURE.")
    if out is None:
        return
    if out.suffix.lower() != ".png":
        raise OutputError("picture-kind", "is not a kind of picture.", "End its name in .png.", file=str(out))
    for path in (*photos, *([drawing] if drawing is not None else ())):
        with suppress(OSError):  # one of them missing is no clash
            if out.samefile(path):
                message = "is a photo or the drawing itself."
                raise OutputError("picture-over-drawing", message, "Choose another name.", file=str(out))


def _place(at: str) -> tuple[float, float]:
    """A place on the panel, mm."""
    from layercut.setup.measures import parse_real

    places = at.split(",")
    if len(places) != 2:
        raise LayercutError("usage", f"'{at}' is no place on the panel; write it such as --at 30mm,150mm.")
    return parse_real(places[0], "--at", zero=True), parse_real(places[1], "--at", zero=True)
