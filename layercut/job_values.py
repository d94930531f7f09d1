"""What a setting of the job file may be: lengths, speeds and the like with their units, colours, words.

Enters: values as TOML has them. Leaves: types that pydantic checks and turns into mm, mm/s, mm2, g, deg, kg/m3. Each
has bounds far beyond what can be meant, so that whatever is reckoned from it is a number too.
"""

import re
from collections.abc import Mapping
from typing import Annotated, Literal

from pydantic import BeforeValidator, Field

from layercut.money import Money, parse_money
from layercut.units import G_PER_OUNCE, G_PER_POUND, MM_PER_FOOT, MM_PER_INCH

MM_PER_UNIT = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": MM_PER_INCH, "ft": MM_PER_FOOT}
MM_PER_UNIT |= {"pt": MM_PER_INCH / 72, "px": MM_PER_INCH / 96}
"""Millimetres in a unit; the inch exact (1959 agreement), pt and px as CSS Values 3 has them."""

FINEST_MM = 1e-6
"""A length shorter than this, mm, is none: a thousandth of the grid."""

_FRACTION = r"(?:\d{1,9}\s+)?\d{1,9}/\d{1,9}"
_NUMBER = r"(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d{1,3})?"
_QUANTITY = re.compile(rf"\s*([-+]?)({_FRACTION}|{_NUMBER})\s*([a-zA-Z][a-zA-Z0-9/]*)?\s*")
_COLOUR = re.compile(r"#[0-9a-f]{6}")


def _quantity(value: object, units: Mapping[str, float], example: str) -> float:
    if isinstance(value, int | float) and not isinstance(value, bool) and value == 0:
        return 0.0
    match = _QUANTITY.fullmatch(value) if isinstance(value, str) else None
    if match is None:
        raise ValueError(f"needs a number and a unit, such as {example}")
    number, unit = _number(match[2]) * (-1 if match[1] == "-" else 1), (match[3] or "").lower()
    if number == 0 and not unit:
        return 0.0
    if unit not in units:
        raise ValueError(f"needs a unit, one of {', '.join(units)}, such as {example}")
    return number * units[unit]


def _number(text: str) -> float:
    """A number, or a whole one and a fraction as on a folding rule: `6 1/2`."""
    if "/" not in text:
        return float(text)
    *whole, fraction = text.split()
    above, _, below = fraction.partition("/")
    if int(below) == 0:
        raise ValueError("needs a number, and nothing can be divided by 0")
    return sum(map(float, whole)) + int(above) / int(below)


def parse_length(value: object) -> float:
    """A length with its unit, such as `"0.25in"`, `"1/4in"` or `"6 1/2in"`, in mm; finer than `FINEST_MM` is 0.

    Raises ValueError when the unit is missing or unknown; only zero may stand without one.
    """
    length = _quantity(value, MM_PER_UNIT, '"3mm", "0.25in" or "6 1/2in"')
    return length if abs(length) >= FINEST_MM else 0.0


def unit_of(value: object) -> str:
    """The unit in which a length is written, in lower case; empty for what is no length, or has none."""
    match = _QUANTITY.fullmatch(value) if isinstance(value, str) else None
    return (match[3] or "").lower() if match else ""


def _speed(value: object) -> float:
    units = {f"{unit}/s": mm for unit, mm in MM_PER_UNIT.items() if unit in {"mm", "cm", "m", "in"}}
    units |= {f"{unit}/min": mm / 60 for unit, mm in MM_PER_UNIT.items() if unit in {"mm", "cm", "m", "in"}}
    return _quantity(value, units, '"12mm/s"')


def _area(value: object) -> float:
    return _quantity(value, {"mm2": 1.0, "cm2": 100.0, "in2": 645.16}, '"25mm2"')


def _acceleration(value: object) -> float:
    units = {f"{unit}/s2": mm for unit, mm in MM_PER_UNIT.items() if unit in {"mm", "m", "in"}}
    return _quantity(value, units, '"1000mm/s2"')


def _mass(value: object) -> float:
    return _quantity(value, {"g": 1.0, "kg": 1000.0, "oz": G_PER_OUNCE, "lb": G_PER_POUND}, '"150g"')


def _angle(value: object) -> float:
    return _quantity(value, {"deg": 1.0}, '"30deg"')


def _density(value: object) -> float:
    return _quantity(value, {"kg/m3": 1.0, "g/cm3": 1000.0, "lb/ft3": 16.018463}, '"680kg/m3"')


def _colour(value: object) -> str:
    text = str(value).strip().lower()
    if not _COLOUR.fullmatch(text):
        raise ValueError('needs a colour of six hexadecimal digits, such as "#56b4e9"')
    return text


def _pins(value: object) -> object:
    if value is not True and value is not False and value != "blind":
        raise ValueError('needs true, false or "blind"')
    return value


Length = Annotated[float, BeforeValidator(parse_length), Field(ge=0, le=100_000, json_schema_extra={"unit": "mm"})]
Speed = Annotated[float, BeforeValidator(_speed), Field(ge=0.001, le=1e9, json_schema_extra={"unit": "mm/s"})]
Acceleration = Annotated[
    float, BeforeValidator(_acceleration), Field(ge=0.01, le=1e12, json_schema_extra={"unit": "mm/s2"})
]
Mass = Annotated[float, BeforeValidator(_mass), Field(ge=0, le=1e6, json_schema_extra={"unit": "g"})]
Angle = Annotated[float, BeforeValidator(_angle), Field(json_schema_extra={"unit": "deg"})]
Area = Annotated[float, BeforeValidator(_area), Field(ge=0, le=1e10, json_schema_extra={"unit": "mm2"})]
Density = Annotated[float, BeforeValidator(_density), Field(ge=1, le=30_000, json_schema_extra={"unit": "kg/m3"})]
Colour = Annotated[str, BeforeValidator(_colour)]
Price = Annotated[Money, BeforeValidator(parse_money)]
Coats = Annotated[int, Field(ge=1, le=9)]
Pins = Annotated[bool | Literal["blind"], BeforeValidator(_pins)]
RoleColour = Annotated[str, BeforeValidator(lambda value: _colour(value).upper())]
Role = Literal["wood", "mark-line", "mark-area", "opening", "guide"]
Policy = Literal["auto", "refuse", "tie", "loose", "behind"]
PiecePolicy = Literal["auto", "refuse", "tie", "loose", "behind", "out"]
"""What can be done with one piece: to leave out every piece of a layer, one leaves out the layer."""

TextStyle = Literal["area", "outline", "single-line"]
FaceSource = Literal["fills", "lines"]
PaintHand = Literal["flat", "stipple", "blend"]
HangerKind = Literal["wire", "one"]
SpacerSource = Literal["ring", "strips"]
StripJoint = Literal["butt", "mitre"]
Grain = Literal["along", "any"]
SingleLineFace = Literal[
    "plain",
    "plain-bold",
    "simple",
    "simple-bold",
    "roman",
    "roman-bold",
    "roman-wide",
    "italic",
    "italic-bold",
    "script",
    "script-bold",
    "cursive",
    "blackletter",
    "blackletter-german",
    "blackletter-italian",
]
"""Faces of strokes that have Latin letters, in words of our own; `drawing/lettering/single_line.py` knows what the
data calls them."""
