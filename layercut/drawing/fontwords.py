"""The words of CSS about fonts: families, weights, sizes and the `font` shorthand (CSS Fonts 4).

Enters: property values. Leaves: what they mean, in numbers and names; None where a value isn't valid.
"""

import functools
import re
from collections.abc import Mapping

import tinycss2

from layercut.drawing.units import parse_length, parse_number

GENERIC = {"serif", "sans-serif", "monospace", "cursive", "fantasy", "system-ui"}
"""Families that stand for whatever the machine has of the kind."""

SIZES: Mapping[str, float] = {
    "xx-small": 16 * 3 / 5,
    "x-small": 16 * 3 / 4,
    "small": 16 * 8 / 9,
    "medium": 16.0,
    "large": 16 * 6 / 5,
    "x-large": 16 * 3 / 2,
    "xx-large": 32.0,
    "xxx-large": 48.0,
    "initial": 16.0,
}
"""Sizes with a name, px: the factors of CSS Fonts 4, "Absolute size keywords"."""

_STEPS = {"larger": 1.2, "smaller": 1 / 1.2}
_WEIGHTS = {"normal": 400, "bold": 700}
_SLANTS = ("italic", "oblique")
_SYSTEM = {"caption", "icon", "menu", "message-box", "small-caption", "status-bar"}


def font_size(text: str, around: float) -> float | None:
    """A font size in px, relative ones taken of the size around it."""
    word = text.strip().lower()
    if word in SIZES:
        return SIZES[word]
    if word in _STEPS:
        return around * _STEPS[word]
    size = parse_length(text, around, around)
    return size if size is not None and size >= 0 else None


def font_weight(text: str, around: int = 400) -> int | None:
    """A weight from 1 to 1000; `bolder` and `lighter` step from the weight around as CSS Fonts 4's table says."""
    word = text.strip().lower()
    if word in _WEIGHTS:
        return _WEIGHTS[word]
    if word == "bolder":
        return 400 if around < 350 else 700 if around < 550 else max(900, around)
    if word == "lighter":
        return min(100, around) if around < 550 else 400 if around < 750 else 700
    number = parse_number(text)
    return round(number) if number is not None and 1 <= number <= 1000 else None


def is_slanted(text: str) -> bool:
    """True for italic and oblique styles."""
    return text.strip().lower().startswith(_SLANTS)


@functools.lru_cache(maxsize=1024)
def font_families(text: str) -> tuple[str, ...]:
    """The families of a list in order of preference, without their quotes; empty where it names none."""
    families: list[str] = []
    words: list[str] = []
    for token in [*tinycss2.parse_component_value_list(text, skip_comments=True), None]:
        if token is None or token.type == "literal":
            family = " ".join(words).strip()
            words = []
            if family and family.isprintable():
                families.append(family[:200])
        elif token.type in ("ident", "string"):
            words.append(token.value)
        elif token.type in ("number", "dimension"):
            words.append(token.representation + getattr(token, "unit", ""))
    return tuple(families)


@functools.lru_cache(maxsize=1024)
def font_shorthand(text: str) -> Mapping[str, str] | None:
    """What `font: italic bold 12px/14px "Name", serif` sets, one property each; None where it isn't valid."""
    match = re.fullmatch(
        r"(?P<before>(?:[\w.-]+\s+){0,4}?)(?P<size>[\w.%+-]+)(?:\s*/\s*[\w.%+-]+)?\s+(?P<family>\S.*)",
        text.strip(),
        re.DOTALL,
    )
    if match is None or text.strip().lower() in _SYSTEM or font_size(match["size"], 16.0) is None:
        return None
    if not font_families(match["family"]):
        return None
    values = {
        "font-style": "normal",
        "font-weight": "normal",
        "font-variant": "normal",
        "font-stretch": "normal",
        "font-size": match["size"],
        "font-family": match["family"],
    }
    for word in match["before"].split():
        if is_slanted(word):
            values["font-style"] = word
        elif font_weight(word) is not None:
            values["font-weight"] = word
        elif word.lower() == "small-caps":
            values["font-variant"] = word
        elif word.lower().endswith(("condensed", "expanded")):
            values["font-stretch"] = word
        else:
            return None
    return values
