"""Colours and paint servers.

Enters: the values of `fill`, `stroke` and `color`. Leaves: colours, and paint values that may name a paint server.
"""

import functools
import re
from dataclasses import dataclass

from tinycss2 import color4

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


@functools.lru_cache(maxsize=8192)
def parse_colour(text: str) -> Colour | str | None:
    """A CSS colour in sRGB, the word `current`, or None where it isn't a colour."""
    parsed = color4.parse_color(_ICC.sub("", text.strip()))
    if parsed is None:
        return None
    if isinstance(parsed, str):
        return "current"
    if parsed.space == "hsl":
        hue, saturation, lightness = parsed.coordinates
        # CSS Color 4, 7: beyond 100 % a saturation counts as 100 %, before it is turned into sRGB.
        held = None if saturation is None else min(max(saturation, 0.0), 100.0)
        parsed = color4.Color("hsl", (hue, held, lightness), parsed.alpha)
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


def _unit(value: float) -> float:
    return min(max(float(value), 0.0), 1.0)
