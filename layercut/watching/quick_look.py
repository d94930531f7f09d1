"""The first picture after a save: the drawing's paints as they will show, long before the stack is settled.

Enters: a `Drawing` and its job. Leaves: a `PictureView`. Holds: from the front a stack shows what was drawn last at
every place, over what shines through it, so the shapes painted in their order, under the frame, are the picture but
for ties and shared pots; no region has to be found for that. Coordinates are hundredths of a mm, thinned to what a
screen can show.
"""

from collections.abc import Callable, Sequence
from functools import partial
from itertools import takewhile

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from layercut.colour.bare import PLYWOOD
from layercut.colour.coats import Veil
from layercut.geometry.thinning import thinned
from layercut.job import Job
from layercut.model import Drawing, Layer, Panel, Shape
from layercut.stack.panel import make_panel
from layercut.views.paint_svg import Definitions, laid, laid_washes
from layercut.views.picture.scene import BURNT, EDGE, MARK_MM, SHADOW, WALL
from layercut.views.svg_text import number, plain, region_path
from layercut.watching.view_model import PictureView

STEPS = 5000
"""Detail finer than this part of the panel is left out: a third of a pixel on a screen 1,600 pixels wide."""

UNITS_PER_MM = 100
"""Whole numbers are quicker to write and to read; a hundredth of a mm is far below a pixel."""

EVERYWHERE = 'x="-1e7" y="-1e7" width="2e7" height="2e7"'
"""A box beyond all that a panel can be, hundredths of a mm."""

MARGIN = 0.08
"""Wall around the panel, as a part of its longer side."""


def quick_look(drawing: Drawing, job: Job) -> PictureView:
    """The drawing as its stack will look from the front, without ties, shadows and findings.

    Raises JobError when the job's panel doesn't go with the drawing.
    """
    panel = make_panel(drawing.width_mm, drawing.height_mm, job)
    size = max(panel.width_mm, panel.height_mm)
    margin = MARGIN * size
    box = (-margin, -margin, panel.width_mm + 2 * margin, panel.height_mm + 2 * margin)
    x, y, width, height = map(number, box)
    look = _Look(size / STEPS)
    layers = look.layers(drawing.layers)
    shift = number(0.4 * job.material.thickness * max(len(drawing.layers), 1))
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{x} {y} {width} {height}">'
        f'<title>{plain(drawing.file)}</title><defs><path id="panel" d="{region_path(panel.outline)}"/>'
        f'<clipPath id="on"><use href="#panel"/></clipPath>{"".join(look.definitions)}</defs>'
        f'<rect x="{x}" y="{y}" width="{width}" height="{height}" fill="{WALL[0]}"/>'
        f'<use href="#panel" fill="{SHADOW}" opacity=".25" transform="translate({shift} {shift})"/>'
        f'<g clip-path="url(#on)"><use href="#panel" fill="{PLYWOOD}"/>'
        f'<g transform="scale({1 / UNITS_PER_MM:g})" fill-rule="evenodd">{layers}</g>{_frame(panel, size)}</g></svg>'
    )
    return PictureView(svg, box)


def _frame(panel: Panel, size_mm: float) -> str:
    ring = region_path(panel.face)
    pen = f'stroke="{EDGE}" stroke-width="{number(size_mm / 400)}"'
    return f'<path fill="{PLYWOOD}" fill-rule="evenodd" {pen} d="{ring}"/>'


class _Look:
    """Draws layers, and gathers what they refer to."""

    def __init__(self, tolerance_mm: float) -> None:
        self._tolerance_mm = tolerance_mm
        self._blends = Definitions((UNITS_PER_MM, 0.0, 0.0, UNITS_PER_MM, 0.0, 0.0))
        self._masks: dict[object, str] = {}

    @property
    def definitions(self) -> tuple[str, ...]:
        """All gradients and masks."""
        return (*self._blends.texts, *self._masks.values())

    def layers(self, layers: Sequence[Layer]) -> str:
        """All layers, within the groups that are around them all: those of the whole drawing."""
        around = _common([shape for layer in layers for shape in layer.shapes if shape.role in ("wood", "glaze")])
        inside = "".join(self.layer(layer, len(around)) for layer in layers)
        return "".join(map(self._veiled, around)) + inside + "</g>" * len(around)

    def layer(self, layer: Layer, around: int) -> str:
        """One layer as a group; `around` counts the groups that are open already. Where it holds openings, each hides
        what was painted before it."""
        shapes = [shape for shape in layer.shapes if not _region(shape).is_empty]
        groups = _Groups(self._veiled)
        for shape, path in zip(shapes, _paths(list(map(_region, shapes)), self._tolerance_mm), strict=True):
            if shape.role == "opening":
                name = self._mask(("opening", path), f'<rect {EVERYWHERE} fill="#fff"/><path d="{path}"/>')
                groups.wrap(f'<g mask="url(#{name})">')
            else:
                groups.add(shape.coat.veils[around:] if shape.coat else (), self._painted(shape, path))
        return f"<g>{groups.text()}</g>"

    def _painted(self, shape: Shape, path: str) -> str:
        if shape.role == "mark-line":
            pen = f'stroke-width="{MARK_MM * UNITS_PER_MM:g}" stroke-linecap="round"'
            return f'<path fill="none" stroke="{BURNT}" stroke-opacity=".6" {pen} d="{path}"/>'
        if shape.role == "mark-area":
            return f'<path fill="{BURNT}" fill-opacity=".38" d="{path}"/>'

        def draw(look: str) -> str:
            return f'<path {look} d="{path}"/>'

        if shape.coat:
            return laid_washes((shape.coat.wash,), draw, self._blends)
        return laid(shape.paint, draw, self._blends)

    def _veiled(self, veil: Veil) -> str:
        """The opening tag of a group that is laid on as one."""
        opacity = "" if veil.opacity == 1 else f' opacity="{number(veil.opacity)}"'
        if veil.mask is None:
            return f"<g{opacity}>"
        paths = _paths([region for region, _ in veil.mask.parts], self._tolerance_mm)
        inside = "".join(
            laid_washes(washes, partial('<path {1} d="{0}"/>'.format, path), self._blends)
            for (_, washes), path in zip(veil.mask.parts, paths, strict=True)
        )
        return f'<g{opacity} mask="url(#{self._mask(("veil", veil.key), inside, veil.mask.by)})">'

    def _mask(self, key: object, inside: str, by: str = "luminance") -> str:
        """The name of a mask. Its units are those of the group it is used in."""
        name = f"mask-{list(self._masks).index(key) if key in self._masks else len(self._masks)}"
        self._masks.setdefault(
            key,
            f'<mask id="{name}" maskUnits="userSpaceOnUse" {EVERYWHERE} mask-type="{by}">'
            f'<g fill-rule="evenodd">{inside}</g></mask>',
        )
        return name


class _Groups:
    """Shapes in their order, each within the groups that it was drawn in; neighbours share those that they can."""

    def __init__(self, opened: Callable[[Veil], str]) -> None:
        self._opened = opened
        self._parts: list[str] = []
        self._open: tuple[Veil, ...] = ()

    def add(self, veils: tuple[Veil, ...], text: str) -> None:
        """Add a shape within its groups, the outermost first."""
        shared = 0
        while shared < min(len(veils), len(self._open)) and veils[shared].key == self._open[shared].key:
            shared += 1
        self._parts += ["</g>"] * (len(self._open) - shared)
        self._parts += [self._opened(veil) for veil in veils[shared:]]
        self._open = veils
        self._parts.append(text)

    def wrap(self, tag: str) -> None:
        """Put all that was added so far into a group of its own."""
        self._parts = [tag, self.text(), "</g>"]

    def text(self) -> str:
        """All that was added, with every group closed."""
        self.add((), "")
        return "".join(self._parts)


def _common(shapes: Sequence[Shape]) -> tuple[Veil, ...]:
    """The groups that all of some shapes lie in, the outermost first."""
    levels = zip(*(shape.coat.veils if shape.coat else () for shape in shapes), strict=False)
    return tuple(level[0] for level in takewhile(lambda level: len({veil.key for veil in level}) == 1, levels))


def _region(shape: Shape) -> BaseGeometry:
    """All that a shape colours: more than its wood where it was drawn to shine through elsewhere."""
    return shape.coat.region if shape.coat and shape.role in ("wood", "glaze") else shape.geometry


def _paths(regions: Sequence[BaseGeometry], tolerance_mm: float) -> list[str]:
    """The path data of each region. In one go: a call for each of a thousand leaves would take most of the time."""
    thin = thinned(np.array(regions, dtype=object), tolerance_mm)
    parts, owner = shapely.get_parts(thin, return_index=True)
    parts, owner = _single_lines(parts, owner)
    points, line = shapely.get_coordinates(parts, return_index=True)
    words = list(map(str, np.rint(points * UNITS_PER_MM).astype(np.int64).ravel().tolist()))
    ends = np.searchsorted(line, np.arange(len(parts)), side="right") * 2
    paths: list[list[str]] = [[] for _ in regions]
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
