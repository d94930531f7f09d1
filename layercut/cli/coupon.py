"""The command that finds the kerf of a machine and a wood: coupon.

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
    from layercut.setup.coupon import Coupon

_COUPON_HELP = f"""Find the kerf: a test piece to cut, and the kerf from its measure.

First, 'layercut coupon' writes the test piece: a bar in blocks, and the same bar in one. Cut it from your wood with
your usual settings. Push the blocks together without dust between them, in the order of their numbers and numbers up,
measure them with a caliper, and enter the reading with --measured. Each block lost half a kerf on each side, so the
kerf is what the blocks are too short in all, divided by their number. With --whole, the uncut bar's length, an error
of the machine's own scale drops out. What is told is in the units of the job file, where one is given, else in those
of the reading (or of --length): inches or mm; --units says otherwise.

\b
Example: layercut coupon -o coupon.svg
         layercut coupon --measured 49.1mm --write house.toml

{SAFETY}

{CAUTION}"""


@app.command("coupon", help=_COUPON_HELP, short_help="Find the kerf: a test piece, and the kerf from its measure.")
def _coupon(
    *,
    out: Annotated[Path, typer.Option("-o", "--out", metavar="FILE", help="The test piece to write.")] = Path(
        "coupon.svg"
    ),
    length: Annotated[str, typer.Option("--length", metavar="LENGTH", help="Length of the bar as drawn.")] = "50mm",
    blocks: Annotated[int, typer.Option("--blocks", metavar="N", help="Blocks that the bar is cut into.")] = 5,
    job: Annotated[
        Path | None, typer.Option("--job", metavar="FILE", help="A job file, for the colours of its roles.")
    ] = None,
    measured: Annotated[
        str | None,
        typer.Option(
            "--measured", metavar="LENGTH", help="All blocks pushed together, such as 49.1mm: gives the kerf."
        ),
    ] = None,
    whole: Annotated[
        str | None,
        typer.Option("--whole", metavar="LENGTH", help="The uncut bar, for an error of the machine's scale."),
    ] = None,
    resolution: Annotated[
        str, typer.Option("--resolution", metavar="LENGTH", help="One step of the caliper.")
    ] = "0.05mm",
    write: Annotated[
        Path | None,
        typer.Option("--write", metavar="JOBFILE", help="With --measured: set material.kerf in this job file."),
    ] = None,
    told_units: UnitsOption = None,
    force: ForceOption = False,
    as_json: JsonOption = False,
) -> int:
    from layercut import make_coupon, read_kerf, set_kerf
    from layercut.cli.documents import KerfDocument, print_document
    from layercut.errors import told_in
    from layercut.setup.coupon import kerf_document, kerf_lines, kerf_text
    from layercut.setup.measures import parse_real

    if measured is None and (whole is not None or write is not None):
        raise LayercutError("usage", "--whole and --write need --measured.")
    units = Units(told_units) if told_units is not None else _units(write or job, measured or length)
    with told_in(units):
        coupon = make_coupon(parse_real(length, "--length"), blocks)
    if measured is None:
        return _write_coupon(coupon, out, job, units, force=force, as_json=as_json)
    with told_in(units):
        reading = read_kerf(
            coupon,
            parse_real(measured, "--measured"),
            parse_real(resolution, "--resolution"),
            parse_real(whole, "--whole") if whole is not None else None,
        )
    if write is not None:
        set_kerf(write, reading)
    for line in (*kerf_lines(reading, units), *((f"material.kerf in {write} is set",) if write is not None else ())):
        say(line)
    if as_json:
        print_document(KerfDocument, kerf_document(reading))
    else:
        print_result(kerf_text(reading, units))
    return DONE


def _units(job: Path | None, reading: str) -> Units:
    """The units of the job file, else those in which the caliper was read."""
    from layercut.job import load_job
    from layercut.setup.measures import units_of

    return load_job(job).units if job is not None else units_of(reading)


def _write_coupon(coupon: "Coupon", out: Path, job: Path | None, units: Units, *, force: bool, as_json: bool) -> int:
    from layercut import load_job, write_coupon
    from layercut.cli.documents import CouponDocument, print_document
    from layercut.units import said_fine

    write_coupon(coupon, out, load_job(job), force=force)
    block, length = units.told(said_fine(coupon.block_mm)), units.told(said_fine(coupon.length_mm))
    say(
        f"{coupon.blocks} blocks of {block}, {length} in all, and one bar of that "
        "length; cut it from your own wood, push the blocks together, and enter what they measure with --measured"
    )
    say(" ".join(SAFETY.split()))
    if as_json:
        document = {"file": str(out), "length_mm": coupon.length_mm, "blocks": coupon.blocks}
        print_document(CouponDocument, document)
    else:
        print_result(str(out))
    return DONE
