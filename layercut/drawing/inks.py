"""What a fill or a stroke comes out as: paint values resolved against the drawing.

Enters: an element's style. Leaves: `Ink`, or None where nothing is painted.
"""

from collections.abc import Callable
from dataclasses import dataclass, field

from lxml import etree

from layercut.drawing.document import local_name
from layercut.drawing.paints import (
    SERVERS,
    Colour,
    Ink,
    PaintValue,
    blend_ink,
    colour_ink,
    gradient_ink,
    hex_colour,
    parse_colour,
    parse_paint,
)
from layercut.drawing.references import References
from layercut.drawing.remarks import Remarks
from layercut.drawing.styles import Style
from layercut.drawing.units import parse_fraction

_BLACK: Colour = (0.0, 0.0, 0.0, 1.0)


@dataclass(slots=True)
class Inks:
    """Resolves paints; gradients and patterns are worked out once each."""

    references: References
    remarks: Remarks
    style_of: Callable[[etree._Element], Style]
    _servers: dict[etree._Element, Ink | None] = field(default_factory=dict)

    def ink(self, name: str, style: Style, layer: str, element: str) -> Ink | None:
        """The ink of `fill` or `stroke`; None for none, and for a wholly transparent colour."""
        value = parse_paint(style.get(name))
        ink = self._resolve(value, style, layer, element) if value else None
        return None if ink is None or ink.alpha == 0 else ink

    def _resolve(self, value: PaintValue, style: Style, layer: str, element: str) -> Ink | None:
        match value.kind:
            case "none":
                return None
            case "colour":
                return colour_ink(value.colour)
            case "current":
                return colour_ink(_current(style))
            case "context":
                hint = "Give the shape a colour of its own."
                statement = f"the paint '{value.url}' is not supported and counts as none"
                self.remarks.add("unsupported", statement, hint, layer=layer, element=element)
                return None
            case _:
                return self._server(value, style, layer, element)

    def _server(self, value: PaintValue, style: Style, layer: str, element: str) -> Ink | None:
        """A referenced gradient or pattern; a missing one gives its fallback, or none (SVG 2, 13.2)."""
        target = self.references.find(value.url)
        if target is None or local_name(target) not in SERVERS:
            if value.fallback is not None:
                return self._resolve(value.fallback, style, layer, element)
            hint = "Give the shape a colour."
            statement = "a paint that refers to nothing counts as none"
            self.remarks.add("unsupported", statement, hint, layer=layer, element=element)
            return None
        if target not in self._servers:
            self._servers[target] = self._server_ink(target)
        ink = self._servers[target]
        if ink is not None and (ink.paint.blend or local_name(target) == "pattern"):
            statement = "a gradient or pattern is wood, to be painted as a blend"
            self.remarks.add("blend", statement, layer=layer, element=element)
        return ink

    def _server_ink(self, target: etree._Element) -> Ink | None:
        if local_name(target) != "pattern":
            return gradient_ink(target, self.references.find, self._stop_colour)
        colours = self._pattern_colours(target)
        if not colours:
            return None
        if len(colours) == 1:
            return colour_ink(colours[0])
        return blend_ink([(index / (len(colours) - 1), colour) for index, colour in enumerate(colours)])

    def _pattern_colours(self, pattern: etree._Element) -> list[Colour]:
        """The plain colours of a pattern's content, each once; they stand for stops."""
        seen: list[etree._Element] = []
        source: etree._Element | None = pattern
        while source is not None and source not in seen:
            seen.append(source)
            found: dict[str, Colour] = {}
            for element in source.iter():
                if element is source or not local_name(element) or len(found) >= 16:
                    continue
                for name in ("fill", "stroke"):
                    style = self.style_of(element)
                    value = parse_paint(style.get(name))
                    if value and value.kind in ("colour", "current") and len(element) == 0:
                        colour = value.colour if value.kind == "colour" else _current(style)
                        found.setdefault(hex_colour(colour), colour)
            if found:
                return list(found.values())
            source = self.references.target(source)
        return []

    def _stop_colour(self, stop: etree._Element) -> tuple[Colour, float]:
        style = self.style_of(stop)
        colour = parse_colour(style.get("stop-color"))
        opacity = parse_fraction(style.get("stop-opacity"))
        resolved = _current(style) if isinstance(colour, str) else colour
        return resolved or _BLACK, 1.0 if opacity is None else opacity


def _current(style: Style) -> Colour:
    colour = parse_colour(style.get("color"))
    return _BLACK if colour is None or isinstance(colour, str) else colour
