"""What a compiled folder holds, and writing it.

Enters: a build. Leaves: all files by their names in the folder, or the folder itself, whole or not at all.
"""

from collections.abc import Iterable
from pathlib import Path

from layercut.geometry.processes import both_apart
from layercut.model import Cut, Made, Planned
from layercut.output.folder import check_folder, write_folder
from layercut.output.manifest import manifest_text
from layercut.planning.coat_steps import plan_coats
from layercut.views.pages.label import FILE as LABEL
from layercut.views.pages.label import label_svg
from layercut.views.pages.paint_map import paint_files
from layercut.views.pages.traveller import traveller_html
from layercut.views.picture.stack_png import PICTURE_WIDTH_PX, compose_png
from layercut.views.picture.stack_svg import compose_svg
from layercut.views.picture.step_pictures import draw_steps


def write_build(build: Planned, folder: Path, *, inputs: Iterable[Path] = (), keep_old: bool = False) -> Path | None:
    """Write the folder of a build, whole or not at all; that of a drawing that can't be made holds no sheets.

    `inputs` are files that must not lie in it. A folder that layercut wrote and nobody changed is replaced, any other
    refused, or with `keep_old` set aside with a number; returns where, None where nothing was. Raises OutputError.
    """
    check_folder(folder, inputs=inputs, keep_old=keep_old)
    return write_folder(folder, folder_files(build), keep_old=keep_old)


def folder_files(build: Planned) -> dict[str, bytes]:
    """All files of a compiled folder: relative name to content."""
    if isinstance(build, Made) and build.job.page.steps:
        picture, texts = _with_steps(build)
    else:
        picture, texts = both_apart(lambda: compose_png(build, PICTURE_WIDTH_PX), lambda: _texts(build))
    files = {**{name: text.encode("utf-8", "replace") for name, text in texts.items()}, "stack.png": picture}
    # Last, because it names all the others with their hashes.
    return {**files, "manifest.json": manifest_text(build, files).encode("utf-8", "replace")}


def sheet_files(build: Planned) -> dict[str, str]:
    """The sheets as files: relative name to SVG text. Empty when the drawing can't be made."""
    return dict(build.written) if isinstance(build, Cut) else {}


def board_files(build: Planned) -> dict[str, str]:
    """The boards as files: relative name to SVG text. Empty where the job knows no size of boards or bed."""
    return dict(build.boards.written) if isinstance(build, Made) and build.boards is not None else {}


def map_files(build: Planned) -> dict[str, str]:
    """The paint maps as files: relative name to SVG text. Empty when the drawing can't be made."""
    return paint_files(build) if isinstance(build, Made) else {}


def _with_steps(build: Made) -> tuple[bytes, dict[str, str]]:
    """The picture and all texts, with pictures of the paint's steps on the page; these take as long as all else."""
    (picture, drawn, maps), steps = both_apart(
        lambda: (compose_png(build, PICTURE_WIDTH_PX), compose_svg(build), map_files(build)),
        lambda: draw_steps(build, plan_coats(build.work, build.stack.panel, build.job.paint)),
    )
    return picture, _named(build, drawn, maps, traveller_html(build, drawn, steps))


def label_files(build: Planned) -> dict[str, str]:
    """The label for the back as a file; empty where the job has none, and when the drawing can't be made."""
    label = label_svg(build) if isinstance(build, Made) else ""
    return {LABEL: f"{label}\n"} if label else {}


def _texts(build: Planned) -> dict[str, str]:
    picture = compose_svg(build)
    maps = map_files(build)  # side by side; what they find out, the page needs as well
    return _named(build, picture, maps, traveller_html(build, picture))


def _named(build: Planned, picture: str, maps: dict[str, str], page: str) -> dict[str, str]:
    return {
        "stack.svg": picture,
        "traveller.html": page,
        **sheet_files(build),
        **board_files(build),
        **maps,
        **label_files(build),
    }
