"""Affine maps: the `transform` attribute and property, and their arithmetic.

Enters: transform lists (SVG 2 and CSS Transforms 1, the flat ones). Leaves: maps as (a, b, c, d, e, f).
"""

import functools
import math
import re

from layercut.drawing.units import NUMBER, PX_PER_UNIT
from layercut.geometry.curves import Affine

IDENTITY: Affine = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)

_FUNCTION = re.compile(r"[\s,]*([a-zA-Z]+)\s*\(([^()]*)\)")
_ARGUMENT = re.compile(rf"\s*,?\s*({NUMBER})([a-zA-Z%]*)")
_DEGREES = {"": 1.0, "deg": 1.0, "grad": 0.9, "rad": 180 / math.pi, "turn": 360.0}
_COUNTS = {
    "matrix": (6,),
    "translate": (1, 2),
    "translatex": (1,),
    "translatey": (1,),
    "scale": (1, 2),
    "scalex": (1,),
    "scaley": (1,),
    "rotate": (1, 3),
    "skew": (1, 2),
    "skewx": (1,),
    "skewy": (1,),
}


def compose(outer: Affine, inner: Affine) -> Affine:
    """The map that does `inner` first, then `outer`."""
    a, b, c, d, e, f = outer
    g, h, i, j, k, m = inner
    return (a * g + c * h, b * g + d * h, a * i + c * j, b * i + d * j, a * k + c * m + e, b * k + d * m + f)


def inverse(matrix: Affine) -> Affine | None:
    """The map back; None when the map flattens the plane."""
    a, b, c, d, e, f = matrix
    det = determinant(matrix)
    if det == 0 or not math.isfinite(1 / det):
        return None
    return (d / det, -b / det, -c / det, a / det, (c * f - d * e) / det, (b * e - a * f) / det)


def determinant(matrix: Affine) -> float:
    """By how much areas grow, with its sign."""
    a, b, c, d, _, _ = matrix
    return a * d - b * c


def mean_scale(matrix: Affine) -> float:
    """By how much lengths grow on the whole: the root of the area's growth."""
    return math.sqrt(abs(determinant(matrix)))


def is_similarity(matrix: Affine) -> bool:
    """True when circles stay circles, to a billionth."""
    a, b, c, d, _, _ = matrix
    size = math.hypot(a, b) + math.hypot(c, d)
    turned = math.hypot(a - d, b + c) if a * d - b * c > 0 else math.hypot(a + d, b - c)
    return turned <= 1e-9 * size


# Our own: svgelements 1.9.6 takes 11 of the 13 malformed lists of our tests, of which nothing may count, and refuses
# one of the 78 that are right (docs/design.md, "Reading").
@functools.lru_cache(maxsize=4096)
def parse_transform(text: str) -> Affine | None:
    """The map of a transform list; None when the list is malformed or flat functions don't cover it."""
    result = IDENTITY
    at = 0
    stripped = text.strip()
    if stripped.lower() == "none":
        return IDENTITY
    while at < len(stripped):
        match = _FUNCTION.match(stripped, at)
        step = _function(match[1].lower(), match[2]) if match else None
        if match is None or step is None:
            return None
        result = compose(result, step)
        at = match.end()
    return result


def _function(name: str, inner: str) -> Affine | None:
    values: list[tuple[float, str]] = []
    at = 0
    inner = inner.strip()
    while at < len(inner):
        match = _ARGUMENT.match(inner, at)
        if match is None or (not values and "," in inner[: match.start(1)]):
            return None
        values.append((float(match[1]), match[2].lower()))
        at = match.end()
    if len(values) not in _COUNTS.get(name, ()) or not all(math.isfinite(number) for number, _ in values):
        return None
    numbers = _angles(values) if name in ("rotate", "skew", "skewx", "skewy") else _lengths(values)
    return _matrix(name, numbers) if numbers is not None else None


def _lengths(values: list[tuple[float, str]]) -> list[float] | None:
    if any(unit not in PX_PER_UNIT for _, unit in values):
        return None
    return [number * PX_PER_UNIT[unit] for number, unit in values]


def _angles(values: list[tuple[float, str]]) -> list[float] | None:
    """The first value in degrees, and a centre in user units after it."""
    (angle, unit), *rest = values
    if len(values) == 2:  # skew's other angle
        both = [number * _DEGREES.get(unit, math.nan) for number, unit in values]
        return both if all(map(math.isfinite, both)) else None
    others = _lengths(rest)
    return None if unit not in _DEGREES or others is None else [angle * _DEGREES[unit], *others]


def _matrix(name: str, v: list[float]) -> Affine:
    match name:
        case "matrix":
            return (v[0], v[1], v[2], v[3], v[4], v[5])
        case "translate":
            return (1.0, 0.0, 0.0, 1.0, v[0], v[1] if len(v) > 1 else 0.0)
        case "translatex":
            return (1.0, 0.0, 0.0, 1.0, v[0], 0.0)
        case "translatey":
            return (1.0, 0.0, 0.0, 1.0, 0.0, v[0])
        case "scale":
            return (v[0], 0.0, 0.0, v[1] if len(v) > 1 else v[0], 0.0, 0.0)
        case "scalex":
            return (v[0], 0.0, 0.0, 1.0, 0.0, 0.0)
        case "scaley":
            return (1.0, 0.0, 0.0, v[0], 0.0, 0.0)
        case "rotate":
            return _rotation(v)
        case "skewy":
            return (1.0, math.tan(math.radians(v[0])), 0.0, 1.0, 0.0, 0.0)
        case _:  # skewx and the older skew(x, y)
            down = math.tan(math.radians(v[1])) if len(v) > 1 else 0.0
            return (1.0, down, math.tan(math.radians(v[0])), 1.0, 0.0, 0.0)


def _rotation(v: list[float]) -> Affine:
    """Rotation by v[0] degrees, around (v[1], v[2]) where given; quarter turns are exact."""
    quarter = v[0] / 90
    if quarter == round(quarter) and math.isfinite(quarter):
        cos, sin = ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[int(quarter) % 4]
    else:
        cos, sin = math.cos(math.radians(v[0])), math.sin(math.radians(v[0]))
    turn: Affine = (cos, sin, -sin, cos, 0.0, 0.0)
    if len(v) == 1:
        return turn
    return compose(compose((1.0, 0.0, 0.0, 1.0, v[1], v[2]), turn), (1.0, 0.0, 0.0, 1.0, -v[1], -v[2]))
