"""Templates of the sections, and words that several of them use.

Enters: a section's name and what stands in its template; areas and shares. Leaves: HTML, words.
"""

from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from jinja2 import Environment, StrictUndefined, Template

from layercut.views.svg_text import number


@dataclass(frozen=True, slots=True)
class Picture:
    """A drawing with its words, which may stand alone."""

    svg: str
    caption: str


def filled(name: str, **values: object) -> str:
    """The section of a name with its values in place."""
    return _template(name).render(**values)


@cache
def _template(name: str) -> Template:
    text = (files("layercut.views.pages.sections") / f"{name}.html").read_text(encoding="utf-8")
    environment = Environment(autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True)
    environment.filters["mm"] = lambda value: number(round(float(value), 2))
    return environment.from_string(text)


def share(part: float, whole: float) -> str:
    """A part of a whole in whole per cent."""
    return f"{100 * part / whole:.0f} %" if whole else "0 %"


def cm2(area_mm2: float) -> str:
    """An area in cm²."""
    return f"{area_mm2 / 100:.1f} cm²"
