"""The paint maps: for each sheet, which paint goes where, how far it reaches, and what stays bare for glue.

Enters: a `Made`. Leaves: SVG text for each sheet, a page as wide as the sheet in mm with a legend below. Holds:
the painted and bare regions of a map are all that its sheet shows, and its marks all that is engraved; everything
else is in groups of notes, for the painter's eye. Every part is outlined and numbered, and glue zones are hatched,
so that a map reads in black and white too.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import shapely

from layercut.colour.bare import PLYWOOD
from layercut.colour.washes import GradedWash, Wash
from layercut.geometry.parallel import each
from layercut.geometry.precision import GRID_MM, OUTPUT_DECIMALS
from layercut.geometry.regions import Region, as_region, polygons_of
from layercut.model import Made, Sheet
from layercut.views.pages.map_notes import INK, Legend, glue_notes, number_notes, reach_notes
from layercut.views.pages.way_notes import stop_words
from layercut.views.paint_svg import Definitions, laid_washes
from layercut.views.svg_text import lines_path, number, plain, region_path
from layercut.workplan import PaintPlan, SheetPaint

FRAME_INK = "#8a6238"
"""The outline of the frame, which stays bare here: what a frame is painted like is no matter of the drawing."""

FRAME_LINE_MM = 0.2
"""Width of the frame's outline in the map, mm."""

MARK_LINE_MM = 0.06
"""Width of the marks in the map, mm: half of the lines around the paints, which they mostly are."""


@dataclass(frozen=True, slots=True)
class _Part:
    """Where one paint is seen: its words in the map, and the coats of a blend, bottom first."""

    words: str
    colour: str
    region: Region
    washes: tuple[Wash, ...] = ()


def paint_files(build: Made) -> dict[str, str]:
    """The maps as files: relative name to SVG text; spacers have none."""
    layers = [sheet for sheet in build.sheets if sheet.kind == "layer"][: len(build.stack.layers)]
    maps = each(lambda index: paint_map(build, index), range(len(layers)))
    return {f"paint/{sheet.file.rpartition('/')[2]}": text for sheet, text in zip(layers, maps, strict=True)}


def paint_map(build: Made, index: int) -> str:
    """The paint map of the sheet at a place from the back, 0 the back one."""
    stack, plan = build.stack, build.work.paint
    layer, sheet = stack.layers[index], plan.sheets[index]
    parts = _planned_parts(plan, sheet)
    blends = Definitions()
    paths = [text for part in parts for text in _painted(part, blends)]
    bare = _on_grid(sheet.bare)
    if not bare.is_empty:
        paths.append(_path(f'data-paint="bare" fill="{PLYWOOD}"', bare))
    frame = f'data-part="frame" fill="none" stroke="{FRAME_INK}" stroke-width="{number(FRAME_LINE_MM)}"'
    front = index + 1 == len(stack.layers)
    paths.append(_path(frame, stack.panel.face if front else stack.panel.frame))
    paths.append(_marks(build.sheets[index]))
    paths += _guest_paths(build, sheet)
    legend = Legend(plan, sheet, stack.panel, build.job.units)
    # Reach and glue lie where a sheet in front covers, so that they hide nothing of what is seen.
    paths += [reach_notes(plan, sheet, blends), glue_notes(sheet), number_notes(sheet, stack.panel)]
    paths.append(legend.notes(stack.panel.height_mm))
    if blends.texts:
        paths.insert(0, f"<defs>{''.join(blends.texts)}</defs>")
    return _page(build, layer.name, legend.height_mm, [path for path in paths if path])


def _guest_paths(build: Made, sheet: SheetPaint) -> list[str]:
    """The outlines of pieces of sheets in front that are painted on this one: dashed, each with its name."""
    marked = "true" if build.job.marks.behind else "false"
    look = f'fill="none" stroke="{FRAME_INK}" stroke-width="{number(FRAME_LINE_MM)}" stroke-dasharray="1 .6"'
    return [
        _path(f'data-behind="{plain(name)}" data-marked="{marked}" {look}', region)
        for name, region in ((name, _on_grid(region)) for name, region in sheet.guests)
        if not region.is_empty
    ]


def _page(build: Made, name: str, legend_mm: float, paths: list[str]) -> str:
    panel = build.stack.panel
    width, height = number(panel.width_mm), number(panel.height_mm + legend_mm)
    legend = f' data-legend-mm="{number(legend_mm)}"' if legend_mm else ""
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm" '
        f'viewBox="0 0 {width} {height}" data-tolerance-mm="{build.job.curves.tolerance:.6f}"{legend}>\n'
        f"<title>{plain(name)}</title>\n" + "\n".join(paths) + "\n</svg>\n"
    )


def _planned_parts(plan: PaintPlan, sheet: SheetPaint) -> list[_Part]:
    """The plan's parts, by their numbers; a blend's by the places of its gradients."""
    parts = []
    for part in sheet.parts:
        colour = plan.colour(part.number)
        stops = ", ".join(f"{number(stop.offset)} {stop_words(stop)}" for stop in colour.blend)
        words = f'data-blend="{plain(stops)}"' if stops else ""
        if part.runs:
            parts += [_Part(words, colour.colour, run.region, run.washes) for run in part.runs]
        else:
            parts.append(_Part(words, colour.colour, part.visible))
    return parts


def _painted(part: _Part, blends: Definitions) -> Iterator[str]:
    """One region: the path that says its paint, and what lies over that, which says nothing, for the eye."""
    region = _on_grid(part.region)
    if region.is_empty:
        return
    said = f'data-paint="{plain(part.colour)}"' + (f" {part.words}" if part.words else "")
    first, *others = part.washes or (None,)
    if not isinstance(first, GradedWash):
        # What isn't one gradient at the bottom, such as a group, is all laid over its mean.
        yield _path(f'{said} fill="{plain(part.colour)}"', region)
        others = list(part.washes)
    else:
        yield laid_washes((first,), lambda look: _path(f"{said} {look}", region), blends)
    if others:
        path = region_path(region)
        over = laid_washes(others, lambda look: f'<path {look} fill-rule="evenodd" d="{path}"/>', blends)
        yield f'<g data-part="notes">{over}</g>'


def _path(words: str, region: Region) -> str:
    return f'<path {words} fill-rule="evenodd" d="{region_path(region)}"/>'


def _marks(sheet: Sheet) -> str:
    """What is engraved on the sheet: the painter finds it on the wood, and the proof what was planned."""
    paths = [f'<path data-role="mark-area" d="{region_path(area)}"/>' for area in sheet.mark_areas]
    if sheet.mark_lines:
        paths.append(f'<path data-role="mark-line" fill="none" d="{lines_path(sheet.mark_lines)}"/>')
    look = f'fill="{INK}" fill-rule="evenodd" stroke="{INK}" stroke-width="{number(MARK_LINE_MM)}"'
    return "\n".join([f'<g data-part="marks" {look}>', *paths, "</g>"])


def _on_grid(region: Region) -> Region:
    """A region on the grid of the written digits, so that no ring of the text is narrower than they tell."""
    polygons = np.array(polygons_of(region), dtype=object)
    rounded = shapely.transform(polygons, lambda points: np.round(points, OUTPUT_DECIMALS))
    bad = ~shapely.is_valid(rounded)  # few need more than rounding
    rounded[bad] = shapely.set_precision(polygons[bad], GRID_MM)
    return as_region(shapely.geometrycollections(rounded))
