"""The properties that decide what is cut: which inherit, their initial values, and which values are valid.

Enters: nothing but names and values. Leaves: tables from SVG 2 and the CSS modules it names.
"""

import functools
from collections.abc import Callable, Mapping

from layercut.drawing.css.fonts import font_families, font_size, font_weight
from layercut.drawing.paints import parse_colour, parse_paint
from layercut.drawing.transforms import parse_transform
from layercut.drawing.units import parse_fraction, parse_length, parse_number

INHERITED: Mapping[str, str] = {
    "color": "black",
    "color-interpolation": "sRGB",
    "fill": "black",
    "fill-opacity": "1",
    "fill-rule": "nonzero",
    "clip-rule": "nonzero",
    "stroke": "none",
    "stroke-opacity": "1",
    "stroke-width": "1",
    "stroke-linecap": "butt",
    "stroke-linejoin": "miter",
    "stroke-miterlimit": "4",
    "stroke-dasharray": "none",
    "stroke-dashoffset": "0",
    "visibility": "visible",
    "paint-order": "normal",
    "marker-start": "none",
    "marker-mid": "none",
    "marker-end": "none",
    "font-size": "medium",
    "font-family": "",
    "font-weight": "normal",
    "font-style": "normal",
    "font-stretch": "normal",
    "font-variant": "normal",
    "font-kerning": "auto",
    "font-feature-settings": "normal",
    "font-variation-settings": "normal",
    "letter-spacing": "normal",
    "word-spacing": "normal",
    "text-anchor": "start",
    "text-transform": "none",
    "direction": "ltr",
    "writing-mode": "horizontal-tb",
    "white-space": "",
    "dominant-baseline": "auto",
}
"""Inherited properties and their initial values."""

INITIAL: Mapping[str, str] = {
    "display": "inline",
    "opacity": "1",
    "clip-path": "none",
    "mask": "none",
    "mask-type": "luminance",
    "filter": "none",
    "mix-blend-mode": "normal",
    "overflow": "visible",
    "transform": "",
    "transform-origin": "",
    "transform-box": "view-box",
    "translate": "none",
    "rotate": "none",
    "scale": "none",
    "vector-effect": "none",
    "stop-color": "black",
    "stop-opacity": "1",
    "baseline-shift": "baseline",
    "alignment-baseline": "auto",
    "text-decoration": "none",
    "inline-size": "auto",
    "shape-inside": "auto",
    "x": "",
    "y": "",
    "width": "",
    "height": "",
    "cx": "",
    "cy": "",
    "r": "",
    "rx": "",
    "ry": "",
    "d": "",
}
"""Properties that don't inherit, and their initial values; empty where the element's attribute says it."""

_GEOMETRY = {"x", "y", "width", "height", "cx", "cy", "r", "rx", "ry", "d"}

PRESENTATION = (
    (frozenset(INHERITED) | frozenset(INITIAL))
    - _GEOMETRY
    - {
        "transform",
        "translate",
        "rotate",
        "scale",
        "transform-box",
        "mix-blend-mode",
    }
)
"""Which of them an attribute can set. Geometry and `transform` attributes are read where they are used."""

_WIDE = {"inherit", "initial", "unset", "revert"}


def _keyword(*words: str) -> Callable[[str], bool]:
    return lambda value: value.lower() in words


def _length(value: str) -> bool:
    return parse_length(value, 1.0) is not None


def _positive_length(value: str) -> bool:
    length = parse_length(value, 1.0)
    return length is not None and length >= 0


def _spacing(value: str) -> bool:
    return value.lower() == "normal" or ("%" not in value and _length(value))


def _dashes(value: str) -> bool:
    if value.lower() == "none":
        return True
    parts = value.replace(",", " ").split()
    return bool(parts) and all(_positive_length(part) for part in parts)


def _miter_limit(value: str) -> bool:
    number = parse_number(value)
    return number is not None and number >= 1


_VALID: Mapping[str, Callable[[str], bool]] = {
    "color": lambda value: parse_colour(value) is not None,
    "stop-color": lambda value: parse_colour(value) is not None,
    "fill": lambda value: parse_paint(value) is not None,
    "stroke": lambda value: parse_paint(value) is not None,
    "fill-opacity": lambda value: parse_fraction(value) is not None,
    "stroke-opacity": lambda value: parse_fraction(value) is not None,
    "stop-opacity": lambda value: parse_fraction(value) is not None,
    "opacity": lambda value: parse_fraction(value) is not None,
    "color-interpolation": _keyword("auto", "srgb", "linearrgb"),
    "fill-rule": _keyword("nonzero", "evenodd"),
    "clip-rule": _keyword("nonzero", "evenodd"),
    "stroke-width": _positive_length,
    "stroke-linecap": _keyword("butt", "round", "square"),
    "stroke-linejoin": _keyword("miter", "round", "bevel", "miter-clip", "arcs"),
    "stroke-miterlimit": _miter_limit,
    "stroke-dasharray": _dashes,
    "stroke-dashoffset": _length,
    "font-size": lambda value: font_size(value, 16.0) is not None,
    "font-weight": lambda value: font_weight(value) is not None,
    "font-family": lambda value: bool(font_families(value)),
    "letter-spacing": _spacing,
    "word-spacing": _spacing,
    "text-anchor": _keyword("start", "middle", "end"),
    "direction": _keyword("ltr", "rtl"),
    "visibility": _keyword("visible", "hidden", "collapse"),
    "transform": lambda value: parse_transform(value) is not None,
    "x": _length,
    "y": _length,
    "cx": _length,
    "cy": _length,
    "r": _positive_length,
}


@functools.lru_cache(maxsize=8192)
def is_valid(name: str, value: str) -> bool:
    """True when a value may stand for a property; properties that nothing here reads closely take any."""
    value = value.strip()
    check = _VALID.get(name)
    return value.lower() in _WIDE or (bool(value) and (check is None or check(value)))
