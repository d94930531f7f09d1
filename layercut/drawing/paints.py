"""Colours and paint servers.

Enters: the values of `fill`, `stroke`, `color` and gradient elements. Leaves: `Ink`, a colour with its
opacity and, for gradients and patterns, its stops.
"""

import functools
import itertools
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from lxml import etree
from tinycss2 import color4

from layercut.drawing.document import XLINK_HREF, local_name
from layercut.drawing.units import parse_fraction
from layercut.model import Paint

Colour = tuple[float, float, float, float]
"""Red, green, blue and alpha, each 0 to 1."""

_URL = re.compile(r"""url\(\s*(?:"([^"]*)"|'([^']*)'|([^)"'\s]*))\s*\)\s*(.*)""", re.IGNORECASE | re.DOTALL)
_ICC = re.compile(r"\s+(icc-color|device-\w+)\(.*\)\s*$", re.IGNORECASE)

SERVERS = {"linearGradient", "radialGradient", "pattern"}


@dataclass(frozen=True, slots=True)
class PaintValue:
    """A paint as written: `kind` is none, colour, current, url or context; `fallback` stands behind a url."""

    kind: str
    colour: Colour = (0.0, 0.0, 0.0, 1.0)
    url: str = ""
    fallback: "PaintValue | None" = None


@dataclass(frozen=True, slots=True)
class Ink:
    """A paint as it comes out: its colour (of blends the mean one), stops, and how opaque it is, 0 to 1."""

    paint: Paint
    alpha: float


@functools.lru_cache(maxsize=8192)
def parse_colour(text: str) -> Colour | str | None:
    """A CSS colour in sRGB, the word `current`, or None where it isn't a colour."""
    parsed = color4.parse_color(_ICC.sub("", text.strip()))
    if parsed is None:
        return None
    if isinstance(parsed, str):
        return "current"
    try:
        red, green, blue, alpha = (value if value is not None else 0.0 for value in parsed.to("srgb"))
    except (NotImplementedError, ValueError):
        return None
    return (_unit(red), _unit(green), _unit(blue), _unit(alpha))


@functools.lru_cache(maxsize=8192)
def parse_paint(text: str) -> PaintValue | None:
    """A paint value, or None where it isn't one."""
    word = text.strip()
    if word.lower() == "none":
        return PaintValue("none")
    if word.lower() in ("context-fill", "context-stroke"):
        return PaintValue("context", url=word.lower())
    match = _URL.fullmatch(word)
    if match:
        fallback = parse_paint(match[4]) if match[4].strip() else None
        if match[4].strip() and fallback is None:
            return None
        return PaintValue("url", url=match[1] or match[2] or match[3] or "", fallback=fallback)
    colour = parse_colour(word)
    if colour is None:
        return None
    return PaintValue("current") if isinstance(colour, str) else PaintValue("colour", colour)


def parse_url(text: str) -> str | None:
    """The address inside `url(...)`, or None."""
    match = _URL.fullmatch(text.strip())
    return (match[1] or match[2] or match[3] or "") if match else None


def hex_colour(colour: Colour) -> str:
    """`#rrggbb`, in lower case."""
    return "#" + "".join(f"{round(value * 255):02x}" for value in colour[:3])


def colour_ink(colour: Colour) -> Ink:
    """A plain colour."""
    return Ink(Paint(hex_colour(colour)), colour[3])


Lookup = Callable[[str], etree._Element | None]
StopColour = Callable[[etree._Element], tuple[Colour, float]]


def gradient_ink(element: etree._Element, find: Lookup, stop_colour: StopColour) -> Ink | None:
    """The ink of a gradient: None without stops, a plain colour with one, else its stops and their mean.

    The mean is that of the colours between the first and the last offset, in sRGB as gradients are drawn.
    """
    stops: list[tuple[float, Colour]] = []
    for stop in _stops(element, find):
        offset = parse_fraction(stop.get("offset")) or 0.0
        colour, opacity = stop_colour(stop)
        stops.append((max(offset, stops[-1][0] if stops else 0.0), (*colour[:3], colour[3] * opacity)))
    if not stops:
        return None
    if len({colour for _, colour in stops}) == 1:
        return colour_ink(stops[0][1])
    return blend_ink(stops)


def blend_ink(stops: list[tuple[float, Colour]]) -> Ink:
    """A blend of at least two stops in order of offset."""
    padded = [(0.0, stops[0][1]), *stops, (1.0, stops[-1][1])]
    mean = [0.0, 0.0, 0.0, 0.0]
    for (at, left), (to, right) in itertools.pairwise(padded):
        for channel in range(4):
            mean[channel] += (to - at) * (left[channel] + right[channel]) / 2
    red, green, blue, alpha = (_unit(value) for value in mean)
    blend = tuple((round(offset, 6), hex_colour(colour)) for offset, colour in stops)
    return Ink(Paint(hex_colour((red, green, blue, 1.0)), blend), alpha)


def _stops(element: etree._Element, find: Lookup) -> Iterator[etree._Element]:
    """The stops of a gradient, or of the one that it takes them from."""
    seen: set[etree._Element] = set()
    current: etree._Element | None = element
    while current is not None and current not in seen:
        seen.add(current)
        stops = [child for child in current if local_name(child) == "stop"]
        if stops:
            yield from stops
            return
        target = find(current.get("href") or current.get(XLINK_HREF) or "")
        current = target if target is not None and local_name(target).endswith("Gradient") else None


def _unit(value: float) -> float:
    return min(max(float(value), 0.0), 1.0)
