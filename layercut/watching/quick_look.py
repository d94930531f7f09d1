"""The first picture after a save: the drawing's paints as they will show, long before the stack is settled.

Enters: a `Drawing` and its job. Leaves: SVG text. Holds: from the front a stack shows what was drawn last at every
place, so the shapes painted in their order, under the frame, are the picture but for ties; no region has to be found
for that. Coordinates are hundredths of a mm, thinned to what a screen can show.
"""

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

from layercut.geometry.thinning import thinned
from layercut.job import Job
from layercut.model import Drawing, Layer, Paint, Panel, Shape
from layercut.stack.panel import make_panel
from layercut.views.scene import BURNT, EDGE, MARK_MM, PLYWOOD, SHADOW, WALL
from layercut.views.svg_text import number, plain, region_path

STEPS = 5000
"""Detail finer than this part of the panel is left out: a third of a pixel on a screen 1,600 pixels wide."""

UNITS_PER_MM = 100
"""Whole numbers are quicker to write and to read; a hundredth of a mm is far below a pixel."""

MARGIN = 0.08
"""Wall around the panel, as a part of its longer side."""


def quick_svg(drawing: Drawing, job: Job) -> str:
    """The drawing as its stack will look from the front, without ties, shadows and findings.

    Raises JobError when the job's panel doesn't go with the drawing.
    """
    panel = make_panel(drawing.width_mm, drawing.height_mm, job)
    size = max(panel.width_mm, panel.height_mm)
    margin = MARGIN * size
    x, y, width, height = (
        number(value) for value in (-margin, -margin, panel.width_mm + 2 * margin, panel.height_mm + 2 * margin)
    )
    definitions: list[str] = []
    layers = "".join(_layer(layer, size / STEPS, definitions) for layer in drawing.layers)
    shift = number(0.4 * job.material.thickness * max(len(drawing.layers), 1))
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{x} {y} {width} {height}">'
        f'<title>{plain(drawing.file)}</title><defs><path id="panel" d="{region_path(panel.outline)}"/>'
        f'<clipPath id="on"><use href="#panel"/></clipPath>{"".join(definitions)}</defs>'
        f'<rect x="{x}" y="{y}" width="{width}" height="{height}" fill="{WALL[0]}"/>'
        f'<use href="#panel" fill="{SHADOW}" opacity=".25" transform="translate({shift} {shift})"/>'
        f'<g clip-path="url(#on)"><use href="#panel" fill="{PLYWOOD}"/>'
        f'<g transform="scale({1 / UNITS_PER_MM:g})" fill-rule="evenodd">{layers}</g>{_frame(panel, size)}</g></svg>'
    )


def _frame(panel: Panel, size_mm: float) -> str:
    ring = region_path(panel.frame)
    pen = f'stroke="{EDGE}" stroke-width="{number(size_mm / 400)}"'
    return f'<path fill="{PLYWOOD}" fill-rule="evenodd" {pen} d="{ring}"/>'


def _layer(layer: Layer, tolerance_mm: float, definitions: list[str]) -> str:
    """One layer as a group. Where it holds openings, each hides what was painted before it; adds to
    `definitions`."""
    shapes = [shape for shape in layer.shapes if not shape.geometry.is_empty]
    body = ""
    for shape, path in zip(shapes, _paths(shapes, tolerance_mm), strict=True):
        if shape.role == "opening":
            name = f"without-{len(definitions)}"
            definitions.append(_mask(name, path))
            body = f'<g mask="url(#{name})">{body}</g>'
        else:
            body += _painted(shape, path, definitions)
    return f"<g>{body}</g>"


def _mask(name: str, path: str) -> str:
    """Everything but an opening. The units are those of the group it is used in."""
    everywhere = 'x="-1e7" y="-1e7" width="2e7" height="2e7"'
    return (
        f'<mask id="{name}" maskUnits="userSpaceOnUse" {everywhere}><rect {everywhere} fill="#fff"/>'
        f'<path fill-rule="evenodd" d="{path}"/></mask>'
    )


def _painted(shape: Shape, path: str, definitions: list[str]) -> str:
    if shape.role == "mark-line":
        pen = f'stroke-width="{MARK_MM * UNITS_PER_MM:g}" stroke-linecap="round"'
        return f'<path fill="none" stroke="{BURNT}" stroke-opacity=".6" {pen} d="{path}"/>'
    if shape.role == "mark-area":
        return f'<path fill="{BURNT}" fill-opacity=".38" d="{path}"/>'
    return f'<path fill="{_fill(shape.paint, definitions)}" d="{path}"/>'


def _fill(paint: Paint, definitions: list[str]) -> str:
    """A colour, or a blend from the top to the bottom of the shape, as the finished picture has it."""
    if not paint.blend:
        return plain(paint.colour)
    stops = "".join(f'<stop offset="{number(at)}" stop-color="{plain(colour)}"/>' for at, colour in paint.blend)
    name = f"blend-{len(definitions)}"
    definitions.append(f'<linearGradient id="{name}" x2="0" y2="1">{stops}</linearGradient>')
    return f"url(#{name})"


def _paths(shapes: Sequence[Shape], tolerance_mm: float) -> list[str]:
    """The path data of each shape. In one go: a call for each of a thousand leaves would take most of the time."""
    geometries = np.array([shape.geometry for shape in shapes], dtype=object)
    thin = thinned(geometries, tolerance_mm)
    parts, owner = shapely.get_parts(thin, return_index=True)
    parts, owner = _single_lines(parts, owner)
    points, line = shapely.get_coordinates(parts, return_index=True)
    words = list(map(str, np.rint(points * UNITS_PER_MM).astype(np.int64).ravel().tolist()))
    ends = np.searchsorted(line, np.arange(len(parts)), side="right") * 2
    paths: list[list[str]] = [[] for _ in shapes]
    start = 0
    for shape, end in zip(owner.tolist(), ends.tolist(), strict=True):
        paths[shape].append(f"M{' '.join(words[start:end])}")
        start = end
    return ["".join(path) for path in paths]


def _single_lines(
    parts: NDArray[np.object_], owner: NDArray[np.int64]
) -> tuple[NDArray[np.object_], NDArray[np.int64]]:
    """Polygons as their rings, other parts as they are, with the shape that each is of, in order of the shapes."""
    polygonal = shapely.get_type_id(parts) == shapely.GeometryType.POLYGON
    rings, polygon = shapely.get_rings(parts[polygonal], return_index=True)
    every = np.concatenate([rings, parts[~polygonal]])
    owners = np.concatenate([owner[polygonal][polygon], owner[~polygonal]])
    order = np.argsort(owners, kind="stable")
    return every[order], owners[order]
