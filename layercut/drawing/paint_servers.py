"""What a fill or a stroke comes out as: paint values resolved against the drawing.

Enters: an element's style, and what the paint is put on. Leaves: `Ink`, or None where nothing is painted.
"""

from dataclasses import dataclass, field, replace

from lxml import etree

from layercut.colour.bands import turn_mm
from layercut.colour.folding import even_coat, hex_of, is_clear, mean_of_stops
from layercut.colour.washes import FlatWash, GradedWash, Rgb, Wash
from layercut.drawing.css.styles import Style, Styles
from layercut.drawing.display_list import Ink
from layercut.drawing.document import local_name
from layercut.drawing.gradients import gradient_wash
from layercut.drawing.painted import Painted
from layercut.drawing.paints import SERVERS, Colour, PaintValue, parse_colour, parse_paint
from layercut.drawing.patterns import read_tiles
from layercut.drawing.traversal import Traversal
from layercut.drawing.units import parse_fraction
from layercut.geometry.precision import FINEST_TURN_MM

_BLACK: Colour = (0.0, 0.0, 0.0, 1.0)

MOST_NESTED = 2
"""So many patterns are drawn one in another. Each multiplies the parts of the one around it."""

_MOST_COLOURS = 16
"""So many plain colours of a pattern's content are looked at for its mean."""


@dataclass(frozen=True, slots=True)
class PaintServers:
    """Resolves the paints of one drawing; the mean colour of a pattern is found once."""

    _means: dict[etree._Element, Rgb] = field(default_factory=dict)

    def ink(self, name: str, style: Style, use: Painted) -> Ink | None:
        """The ink of `fill` or `stroke` with its own opacity in it; None for none, and for what is wholly clear."""
        value = parse_paint(style.get(name))
        ink = self._resolve(value, style, use) if value else None
        own = parse_fraction(style.get(f"{name}-opacity"))
        if ink is not None and own is not None and own < 1:
            ink = replace(ink, wash=replace(ink.wash, opacity=ink.wash.opacity * own))
        return None if ink is None or is_clear(ink.wash) else ink

    def _resolve(self, value: PaintValue, style: Style, use: Painted) -> Ink | None:
        match value.kind:
            case "none":
                return None
            case "colour":
                return _plain(value.colour)
            case "current":
                return _plain(_current(style))
            case "context":
                hint = "Give the shape a colour of its own."
                use.note(f"the paint '{value.url}' is not supported and counts as none", hint)
                return None
            case _:
                return self._server(value, style, use)

    def _server(self, value: PaintValue, style: Style, use: Painted) -> Ink | None:
        """A referenced gradient or pattern; one that is missing, or can't be drawn here, such as a pattern without
        size or content, gives its fallback, or none (SVG 2, 13.2)."""
        target = use.traversal.references.find(value.url)
        known = target is not None and local_name(target) in SERVERS
        ink = self._served(target, use) if target is not None and known else None
        if ink is None and value.fallback is not None:
            return self._resolve(value.fallback, style, use)
        if not known:
            use.note("a paint that refers to nothing counts as none", "Give the shape a colour.")
        return ink

    def _served(self, target: etree._Element, use: Painted) -> Ink | None:
        if local_name(target) == "pattern":
            return self._pattern(target, use)
        styles = use.traversal.styles
        wash = gradient_wash(target, use.place(), use.traversal.references, lambda stop: _stop_colour(styles, stop))
        if isinstance(wash, GradedWash) and styles.computed(target).get("color-interpolation").lower() == "linearrgb":
            hint = "Give it more stops, or take 'linearRGB' away."
            use.note("'color-interpolation' is not supported, and a gradient was mixed in sRGB", hint)
        if isinstance(wash, GradedWash) and turn_mm(wash.gradient) < FINEST_TURN_MM:
            wash = even_coat(wash.gradient.stops)
            statement = "a gradient repeats too finely to be painted, and its mean colour stands for it"
            use.note(statement, "Give it a longer way, or the shape a plain colour.", "tiles-many")
        return None if wash is None else Ink(hex_of(_mean(wash)), wash)

    def _pattern(self, target: etree._Element, use: Painted) -> Ink | None:
        around = [one for one in use.here.used if isinstance(one, etree._Element) and local_name(one) == "pattern"]
        too_deep = len(around) >= MOST_NESTED and target not in around
        tiles = None if too_deep else read_tiles(target, use)
        if too_deep:
            statement = "patterns lie too deeply in each other, and a mean colour stands for the innermost"
            use.note(statement, "Give the innermost shapes plain colours.", "tiles-many")
        elif tiles is None:
            return None
        if target not in self._means:
            self._means[target] = _mean_of_pattern(target, use.traversal)
        mean = self._means[target]
        return Ink(hex_of(mean), FlatWash(mean), tiles)


def _mean_of_pattern(pattern: etree._Element, traversal: Traversal) -> Rgb:
    """The mean of the plain colours of a pattern's content, each once; black where there are none."""
    colours = _pattern_colours(pattern, traversal)
    share = 1 / max(len(colours), 1)
    red, green, blue = (share * sum(colour[channel] for colour in colours) for channel in range(3))
    return (red, green, blue)


def _pattern_colours(pattern: etree._Element, traversal: Traversal) -> list[Colour]:
    seen: list[etree._Element] = []
    source: etree._Element | None = pattern
    # As its content, a pattern's colours may be those of the one that it refers to.
    while source is not None and source not in seen:
        seen.append(source)
        found: dict[str, Colour] = {}
        for element in source.iter():
            if element is source or not local_name(element) or len(found) >= _MOST_COLOURS:
                continue
            for name in ("fill", "stroke"):
                style = traversal.styles.computed(element)
                value = parse_paint(style.get(name))
                if value and value.kind in ("colour", "current") and len(element) == 0:
                    colour = value.colour if value.kind == "colour" else _current(style)
                    found.setdefault(hex_of(colour[:3]), colour)
        if found:
            return list(found.values())
        source = traversal.references.target(source)
    return []


def _stop_colour(styles: Styles, stop: etree._Element) -> tuple[Colour, float]:
    style = styles.computed(stop)
    colour = parse_colour(style.get("stop-color"))
    opacity = parse_fraction(style.get("stop-opacity"))
    resolved = _current(style) if isinstance(colour, str) else colour
    return resolved or _BLACK, 1.0 if opacity is None else opacity


def _plain(colour: Colour) -> Ink:
    return Ink(hex_of(colour[:3]), FlatWash(colour[:3], colour[3]))


def _mean(wash: Wash) -> Rgb:
    """The mean colour of a gradient, whatever its opacity."""
    if isinstance(wash, GradedWash):
        return mean_of_stops(wash.gradient.stops)
    return wash.colour if isinstance(wash, FlatWash) else (0.0, 0.0, 0.0)


def _current(style: Style) -> Colour:
    colour = parse_colour(style.get("color"))
    return _BLACK if colour is None or isinstance(colour, str) else colour
