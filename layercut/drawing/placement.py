"""An element's own transform, from its attribute or from CSS.

Enters: an element and its style. Leaves: the map, and a word on what isn't supported.
"""

import re

from lxml import etree

from layercut.drawing.css.styles import Style
from layercut.drawing.transforms import IDENTITY, compose, parse_transform
from layercut.drawing.units import Viewport, parse_length
from layercut.geometry.curves import Affine

_KEYWORDS = {"left": "0%", "top": "0%", "center": "50%", "right": "100%", "bottom": "100%"}
_PLAIN = {
    "transform-box": ("view-box", "border-box"),
    "translate": ("none",),
    "rotate": ("none",),
    "scale": ("none",),
}


def own_transform(element: etree._Element, style: Style, viewport: Viewport) -> tuple[Affine, str]:
    """The element's map, with `transform-origin` applied, and what of it isn't supported ('' if all is).

    The property wins over the attribute. A malformed list doesn't count at all (CSS Transforms 1).
    """
    own = style.own
    text = own.get("transform") or element.get("transform")
    matrix = parse_transform(text) if text else IDENTITY
    problem = "" if matrix is not None else "a malformed 'transform'"
    matrix = matrix or IDENTITY
    if not own:
        return matrix, problem
    for name, plain in _PLAIN.items():
        if own.get(name, plain[0]).lower() not in plain:
            problem = f"the CSS property '{name}'"
    origin = own.get("transform-origin", "")
    if origin and matrix != IDENTITY:
        point = _origin(origin, style, viewport)
        if point is None:
            return matrix, "this 'transform-origin'"
        x, y = point
        matrix = compose(compose((1.0, 0.0, 0.0, 1.0, x, y), matrix), (1.0, 0.0, 0.0, 1.0, -x, -y))
    return matrix, problem


def _origin(text: str, style: Style, viewport: Viewport) -> tuple[float, float] | None:
    words = re.split(r"[\s,]+", text.strip().lower())
    if len(words) > 2 and parse_length(words[2], None) != 0:
        return None
    if words[0] in ("top", "bottom") or (len(words) > 1 and words[1] in ("left", "right")):
        words[:2] = [words[1] if len(words) > 1 else "center", words[0]]
    down = words[1] if len(words) > 1 else "center"
    x = parse_length(_KEYWORDS.get(words[0], words[0]), viewport.width, style.font_size)
    y = parse_length(_KEYWORDS.get(down, down), viewport.height, style.font_size)
    return None if x is None or y is None else (x, y)
