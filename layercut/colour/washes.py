"""What is painted at a place: coats over each other, flat or graded, each with its own opacity.

Enters: nothing. Leaves: `Stop`, `Gradient` and the three kinds of `Wash`, all frozen. Colours are red, green,
blue of sRGB, each 0 to 1 and not premultiplied; places are mm on the panel. Opacities are 0 to 1. Interpolation
between stops and source-over work on these numbers as SVG 2 (13.2) and W3C Compositing 1 say for sRGB.
"""

from dataclasses import dataclass
from typing import Literal, TypeAlias

Rgb: TypeAlias = tuple[float, float, float]

Affine: TypeAlias = tuple[float, float, float, float, float, float]
"""(a, b, c, d, e, f): x' = a x + c y + e, y' = b x + d y + f, the order in which SVG writes a matrix."""

Spread = Literal["pad", "reflect", "repeat"]


@dataclass(frozen=True, slots=True)
class Stop:
    """One stop of a gradient: its place along it, 0 to 1 and never before the one ahead of it, colour, opacity."""

    offset: float
    colour: Rgb
    opacity: float = 1.0


@dataclass(frozen=True, slots=True)
class Gradient:
    """A gradient with its geometry.

    `points` are (x1, y1, x2, y2) of a linear one, (fx, fy, fr, cx, cy, r) of a radial one, in a system of its own
    that `to_mm` takes to the panel: under a skew a linear gradient's bands don't stand square to its line, and a
    radial one's circles are ellipses.
    """

    kind: Literal["linear", "radial"]
    points: tuple[float, ...]
    to_mm: Affine
    spread: Spread
    stops: tuple[Stop, ...]


@dataclass(frozen=True, slots=True)
class FlatWash:
    """One even coat."""

    colour: Rgb
    opacity: float = 1.0


@dataclass(frozen=True, slots=True)
class GradedWash:
    """A coat along a gradient; `opacity` multiplies that of its stops."""

    gradient: Gradient
    opacity: float = 1.0


@dataclass(frozen=True, slots=True)
class GroupWash:
    """Coats laid over each other by themselves, bottom first, then laid on as one.

    `opacity` is the group's; where `mask` holds coats, these are laid over each other on transparent black, and their
    value at each place (CSS Masking 1: opacity, or luminance times opacity) multiplies the group's opacity too.
    """

    washes: tuple["Wash", ...]
    opacity: float = 1.0
    mask: tuple["Wash", ...] = ()
    mask_by: Literal["alpha", "luminance"] = "luminance"


Wash: TypeAlias = FlatWash | GradedWash | GroupWash
