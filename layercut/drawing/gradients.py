"""Gradients as the standard means them: their geometry in mm on the panel (SVG 2, 13.2).

Enters: a gradient element, and where a shape uses it. Leaves: a wash, or None where nothing is painted. Attributes
that a gradient doesn't have itself come from the one that its href names, and so on.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from lxml import etree

from layercut.colour.folding import fold
from layercut.colour.washes import Affine, FlatWash, GradedWash, Gradient, Spread, Stop, Wash
from layercut.drawing.document import local_name
from layercut.drawing.paints import Colour
from layercut.drawing.references import References
from layercut.drawing.transforms import IDENTITY, compose, determinant, parse_transform
from layercut.drawing.units import Viewport, parse_fraction, parse_length

Box = tuple[float, float, float, float]
"""Left, top, width, height, in user units."""

StopColour = Callable[[etree._Element], tuple[Colour, float]]

_WHOLE = Viewport(1.0, 1.0)


@dataclass(frozen=True, slots=True)
class Place:
    """Where a paint is used: the map from the shape's user space to mm, what percentages refer to there, the size of
    its letters, and the box around the shape, None for one without width or height."""

    matrix: Affine
    viewport: Viewport
    font_size: float
    box: Box | None


def box_map(box: Box) -> Affine:
    """The map from the unit square to a box."""
    x, y, width, height = box
    return (width, 0.0, 0.0, height, x, y)


def chain(element: etree._Element, references: References, kinds: frozenset[str]) -> Iterator[etree._Element]:
    """An element and those that it takes attributes from by href, as long as they are of these kinds."""
    seen: set[etree._Element] = set()
    current: etree._Element | None = element
    while current is not None and current not in seen and local_name(current) in kinds:
        seen.add(current)
        yield current
        current = references.target(current)


GRADIENTS = frozenset({"linearGradient", "radialGradient"})


def gradient_wash(
    element: etree._Element, place: Place, references: References, stop_colour: StopColour
) -> Wash | None:
    """The wash of a gradient, clear without stops (SVG 2, 13.2.4); None where it has no box or no area to lie in."""
    # Stops, units and spread are taken over from any gradient; where it runs, only from those of its own kind.
    linked = list(chain(element, references, GRADIENTS))
    stops = read_stops(linked, stop_colour)
    if not stops:
        return FlatWash((0.0, 0.0, 0.0), 0.0)
    units = _attribute(linked, "gradientUnits")
    inner = parse_transform(_attribute(linked, "gradientTransform") or "") or IDENTITY
    boxed = units != "userSpaceOnUse"
    if (boxed and place.box is None) or determinant(inner) == 0:
        return None
    outer = compose(place.matrix, box_map(place.box)) if boxed and place.box else place.matrix
    viewport = _WHOLE if boxed else place.viewport
    kind = "linear" if local_name(element) == "linearGradient" else "radial"
    lengths = _Lengths(
        [link for link in linked if local_name(link) == local_name(element)], viewport, place.font_size
    )
    points = lengths.line() if kind == "linear" else lengths.circles()
    # SVG 2, 13.2.2 and 13.2.3: a gradient without a way from stop to stop is all in its last stop's colour.
    if len(stops) == 1 or _has_no_length(points):
        return FlatWash(stops[-1].colour, stops[-1].opacity)
    spread = _attribute(linked, "spreadMethod")
    spreads: dict[str | None, Spread] = {"reflect": "reflect", "repeat": "repeat"}
    gradient = Gradient(
        "linear" if kind == "linear" else "radial", points, compose(outer, inner), spreads.get(spread, "pad"), stops
    )
    folded = fold([GradedWash(gradient)])
    return folded[0] if folded else FlatWash(stops[0].colour, 0.0)


def read_stops(linked: list[etree._Element], stop_colour: StopColour) -> tuple[Stop, ...]:
    """The stops of the first gradient of a chain that has any; offsets never fall back (SVG 2, 13.2.4)."""
    for element in linked:
        stops: list[Stop] = []
        for child in element:
            if local_name(child) != "stop":
                continue
            offset = parse_fraction(child.get("offset")) or 0.0
            colour, opacity = stop_colour(child)
            least = stops[-1].offset if stops else 0.0
            stops.append(Stop(max(offset, least), colour[:3], colour[3] * opacity))
        if stops:
            return tuple(stops)
    return ()


def _attribute(linked: list[etree._Element], name: str) -> str | None:
    return next((link.get(name) for link in linked if link.get(name) is not None), None)


def _has_no_length(points: tuple[float, ...]) -> bool:
    """A line from a place to itself, or a circle of no radius: all of it has the last stop's colour."""
    return points[:2] == points[2:] if len(points) == 4 else points[5] <= 0


@dataclass(frozen=True, slots=True)
class _Lengths:
    """The numbers that place a gradient, in the system of its units."""

    linked: list[etree._Element]
    viewport: Viewport
    font_size: float

    def _get(self, name: str, whole: float) -> float | None:
        return parse_length(_attribute(self.linked, name), whole, self.font_size)

    def _at(self, name: str, whole: float, default: float) -> float:
        length = self._get(name, whole)
        return default * whole if length is None else length

    def line(self) -> tuple[float, ...]:
        """From (0 %, 0 %) to (100 %, 0 %) unless said otherwise."""
        width, height = self.viewport.width, self.viewport.height
        return (
            self._at("x1", width, 0.0),
            self._at("y1", height, 0.0),
            self._at("x2", width, 1.0),
            self._at("y2", height, 0.0),
        )

    def circles(self) -> tuple[float, ...]:
        """The focus's circle and the end's; the focus lies in the middle unless said otherwise."""
        width, height, whole = self.viewport.width, self.viewport.height, self.viewport.diagonal
        cx, cy = self._at("cx", width, 0.5), self._at("cy", height, 0.5)
        fx, fy = self._get("fx", width), self._get("fy", height)
        focus = self._at("fr", whole, 0.0)
        return (
            cx if fx is None else fx,
            cy if fy is None else fy,
            max(focus, 0.0),
            cx,
            cy,
            self._at("r", whole, 0.5),
        )
