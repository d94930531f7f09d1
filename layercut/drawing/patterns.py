"""Patterns: what they repeat, and where the tiles lie (SVG 2, 13.3).

Enters: a pattern element, and where a shape uses it. Leaves: `Tiles` in mm on the panel, or None where nothing is
painted. Attributes and content that a pattern doesn't have itself come from the one that its href names.
"""

from lxml import etree

from layercut.drawing.display_list import Context, Item, Tiles
from layercut.drawing.document import local_name
from layercut.drawing.gradients import Place, box_map, chain
from layercut.drawing.page import parse_viewbox, viewbox_map
from layercut.drawing.painted import Painted
from layercut.drawing.transforms import IDENTITY, compose, determinant, parse_transform
from layercut.drawing.units import Viewport, parse_length
from layercut.geometry.curves import Affine

PATTERNS = frozenset({"pattern"})

_WHOLE = Viewport(1.0, 1.0)


def read_tiles(element: etree._Element, use: Painted) -> Tiles | None:
    """The tiles of a pattern; None without content or size, and for a pattern within itself."""
    place = use.place()
    linked = list(chain(element, use.traversal.references, PATTERNS))
    source = next((link for link in linked if any(local_name(child) for child in link)), None)
    if source is None or source in use.here.used:
        return None
    inner = parse_transform(_attribute(linked, "patternTransform") or "") or IDENTITY
    box = _tile_box(linked, place)
    if box is None or determinant(inner) == 0:
        return None
    x, y, width, height = box
    base = compose(place.matrix, inner)
    content = _content_map(linked, place, box)
    if content is None:
        return None
    items = _content(source, use, (compose(base, content[0]), content[1]))
    a, b, c, d, e, f = base
    corner = (a * x + c * y + e, b * x + d * y + f)
    return Tiles(tuple(items), corner, (a * width, b * width), (c * height, d * height), use.traversal.next_serial())


def _attribute(linked: list[etree._Element], name: str) -> str | None:
    return next((link.get(name) for link in linked if link.get(name) is not None), None)


def _tile_box(linked: list[etree._Element], place: Place) -> tuple[float, float, float, float] | None:
    """Left, top, width and height of the tile that the pattern describes, in the space of its transform."""
    boxed = _attribute(linked, "patternUnits") != "userSpaceOnUse"
    if boxed and place.box is None:
        return None
    view = _WHOLE if boxed else place.viewport
    x, y, width, height = (
        parse_length(_attribute(linked, name), whole, place.font_size) or 0.0
        for name, whole in (("x", view.width), ("y", view.height), ("width", view.width), ("height", view.height))
    )
    if width <= 0 or height <= 0:
        return None
    if boxed and place.box is not None:
        left, top, wide, high = place.box
        x, y, width, height = left + x * wide, top + y * high, width * wide, height * high
    return x, y, width, height


def _content_map(
    linked: list[etree._Element], place: Place, tile: tuple[float, float, float, float]
) -> tuple[Affine, Viewport] | None:
    """The map from the content's space to that of the tile's box, and what percentages refer to in it.

    Browsers and renderers lay the content's origin at the tile's corner, wherever that is, and so do we.
    """
    viewbox = parse_viewbox(_attribute(linked, "viewBox"))
    x, y, width, height = tile
    if viewbox is not None:
        if min(viewbox[2:]) <= 0:
            return None
        fit = viewbox_map(viewbox, _attribute(linked, "preserveAspectRatio"), width, height)
        return compose((1.0, 0.0, 0.0, 1.0, x, y), fit), Viewport(viewbox[2], viewbox[3])
    if _attribute(linked, "patternContentUnits") == "objectBoundingBox":
        return None if place.box is None else (box_map((x, y, *place.box[2:])), _WHOLE)
    return (1.0, 0.0, 0.0, 1.0, x, y), place.viewport


def _content(source: etree._Element, use: Painted, placed: tuple[Affine, Viewport]) -> list[Item]:
    """What one tile draws. It inherits from where the pattern stands, not from the shape that uses it."""
    here = use.here
    # No veils and no role: how opaque the shape is, and what the maker calls it, counts for the tiles together.
    inside = Context(
        placed[0],
        use.traversal.styles.computed(source),
        placed[1],
        layer=here.layer,
        depth=here.depth + 1,
        used=(*here.used, source),
        masking=here.masking,
    )
    items: list[Item] = []
    for child in source:
        items += use.traversal.walk(child, inside)
    return items
