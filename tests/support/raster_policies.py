"""The end-to-end check of raster.py where ties were added and pieces were painted behind or left out."""

from pathlib import Path

from builds import sheets_made
from raster import bare_map, compare, repainted

from layercut import Build, sheet_files
from layercut.drawing import read_drawing
from layercut.geometry.regions import union, without
from layercut.output.contents import map_files
from layercut.pipeline import plan_stack
from layercut.sheets.svg_out import write_sheet


def different_pixels(dealt: str, path: Path, build: Build, px_per_mm: float) -> int:
    """Pixels, away from edges, where the stack isn't the drawing with its ties; refused drawings are cut too."""
    job, stack = build.job, build.stack
    written = [text for _, text in sorted(sheet_files(build).items())]
    if not written:
        sheets = sheets_made(read_drawing(path, job), plan_stack(build.drawing, job), job)
        written = [write_sheet(sheet, stack.panel, job) for sheet in sheets]
    added = [union(tie.region for tie in layer.ties) for layer in stack.layers]
    # Ties of a sheet in front lie over what is painted behind them.
    given = [(guest.source, guest.home, guest.region) for layer in stack.layers[::-1] for guest in layer.given]
    frame = job.panel.frame, job.panel.corner
    different = compare(dealt, written, *frame, px_per_mm, added=added, given=given).different
    painted = [without(guest.region, added) for layer in stack.layers for guest in layer.guests]
    if painted and (written_maps := map_files(build)):
        maps = [bare_map(text) for _, text in sorted(written_maps.items())]
        different += repainted(dealt, maps, union(painted), px_per_mm)
    return different
