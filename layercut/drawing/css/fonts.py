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
    rest = re.sub(r"\s*/\s*[\w.%+-]+", "", text.strip(), count=1)  # the height of lines doesn't matter here
    values = dict.fromkeys(("font-style", "font-weight", "font-variant", "font-stretch"), "normal")
    while rest:
        word, _, rest = rest.partition(" ")
        rest = rest.lstrip()
        if _is_size(word):
            return values | {"font-size": word, "font-family": rest} if font_families(rest) else None
        name = _part_of_shorthand(word.lower())
        if not name:
            return None
        values[name] = word
    return None


def _is_size(word: str) -> bool:
    """True for a size as the shorthand wants it: a plain number is a weight there."""
    return font_size(word, 16.0) is not None and (parse_number(word) is None or parse_number(word) == 0)


def _part_of_shorthand(word: str) -> str:
    """The property that a word before the size sets; empty for none."""
    if word.startswith(_SLANTS):
        return "font-style"
    if font_weight(word) is not None:
        return "font-weight"
    if word == "small-caps":
        return "font-variant"
    return "font-stretch" if word.endswith(("condensed", "expanded")) else ""
