"""What the commands do around a compile, as functions: pictures, starter drawings, kerf coupons, traced photos.

Enters: builds, plans and paths. Leaves: files, each whole or not at all; a file that layercut didn't write, or that
was changed since, is not written over unless `force`. `import layercut` names all of it (docs/library.md).
"""

from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from layercut.errors import OutputError
from layercut.job import Job, load_job
from layercut.job_edit import set_key
from layercut.job_text import JOB_FILE_LIMIT
from layercut.model import Planned
from layercut.output.files import check_file, write_file
from layercut.output.new_files import write_new
from layercut.output.seal import seal_png, seal_svg, seal_toml
from layercut.reading import read_plain
from layercut.setup.coupon import Coupon, KerfReading, coupon_sheet, kerf_text
from layercut.setup.guide_layer import drawing_text
from layercut.setup.start import StartPlan
from layercut.setup.starter_job import job_text
from layercut.sheets.smoothing import smooth_sheets
from layercut.sheets.svg_out import write_sheet
from layercut.views.picture.stack_png import PICTURE_WIDTH_PX, compose_png
from layercut.views.picture.stack_svg import compose_svg


def write_picture(
    build: Planned, path: Path, *, width_px: int = PICTURE_WIDTH_PX, exploded: bool = False, force: bool = False
) -> None:
    """Draw the stack as `.svg` or `.png`, as the path's name ends; `exploded` shows the sheets apart.

    Raises OutputError as `check_picture` does.
    """
    check_picture(path, force=force)
    if path.suffix.lower() == ".svg":
        picture = seal_svg(compose_svg(build, exploded=exploded).encode("utf-8", "replace"))
    else:
        picture = seal_png(compose_png(build, width_px, exploded=exploded))
    check_file(path, force=force)  # again: drawing took a while
    write_file(path, picture)


def check_picture(path: Path, drawing: Path | None = None, *, force: bool = False) -> None:
    """Raise OutputError unless a picture may be written there: `picture-kind` for a name that ends in neither `.svg`
    nor `.png`, `picture-over-drawing` for the drawing itself, `file-exists` for another's file unless `force`."""
    if path.suffix.lower() not in {".png", ".svg"}:
        raise OutputError(
            "picture-kind", "is not a kind of picture.", "End its name in .png or .svg.", file=str(path)
        )
    with suppress(OSError):  # one of them missing is no clash
        if drawing is not None and path.samefile(drawing):
            raise OutputError(
                "picture-over-drawing", "is the drawing itself.", "Choose another name.", file=str(path)
            )
    check_file(path, force=force)


@dataclass(frozen=True, slots=True)
class Started:
    """The files that begin a drawing."""

    drawing: Path
    job: Path


def write_start(plan: StartPlan, folder: Path, name: str, *, force: bool = False) -> Started:
    """Write a scaled starter drawing and its job file, both or none. Raises OutputError `file-exists`."""
    files = Started(folder / f"{name}.svg", folder / f"{name}.toml")
    texts = {files.drawing: seal_svg(_utf8(drawing_text(plan))), files.job: seal_toml(_utf8(job_text(plan)))}
    write_new(texts, force=force)
    return files


def write_coupon(coupon: Coupon, path: Path, job: Job, *, force: bool = False) -> None:
    """Write the test piece from whose measure the kerf is found. Raises OutputError `file-exists`."""
    ordered, panel = coupon_sheet(coupon)
    (sheet,) = smooth_sheets([ordered], job)
    write_new({path: seal_svg(_utf8(write_sheet(sheet, panel, job)))}, force=force)


def set_kerf(job: Path, reading: KerfReading, settings: Sequence[str] = ()) -> None:
    """Set the kerf in a job file that is there and right, in its units, and keep everything else of it.

    `settings` win over the file when the new job is tried. Raises JobError and OutputError.
    """
    kerf = kerf_text(reading, load_job(job).units)
    load_job(job, [*settings, f"material.kerf={kerf}"])  # names what is wrong with the file, or with the kerf
    text = read_plain(job, JOB_FILE_LIMIT).decode("utf-8")
    write_file(job, _utf8(set_key(text, "material.kerf", kerf, file=job.name)))


def _utf8(text: str) -> bytes:
    return text.encode("utf-8", "replace")
