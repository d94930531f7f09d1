"""Items to shapes: flattening, filling, stroking and clipping, in mm on the panel.

Enters: `Item`s of one layer. Leaves: `Shape`s in paint order, whose regions are valid and not empty.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from layercut.colour.coats import Coat
from layercut.colour.washes import FlatWash
from layercut.drawing.diagnostics import Diagnostics
from layercut.drawing.display_list import Ink, Item
from layercut.drawing.names import Word
from layercut.drawing.opacity import by_opacity
from layercut.drawing.tiling import repeat
from layercut.drawing.transforms import inverse, is_similarity, mean_scale
from layercut.errors import DrawingError
from layercut.geometry.curves import Affine, FloatArray, Path, Polyline, chord_counts, flatten, map_points, place
from layercut.geometry.fill import Rule, TangledError, fill_region, fill_regions
from layercut.geometry.precision import FLATTEN_MM, MAX_COORDINATE_MM
from layercut.geometry.regions import EMPTY, Region, as_region
from layercut.geometry.strokes import StrokeStyle, dash_count, dashed, stroke_region, stroke_rings
from layercut.model import Paint, Role, Shape

MAX_POINTS = 5_000_000
"""Points of all flattened curves of a layer; 16,000 leaves have 800,000."""

MAX_DASHES = 20_000
"""Dashes of one element; a pattern beyond it is finer than anything that can be burnt."""

_BATCH = 250
"""Items that are flattened and filled together: enough to be quick, few enough for little memory."""

_MITER_LIMIT = 1e9
"""More than any corner within reach can ask for; a larger limit would only overflow."""

Lines = tuple[Polyline, ...]

Flatten = Callable[[Sequence[Path], FloatArray, NDArray[np.int64]], list[Lines]]
"""`flatten`, or the like of it that keeps what it has made."""


@dataclass(frozen=True, slots=True)
class Rules:
    """What decides what a paint is: the width, mm, below which strokes are marks, the opacity from which on paint is
    wood, and the job's roles by colour.

    `px_map` takes CSS px of the page to mm, for strokes that don't scale. `flatten` makes polylines of paths.
    """

    line_below_mm: float
    wood_opacity: float
    paint_roles: Mapping[str, Word]
    px_map: Affine
    file: str
    flatten: Flatten = flatten

    def role_of(self, item: Item, ink: Ink) -> Word | None:
        """The maker's word for a paint: by name or data, else by colour."""
        return item.role or self.paint_roles.get(ink.colour)


@dataclass(frozen=True, slots=True)
class _Stroke:
    """A stroke ready to draw: lines and pen in one system, and the map from it to mm."""

    lines: Lines
    pen: StrokeStyle
    to_mm: Affine | None
    width_mm: float

    def dashes(self) -> list[FloatArray]:
        """The centre lines of the dashes, mm."""
        pieces = [line.points for line in dashed(self.lines, self.pen)]
        return pieces if self.to_mm is None else [map_points(piece, self.to_mm) for piece in pieces]

    def region(self) -> Region:
        """What the stroke covers, mm."""
        if self.to_mm is None:
            return stroke_region(self.lines, self.pen)
        a, b, c, d, _, _ = self.to_mm
        rings = stroke_rings(self.lines, self.pen, FLATTEN_MM / np.hypot(np.hypot(a, b), np.hypot(c, d)))
        return fill_region([map_points(ring, self.to_mm) for ring in rings], "nonzero")


def render(items: Sequence[Item], rules: Rules, diagnostics: Diagnostics, layer: str) -> tuple[Shape, ...]:
    """The shapes of one layer.

    Raises DrawingError `coordinate` for an element beyond 100 m, and `too-detailed`.
    """
    shapes: list[Shape] = []
    room = MAX_POINTS
    # The budget of points goes down from batch to batch, so that a bomb is refused before it is flattened.
    for start in range(0, len(items), _BATCH):
        batch = items[start : start + _BATCH]
        lines = flat_items(batch, rules, layer, room)
        room -= sum(len(line.points) for group in lines for line in group)
        regions = _fills(batch, lines, rules, layer)
        for item, group, region in zip(batch, lines, regions, strict=True):
            try:
                drawn = list(_shapes_of(item, group, region, rules, diagnostics=diagnostics, layer=layer))
            except TangledError:
                raise _too_tangled(rules.file, layer, item.element) from None
            for shape, ink in drawn:
                geometry = _cut(shape.geometry, item.clips, lines=shape.role == "mark-line")
                if not geometry.is_empty:
                    cut = shape if geometry is shape.geometry else replace(shape, geometry=geometry)
                    shapes += _laid(cut, ink, item, rules, diagnostics=diagnostics, layer=layer)
    return tuple(shapes)


def _laid(shape: Shape, ink: Ink, item: Item, rules: Rules, *, diagnostics: Diagnostics, layer: str) -> list[Shape]:
    """A shape as its paint makes it: wood, glaze or nothing, by how opaque it is; or what its pattern repeats."""
    word = rules.role_of(item, ink)
    if ink.tiles is None or shape.role != "wood":
        return by_opacity(shape, ink.wash, item.veils, _least(rules, word), diagnostics=diagnostics, layer=layer)
    # A tile's parts are wood whatever their opacity: they are judged where they lie, under the shape's veils.
    inside = replace(rules, wood_opacity=0.0)
    content = render(ink.tiles.items, inside, diagnostics, layer)
    tiled = repeat(as_region(shape.geometry), ink, item, content, MAX_POINTS, diagnostics=diagnostics, layer=layer)
    shapes = [] if word is None else [_ground(shape, item)]
    for one in tiled:
        coat = one.coat
        if coat is None:
            shapes.append(one)
            continue
        bare = replace(one, coat=None)
        shapes += by_opacity(bare, coat.wash, coat.veils, rules.wood_opacity, diagnostics=diagnostics, layer=layer)
    return shapes


def _least(rules: Rules, word: Word | None) -> float:
    """How opaque paint must be to be what it is; the maker's word makes it so however translucent it is."""
    return rules.wood_opacity if word is None else 0.0


def _ground(shape: Shape, item: Item) -> Shape:
    """The wood of a shape that the maker calls wood, under a pattern that may leave gaps: clear by itself."""
    clear = FlatWash((0.0, 0.0, 0.0), 0.0)
    return replace(shape, paint=Paint.over(()), coat=Coat(as_region(shape.geometry), clear, item.veils))


def flat_items(items: Sequence[Item], rules: Rules, layer: str, room: int = MAX_POINTS) -> list[Lines]:
    """Each item's subpaths as polylines in mm, `room` points at most.

    Raises DrawingError `coordinate` and `too-detailed`.
    """
    paths = [item.path for item in items]
    placed = place(paths, [item.matrix for item in items])
    with np.errstate(invalid="ignore"):
        good = (np.abs(placed) <= MAX_COORDINATE_MM).all(axis=(1, 2))
    if not good.all():
        owner = int(np.searchsorted(np.cumsum([len(path.segments) for path in paths]), good.argmin(), side="right"))
        raise too_far(rules.file, layer, items[owner].element)
    counts = chord_counts(paths, placed)
    if counts.sum() > room:
        hint = "Simplify its paths in your editor, or correct its size."
        raise DrawingError("too-detailed", "its curves need too many points.", hint, file=rules.file, layer=layer)
    return rules.flatten(paths, placed, counts)


def within_reach(numbers: Iterable[float]) -> bool:
    """True when all of the numbers, mm, are places that can be meant."""
    return all(abs(number) <= MAX_COORDINATE_MM for number in numbers)


def too_far(file: str, layer: str, element: str) -> DrawingError:
    """The error for what lies beyond every coordinate that can be meant."""
    message = "reaches further than 100 m, or to no place at all."
    return DrawingError("coordinate", message, "Redraw it, or delete it.", file=file, layer=layer, element=element)


def item_regions(items: Sequence[Item], rules: Rules, layer: str) -> list[Region]:
    """The filled region of each item, with its clips; for clip paths."""
    lines = flat_items(items, rules, layer)
    wanted: list[tuple[list[FloatArray], Rule]] = [
        (_rings(group), item.rule) for item, group in zip(items, lines, strict=True)
    ]
    regions = _filled(wanted, items, rules.file, layer)
    return [as_region(_cut(region, item.clips)) for item, region in zip(items, regions, strict=True)]


def _rings(lines: Lines) -> list[FloatArray]:
    return [line.points for line in lines]


def _too_tangled(file: str, layer: str, element: str) -> DrawingError:
    hint = "Simplify it in your editor, or unite it with itself there."
    message = "crosses itself too often, or in too fine a line, to be read."
    return DrawingError("too-detailed", message, hint, file=file, layer=layer, element=element)


def _filled(
    wanted: list[tuple[list[FloatArray], Rule]], items: Sequence[Item], file: str, layer: str
) -> list[Region]:
    """The filled regions of the items. Raises DrawingError `too-detailed` for one that crosses itself too often."""
    try:
        return fill_regions(wanted)
    except TangledError as error:
        raise _too_tangled(file, layer, items[error.index].element) from None


def _fills(items: Sequence[Item], lines: Sequence[Lines], rules: Rules, layer: str) -> list[Region]:
    """The filled region of every item that has one to show."""
    wanted: list[tuple[list[FloatArray], Rule]] = []
    for item, group in zip(items, lines, strict=True):
        word = rules.role_of(item, item.fill) if item.fill is not None else "guide"
        needed = word != "guide" and (word != "mark-line" or item.merged)
        wanted.append((_rings(group) if needed else [], item.rule))
    return _filled(wanted, items, rules.file, layer)


def _shapes_of(
    item: Item, lines: Lines, region: Region, rules: Rules, *, diagnostics: Diagnostics, layer: str
) -> Iterator[tuple[Shape, Ink]]:
    """An item's fill and stroke as shapes with their inks, in its paint order."""
    if item.role == "mark-line" and item.stroke is not None:
        parts = ["stroke"]  # the stroke's centre line is the outline: once is enough
    else:
        parts = ["stroke", "fill"] if item.stroke_first else ["fill", "stroke"]
    for part in parts:
        shape = (
            _fill_shape(item, lines, region, rules)
            if part == "fill"
            else _stroke_shape(item, lines, region, rules, diagnostics=diagnostics, layer=layer)
        )
        ink = item.fill if part == "fill" else item.stroke
        if shape is not None and ink is not None:
            yield shape, ink


def _fill_shape(item: Item, lines: Lines, region: Region, rules: Rules) -> Shape | None:
    if item.fill is None:
        return None
    word = rules.role_of(item, item.fill)
    if word == "guide":
        return None
    if word == "mark-line":
        if item.merged:
            return Shape("mark-line", shapely.boundary(region), Paint(item.fill.colour), item.element, item.called)
        closed = [np.concatenate((line.points, line.points[:1])) for line in lines]
        return Shape("mark-line", _lines(closed), Paint(item.fill.colour), item.element, item.called)
    return Shape(word or "wood", region, Paint(item.fill.colour), item.element, item.called)


def _stroke_shape(
    item: Item, lines: Lines, region: Region, rules: Rules, *, diagnostics: Diagnostics, layer: str
) -> Shape | None:
    if item.stroke is None:
        return None
    word = rules.role_of(item, item.stroke)
    if word == "guide":
        return None
    stroke = _stroke(item, lines, rules, diagnostics, layer)
    thin = stroke.width_mm < rules.line_below_mm - 1e-9
    role: Role = word or ("mark-line" if thin else "wood")
    geometry: BaseGeometry
    if role == "mark-line":
        geometry = _lines(stroke.dashes())
    elif role == "opening" and thin:
        # A hairline around an opening says where it is, not that it is wider; alone, it stands for what it encloses.
        geometry = EMPTY if not region.is_empty else fill_region(_rings(lines), item.rule)
    else:
        geometry = stroke.region()
        if not geometry.is_empty and not within_reach(geometry.bounds):
            raise too_far(rules.file, layer, item.element)
    return Shape(role, geometry, Paint(item.stroke.colour), item.element, item.called)


def _stroke(item: Item, lines: Lines, rules: Rules, diagnostics: Diagnostics, layer: str) -> _Stroke:
    """The stroke in mm where circles stay circles, else in the system in which its pen is round."""
    pen_map = rules.px_map if item.fixed_pen else item.matrix
    scale = mean_scale(pen_map)
    pen = replace(item.pen, miter_limit=min(item.pen.miter_limit, _MITER_LIMIT))
    if not within_reach((pen.width * float(np.hypot.reduce(pen_map[:4])),)):
        raise too_far(rules.file, layer, item.element)
    # A pen that stays round can be drawn in mm. Another is round only in its own system: the lines, flattened in mm,
    # are taken back there, and what the pen covers is mapped out again.
    back = None if is_similarity(pen_map) else inverse(pen_map)
    if back is None:
        pen = replace(
            pen,
            width=pen.width * scale,
            dashes=tuple(dash * scale for dash in pen.dashes),
            offset=pen.offset * scale,
        )
        drawn, to_mm = lines, None
    else:
        drawn = tuple(replace(line, points=map_points(line.points, back)) for line in lines)
        to_mm = pen_map
        if not all(np.isfinite(line.points).all() for line in drawn):
            raise too_far(rules.file, layer, item.element)
    if pen.dashes and dash_count(drawn, pen) > MAX_DASHES:
        diagnostics.add(
            "unsupported", "a dash pattern too fine to burn was drawn solid", layer=layer, element=item.element
        )
        pen = replace(pen, dashes=())
    return _Stroke(drawn, pen, to_mm, item.pen.width * scale)


def _lines(pieces: Sequence[FloatArray]) -> BaseGeometry:
    """Lines of the pieces that have a length; empty for none."""
    kept = [shapely.LineString(piece) for piece in pieces if (piece != piece[0]).any()]
    return kept[0] if len(kept) == 1 else shapely.MultiLineString(kept)


def _cut(geometry: BaseGeometry, clips: Sequence[Region], *, lines: bool = False) -> BaseGeometry:
    """What of the geometry lies within every clip: lines of lines, regions of regions."""
    for clip in clips:
        if geometry.is_empty or shapely.covers(clip, geometry):
            continue
        inside = shapely.intersection(geometry, clip)
        if lines:
            parts = [part for part in shapely.get_parts(inside) if part.geom_type == "LineString"]
            geometry = parts[0] if len(parts) == 1 else shapely.MultiLineString(parts)
        else:
            geometry = as_region(inside)
    return geometry
