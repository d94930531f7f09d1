"""The walk over the tree: everything that draws, in paint order.

Enters: the tree with its styles and references. Leaves: `Item`s, placed in mm on the panel, each with its layer.
Groups, transforms, use, symbol, switch, nested svg and clip paths are gone afterwards; of groups that let something
through, each item still knows those around it.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace

import numpy as np
from lxml import etree
from shapely import Polygon

from layercut.colour.coats import Veil
from layercut.drawing.clips import ClipPaths
from layercut.drawing.conditions import chosen, passes
from layercut.drawing.css.styles import Style, Styles
from layercut.drawing.diagnostics import Diagnostics
from layercut.drawing.display_list import Context, Ink, Item
from layercut.drawing.document import MAX_DEPTH, local_name
from layercut.drawing.gradients import Box
from layercut.drawing.lettering.text import Lettering, text_items
from layercut.drawing.masks import mask_items
from layercut.drawing.names import Places, Word, called, own_names, word_of
from layercut.drawing.page import Page, parse_viewbox, viewbox_map
from layercut.drawing.paint_servers import PaintServers
from layercut.drawing.painted import Painted
from layercut.drawing.placement import own_transform
from layercut.drawing.references import References
from layercut.drawing.render import Rules, too_far, within_reach
from layercut.drawing.shapes import SHAPES, Lengths, ParsePath, shape_path, stroke_pen
from layercut.drawing.transforms import IDENTITY, compose, determinant
from layercut.drawing.units import Viewport, parse_fraction, parse_number
from layercut.errors import DrawingError
from layercut.geometry.curves import Affine, FloatArray, Path, chord_counts, flatten, map_points, place
from layercut.geometry.strokes import StrokeStyle

MAX_ELEMENTS = 100_000
"""Elements drawn in all, uses followed. A drawing of 16,000 leaves has a sixth of it."""

_REFUSED_PROPERTIES = (("filter", "none"), ("mix-blend-mode", "normal"))
_MEASURED = 1000.0
_NO_PEN = StrokeStyle(0.0)
_MARKERS = ("marker-start", "marker-mid", "marker-end")
_ANIMATION = {"animate", "animateTransform", "animateMotion", "animateColor", "set"}
_FOREIGN = {"foreignObject", "video", "audio", "iframe", "canvas", "object", "embed"}


@dataclass(slots=True)
class Walker:
    """Walks one drawing. `layers` says which elements begin a layer, `skipped` which are left out whole.

    `parse` reads path data. It is the `Traversal` that clips, masks, patterns, paints and lettering know.
    """

    rules: Rules
    styles: Styles
    references: References
    diagnostics: Diagnostics
    places: Places
    lettering: Lettering
    parse: ParsePath
    layers: Mapping[etree._Element, int]
    layer_names: tuple[str, ...]
    skipped: frozenset[etree._Element]
    _servers: PaintServers = field(default_factory=PaintServers, init=False)
    _clips: ClipPaths = field(default_factory=ClipPaths, init=False)
    _count: int = field(default=0, init=False)
    _serial: int = field(default=0, init=False)

    def next_serial(self) -> int:
        """A number that nothing else of the drawing has."""
        self._serial += 1
        return self._serial

    def enter_root(self, root: etree._Element, page: Page) -> Context:
        """The context of the whole drawing: its own opacity and mask make a group of all layers together.

        Its mask and clip path lie in the space of its viewBox, as a nested svg's do.
        """
        style = self.styles.computed(root)
        here = Context(page.to_panel, style, page.viewport, self.veil_of(style))
        self._note_properties(root, style, here)
        if own_transform(root, style, page.viewport) != (IDENTITY, ""):
            self.note(root, here, "a transform of the whole drawing was ignored", "Transform its groups instead.")
        return here

    def walk(
        self, element: etree._Element, around: Context, box: tuple[float | None, float | None] | None = None
    ) -> list[Item]:
        """All that an element draws. `box` is the size that a use gives to a symbol or svg.

        Raises DrawingError `too-many-elements` and `too-deep`.
        """
        kind = local_name(element)
        if not kind or element in self.skipped:
            return []
        style = around.style.child(self.styles.declared(element))
        if style.get("display").lower() == "none" or not passes(element):
            return []
        self._guard(around.depth)
        here = self._enter(element, style, around)
        if determinant(here.matrix) == 0:
            return []  # SVG 2, 8.5: an element with a singular matrix isn't rendered
        if kind in SHAPES:
            items = self._shape(element, kind, here, alone=len(here.veils) > len(around.veils))
            self._note_animation(element, here)
        elif kind in ("g", "a", "switch") and not here.clipping:
            items = []
            for child in self._children(element, kind):
                items += self.walk(child, here)
        elif kind == "text":
            items = text_items(self, self.lettering, element, here)
        elif kind == "use":
            # SVG 2, 5.6: x and y are part of the use's own transform, so its clip path and mask move along.
            here = replace(here, matrix=compose(here.matrix, self._shift(element, here)))
            items = self._use(element, here)
        elif (kind == "svg" and not here.clipping) or (kind == "symbol" and box is not None):
            view = self._view(element, here, box or (None, None))
            if view is None:
                return []
            here, room = view
            items = self._viewport(element, here, room)
        else:
            self._note_undrawn(element, kind, here)
            return []
        return self.with_effects(element, style, here, items) if style.own else items

    def with_effects(
        self, element: etree._Element, style: Style, here: Context, items: list[Item], around: Box | None = None
    ) -> list[Item]:
        """The items under the element's own mask and clip path; `around` is the box of what a mask's mask is for."""
        mask, clip = style.own.get("mask", "none"), style.own.get("clip-path", "none")
        if mask.lower() != "none" and not here.clipping:
            items = mask_items(self, element, mask, here, items, around)
        return self._clips.clip(self, element, clip, here, items) if clip.lower() != "none" else items

    def enter_span(self, element: etree._Element, around: Context) -> Context | None:
        """The context of an element within a text, whose own transform doesn't count; None where it isn't shown.

        Raises DrawingError as `walk` does.
        """
        style = around.style.child(self.styles.declared(element))
        if style.get("display").lower() == "none" or not passes(element):
            return None
        self._guard(around.depth)
        return replace(self._enter(element, style, around), matrix=around.matrix)

    def note(self, element: etree._Element, here: Context, statement: str, hint: str = "") -> None:
        """Say that something isn't supported, unless the maker said that the element is a guide."""
        if here.role != "guide":
            self.report("unsupported", element, here, statement, hint)

    def report(self, code: str, element: etree._Element, here: Context, statement: str, hint: str = "") -> None:
        """Say that `statement` (a clause without a full stop) holds for an element."""
        layer, shown = self.layer_name(here), self.places.name(element)
        self.diagnostics.add(code, statement, hint, layer=layer, element=shown)

    def layer_name(self, here: Context) -> str:
        """The name of the layer that we are in, empty outside all."""
        return "" if here.layer is None else self.layer_names[here.layer]

    def _guard(self, depth: int) -> None:
        self._count += 1
        if self._count > MAX_ELEMENTS:
            raise DrawingError(
                "too-many-elements",
                f"the drawing has more than {MAX_ELEMENTS} elements, counting each use of a symbol.",
                "Simplify it, or split it into several drawings.",
                file=self.rules.file,
            )
        if depth > MAX_DEPTH:
            hint = "Ungroup some of it, or use fewer symbols within symbols."
            message = f"groups and uses are nested more than {MAX_DEPTH} deep."
            raise DrawingError("too-deep", message, hint, file=self.rules.file)

    def _enter(self, element: etree._Element, style: Style, around: Context) -> Context:
        own, problem = own_transform(element, style, around.viewport)
        layer = self.layers.get(element, around.layer)
        role = None if around.clipping else self._role(element, around, layer)
        here = Context(
            compose(around.matrix, own),
            style,
            around.viewport,
            (*around.veils, *self.veil_of(style)),
            role,
            layer,
            around.depth + 1,
            around.used,
            around.clipping,
            (*around.around, *own_names(element)) if layer is not None and layer == around.layer else (),
            around.masking,
        )
        if problem:
            self.note(element, here, f"{problem} was ignored", "Apply the transform in your editor.")
        if style.own:
            self._note_properties(element, style, here)
        return here

    def veil_of(self, style: Style) -> tuple[Veil, ...]:
        """The group that an element's own opacity or mask makes of it; its mask is known only with its content."""
        if not style.own:
            return ()
        opacity = parse_fraction(style.own.get("opacity", "1"))
        opacity = 1.0 if opacity is None else opacity
        if opacity >= 1 and style.own.get("mask", "none").lower() == "none":
            return ()
        return (Veil((self.next_serial(),), opacity),)

    def _role(self, element: etree._Element, around: Context, layer: int | None) -> Word | None:
        # The name of a layer, or of what is around all layers, is a name and no more.
        by_name = around.layer is not None and layer == around.layer
        name = "" if layer is None else self.layer_names[layer]
        shown = self.places.name(element) if element.get("data-layercut") is not None else ""
        return word_of(element, self.rules.file, name, shown, by_name=by_name) or around.role

    def _note_properties(self, element: etree._Element, style: Style, here: Context) -> None:
        for name, plain in _REFUSED_PROPERTIES:
            if style.own.get(name, plain).lower() != plain:
                self.note(element, here, f"'{name}' is not supported and was ignored", "Draw its effect as shapes.")

    def _children(self, element: etree._Element, kind: str) -> Iterator[etree._Element]:
        if kind != "switch":
            return iter(element)
        child = chosen(element)
        return iter(() if child is None else (child,))

    def _shape(self, element: etree._Element, kind: str, here: Context, *, alone: bool) -> list[Item]:
        """A shape's item. `alone` says that the last veil is the shape's own."""
        path, good = shape_path(element, here.style, here.viewport, self.parse)
        if not good:
            hint = "Redraw it, or let your editor write it anew."
            self.note(element, here, "the geometry has an error; what comes after the error was left out", hint)
        if path.is_empty:
            return []
        style = here.style
        shown = self.places.name(element)
        fill, stroke = self.paints(element, here, path)
        if (fill or stroke) and kind in ("path", "line", "polyline", "polygon") and not here.clipping:
            self._note_markers(element, here)
        rule = style.get("clip-rule" if here.clipping else "fill-rule").lower()
        pen = stroke_pen(style, here.viewport) if stroke else _NO_PEN
        if pen.dashes and element.get("pathLength"):
            pen = _measured(pen, path, parse_number(element.get("pathLength")))
        if pen.width <= 0:
            stroke = None
        veils = here.veils
        if alone and here.style.own.get("mask", "none").lower() == "none" and (fill is None) != (stroke is None):
            # A group of one coat is that coat, thinner.
            fill, stroke, veils = _thinned(fill, veils[-1]), _thinned(stroke, veils[-1]), veils[:-1]
        return [
            Item(
                path,
                here.matrix,
                "evenodd" if rule == "evenodd" else "nonzero",
                fill,
                stroke,
                pen,
                style.own.get("vector-effect", "").lower() == "non-scaling-stroke",
                _stroke_first(style.get("paint-order")),
                here.role,
                (),
                here.layer,
                shown,
                called(element, here.around),
                veils,
            )
        ]

    def paints(
        self, element: etree._Element, here: Context, path: Path | None = None
    ) -> tuple[Ink | None, Ink | None]:
        """Fill and stroke of an element with their own opacity; None for what it hasn't, or that is hidden.

        `path` is the geometry whose box gradients and patterns may lie in.
        """
        if here.style.get("visibility").lower() != "visible":
            return None, None
        use = Painted(self, element, here, path)
        if here.clipping:
            return self._servers.ink("color", Style(), use), None
        return self._servers.ink("fill", here.style, use), self._servers.ink("stroke", here.style, use)

    def _note_markers(self, element: etree._Element, here: Context) -> None:
        inherited = here.style.inherited
        if any(inherited[name] != "none" for name in _MARKERS):
            hint = "Turn the markers into shapes in your editor."
            self.note(element, here, "markers (arrow heads) are not supported and were left out", hint)

    def _note_animation(self, shape: etree._Element, here: Context) -> None:
        for child in shape:
            if local_name(child) in _ANIMATION:
                self._note_undrawn(child, local_name(child), here)

    def _use(self, element: etree._Element, here: Context) -> list[Item]:
        target = self.references.target(element)
        if target is None:
            self.note(
                element,
                here,
                "a use refers to nothing in the file and was left out",
                "Remove it or paste the original.",
            )
            return []
        if target in here.used or any(target is parent for parent in element.iterancestors()):
            self.note(element, here, "a use refers to itself and was left out", "Remove it.")
            return []
        lengths = Lengths(element, here.style, here.viewport)
        inner = replace(here, used=(*here.used, target))
        kind = local_name(target)
        if here.clipping and kind not in SHAPES:
            self.note(element, here, "a use of something other than a shape in a clip path was left out")
            return []
        box = None
        if kind in ("symbol", "svg"):
            box = (lengths.get("width", here.viewport.width), lengths.get("height", here.viewport.height))
        # A message names the copy, not the original: of forty leaves, which one floats?
        name, own = self.places.name(element), called(element, ())
        drawn = self.walk(target, inner, box)
        return [replace(item, element=name, called=replace(own, around=item.called.around)) for item in drawn]

    def _shift(self, element: etree._Element, here: Context) -> Affine:
        lengths = Lengths(element, here.style, here.viewport)
        return (1.0, 0.0, 0.0, 1.0, lengths.x("x"), lengths.y("y"))

    def _view(
        self, element: etree._Element, here: Context, box: tuple[float | None, float | None]
    ) -> tuple[Context, FloatArray] | None:
        """The space within a nested svg or a used symbol, in which its own mask and clip path count too, and the
        corners of its viewport, (4, 2) mm; None for one without a size."""
        lengths = Lengths(element, here.style, here.viewport)
        width, height = box
        if width is None:
            width = lengths.get("width", here.viewport.width)
        if height is None:
            height = lengths.get("height", here.viewport.height)
        width = here.viewport.width if width is None else width
        height = here.viewport.height if height is None else height
        viewbox = parse_viewbox(element.get("viewBox"))
        if width <= 0 or height <= 0 or (viewbox and min(viewbox[2:]) <= 0):
            return None
        outer = compose(here.matrix, self._shift(element, here))
        matrix = compose(outer, viewbox_map(viewbox, element.get("preserveAspectRatio"), width, height))
        viewport = Viewport(viewbox[2], viewbox[3]) if viewbox else Viewport(width, height)
        return replace(here, matrix=matrix, viewport=viewport), _corners(outer, width, height)

    def _viewport(self, element: etree._Element, inner: Context, corners: FloatArray) -> list[Item]:
        """What a nested svg or a used symbol draws; what sticks out is cut off unless it says otherwise."""
        items = []
        for child in element:
            items += self.walk(child, inner)
        if inner.style.own.get("overflow", "hidden").lower() in ("visible", "auto"):
            return items
        if items and not within_reach(corners.ravel()):
            raise too_far(self.rules.file, self.layer_name(inner), self.places.name(element))
        return [item.clipped(Polygon(corners)) for item in items]

    def _note_undrawn(self, element: etree._Element, kind: str, here: Context) -> None:
        """Remark on what draws in other programs but not here."""
        if here.role == "guide" or here.style.get("visibility").lower() != "visible":
            return
        if kind == "image":
            self.report("picture", element, here, "a picture is not wood and was ignored")
        elif kind == "flowRoot":
            statement, hint = "text that flows into a shape is not supported and was left out", "Turn it into paths."
            self.report("text-unread", element, here, statement, hint)
        elif kind in _ANIMATION:
            self.note(element, here, "animation is not supported; the drawing is read as it stands at rest")
        elif kind in _FOREIGN:
            self.note(element, here, f"'{kind}' is not supported and was left out", "Draw it as shapes.")
        elif here.clipping and kind in ("g", "svg", "switch", "a"):
            self.note(element, here, "a group in a clip path doesn't count", "Put the shapes into it directly.")


def _thinned(ink: Ink | None, veil: Veil) -> Ink | None:
    return None if ink is None else replace(ink, wash=replace(ink.wash, opacity=ink.wash.opacity * veil.opacity))


def _measured(pen: StrokeStyle, path: Path, own_length: float | None) -> StrokeStyle:
    """The pen with dashes that count in the author's `pathLength` (SVG 2, 9.6.1); a bad length doesn't count."""
    if own_length is None or own_length <= 0:
        return pen
    size = float(np.abs(path.segments).max())
    if not 0 < size < np.inf:
        return pen
    # Measured at a thousandfold of the unit square's size, for its own units may be of any size.
    placed = place([path], [(_MEASURED / size, 0.0, 0.0, _MEASURED / size, 0.0, 0.0)])
    (lines,) = flatten([path], placed, chord_counts([path], placed))
    scale = sum(float(np.hypot(*np.diff(line.points, axis=0).T).sum()) for line in lines) / own_length
    scale *= size / _MEASURED
    return replace(pen, dashes=tuple(dash * scale for dash in pen.dashes), offset=pen.offset * scale)


def _stroke_first(order: str) -> bool:
    words = order.lower().split()
    return "stroke" in words and ("fill" not in words or words.index("stroke") < words.index("fill"))


def _corners(matrix: Affine, width: float, height: float) -> FloatArray:
    corners = np.array([(0, 0), (width, 0), (width, height), (0, height)], dtype=np.float64)
    return map_points(corners, matrix)
