"""Paint as SVG: gradients where they lie, coats one over the other, groups and masks.

Enters: paints, and how the shape that bears them is drawn. Leaves: elements, and the definitions that they refer to.
Holds: a gradient or a mask has the same name in every document, so that a page may define it once and use it in all
its pictures. Everything is in mm of the panel, or in units that `to_units` says.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from hashlib import sha256

from layercut.colour.folding import hex_of
from layercut.colour.washes import Affine, FlatWash, GradedWash, Gradient, GroupWash, Wash
from layercut.model import Paint
from layercut.views.svg_text import plain

Draw = Callable[[str], str]
"""From attributes that say what a shape is painted with to the element."""

EVERYWHERE = 'x="-1e6" y="-1e6" width="2e6" height="2e6"'
"""A box beyond all that a panel can be, in mm and in hundredths of them: what a mask covers."""

NAME_DIGITS = 10
"""Hexadecimal digits of a name: a thousand million gradients would have to meet for two to share one."""


@dataclass(slots=True)
class Definitions:
    """The gradients and masks of one document, each written once, in the order in which they were asked for.

    `to_units` takes mm to the units of the document, where these aren't mm.
    """

    to_units: Affine = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
    _texts: dict[str, str] = field(default_factory=dict)

    def gradient(self, gradient: Gradient) -> str:
        """The name of a gradient."""
        name = _name("blend", gradient)
        if name not in self._texts:
            self._texts[name] = _gradient(name, gradient, self.to_units)
        return name

    def mask(self, group: GroupWash) -> str:
        """The name of a group's mask."""
        name = _name("mask", group.mask, group.mask_by)
        if name not in self._texts:
            # A mask of colours that shows more where they are brighter: sRGB's own numbers, as CSS Masking 1 has it.
            inside = "".join(_coat(wash, _everywhere, self, "fill") for wash in group.mask)
            self._texts[name] = (
                f'<mask id="{name}" maskUnits="userSpaceOnUse" {EVERYWHERE} mask-type="{group.mask_by}">'
                f"{inside}</mask>"
            )
        return name

    def missing_from(self, document: str) -> tuple[str, ...]:
        """Those that a document doesn't define already."""
        return tuple(text for name, text in self._texts.items() if f' id="{name}"' not in document)

    @property
    def texts(self) -> tuple[str, ...]:
        """All of them as elements; a mask comes after the gradients that it needs."""
        return tuple(self._texts.values())


def laid(paint: Paint, draw: Draw, definitions: Definitions, pen: str = "fill") -> str:
    """A shape painted as it will look, with `fill` or `stroke`: an element for each coat, bottom first."""
    if not paint.washes:
        return draw(f'{pen}="{plain(paint.colour)}"')
    return laid_washes(paint.washes, draw, definitions, pen)


def laid_washes(washes: Sequence[Wash], draw: Draw, definitions: Definitions, pen: str = "fill") -> str:
    """A shape with coats over each other, bottom first."""
    return "".join(_coat(wash, draw, definitions, pen) for wash in washes)


def is_stack(paint: Paint) -> bool:
    """True for a paint that takes more than one coat, or a group."""
    return len(paint.washes) > 1 or any(isinstance(wash, GroupWash) for wash in paint.washes)


def _coat(wash: Wash, draw: Draw, definitions: Definitions, pen: str) -> str:
    match wash:
        case FlatWash():
            return draw(f'{pen}="{hex_of(wash.colour)}"{_opacity(f"{pen}-opacity", wash.opacity)}')
        case GradedWash():
            name = definitions.gradient(wash.gradient)
            return draw(f'{pen}="url(#{name})"{_opacity(f"{pen}-opacity", wash.opacity)}')
        case GroupWash():
            return _group(wash, draw, definitions, pen)


def _group(group: GroupWash, draw: Draw, definitions: Definitions, pen: str) -> str:
    inside = laid_washes(group.washes, draw, definitions, pen)
    mask = f' mask="url(#{definitions.mask(group)})"' if group.mask else ""
    look = f"{_opacity('opacity', group.opacity)}{mask}"
    return f"<g{look}>{inside}</g>" if look else inside


def _opacity(name: str, opacity: float) -> str:
    return "" if opacity == 1 else f' {name}="{_exact(opacity)}"'


def _everywhere(look: str) -> str:
    return f"<rect {EVERYWHERE} {look}/>"


def _gradient(name: str, gradient: Gradient, to_units: Affine) -> str:
    names = ("x1", "y1", "x2", "y2") if gradient.kind == "linear" else ("fx", "fy", "fr", "cx", "cy", "r")
    points = " ".join(
        f'{key}="{_exact(value)}"'
        for key, value in zip(names, gradient.points, strict=True)
        if key != "fr" or value  # fr is 0 unless it is given (SVG 2, 14.2.3)
    )
    matrix = " ".join(map(_exact, _after(to_units, gradient.to_mm)))
    transform = "" if matrix == "1 0 0 1 0 0" else f' gradientTransform="matrix({matrix})"'
    spread = "" if gradient.spread == "pad" else f' spreadMethod="{gradient.spread}"'
    stops = "".join(
        f'<stop offset="{_exact(stop.offset)}" stop-color="{hex_of(stop.colour)}"'
        f"{_opacity('stop-opacity', stop.opacity)}/>"
        for stop in gradient.stops
    )
    kind = f"{gradient.kind}Gradient"
    return f'<{kind} id="{name}" gradientUnits="userSpaceOnUse" {points}{transform}{spread}>{stops}</{kind}>'


def _after(second: Affine, first: Affine) -> Affine:
    """One affine map after another."""
    a, b, c, d, e, f = second
    p, q, r, s, t, u = first
    return (a * p + c * q, b * p + d * q, a * r + c * s, b * r + d * s, a * t + c * u + e, b * t + d * u + f)


def _exact(value: float) -> str:
    """Seven digits that count: what a renderer's single precision holds."""
    text = f"{value:.7g}"
    return "0" if text == "-0" else text


def _name(kind: str, *content: object) -> str:
    return f"{kind}-{sha256(repr(content).encode()).hexdigest()[:NAME_DIGITS]}"
