"""The paint maps: for each sheet, which paint goes where.

Enters: a `Build`. Leaves: SVG text for each sheet, a page of the sheet's own size in mm. Holds: the painted and bare
regions of a map are all that its sheet shows; what a sheet in front covers is left out. The frame is drawn too, for
the painter to see where the panel lies.
"""

import shapely

from layercut.geometry.precision import GRID_MM
from layercut.geometry.regions import Region, as_region, union
from layercut.model import Build, Paint, StackLayer
from layercut.views.svg_text import number, plain, region_path

BARE = "#dcbc8c"
"""Where no paint goes, about birch."""

FRAME_INK = "#8a6238"
"""The outline of the frame, which stays bare here: what a frame is painted like is no matter of the drawing."""

FRAME_LINE_MM = 0.2
"""Width of the frame's outline in the map, mm."""


def paint_files(build: Build) -> dict[str, str]:
    """The maps as files: relative name to SVG text. Empty when the drawing can't be made; spacers have none."""
    layers = [sheet for sheet in build.sheets if sheet.kind == "layer"][: len(build.stack.layers)]
    return {f"paint/{sheet.file.rpartition('/')[2]}": paint_map(build, index) for index, sheet in enumerate(layers)}


def paint_map(build: Build, index: int) -> str:
    """The paint map of the sheet at a place from the back, 0 the back one."""
    stack = build.stack
    layer = stack.layers[index]
    width, height = number(stack.panel.width_mm), number(stack.panel.height_mm)
    parts = _painted_parts(layer)
    bare = as_region(shapely.difference(layer.visible, union(region for _, region in parts)))
    # A tie too small to have a paint of its own, and the ground where nothing is drawn, show their wood.
    bare = union((bare, stack.bare)) if index == 0 else bare
    paths = [_path(_paint_words(paint), region) for paint, region in parts]
    bare = _on_grid(bare)
    if not bare.is_empty:
        paths.append(_path(f'data-paint="bare" fill="{BARE}"', bare))
    frame = f'data-part="frame" fill="none" stroke="{FRAME_INK}" stroke-width="{number(FRAME_LINE_MM)}"'
    paths.append(_path(frame, stack.panel.frame))
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm" '
        f'viewBox="0 0 {width} {height}" data-tolerance-mm="{build.job.curves.tolerance:.6f}">\n'
        f"<title>{plain(layer.name)}</title>\n" + "\n".join(paths) + "\n</svg>\n"
    )


def _painted_parts(layer: StackLayer) -> list[tuple[Paint, Region]]:
    """Where each paint of a layer is seen, in the order of the drawing; a paint's parts are one."""
    by_paint: dict[Paint, list[Region]] = {}
    for part in layer.painted:
        by_paint.setdefault(part.paint, []).append(part.region)
    seen = [(paint, shapely.intersection(union(parts), layer.visible)) for paint, parts in by_paint.items()]
    written = [(paint, _on_grid(as_region(region))) for paint, region in seen]
    return [(paint, region) for paint, region in written if not region.is_empty]


def _paint_words(paint: Paint) -> str:
    blend = ", ".join(f"{number(offset)} {colour}" for offset, colour in paint.blend)
    more = f' data-blend="{plain(blend)}"' if blend else ""
    return f'data-paint="{plain(paint.colour)}" fill="{plain(paint.colour)}"{more}'


def _path(words: str, region: Region) -> str:
    return f'<path {words} fill-rule="evenodd" d="{region_path(region)}"/>'


def _on_grid(region: Region) -> Region:
    """A region on the grid of the written digits, so that no ring of the text is narrower than they tell."""
    return as_region(shapely.set_precision(region, GRID_MM))
