"""What makes two paints one: how they look, wherever they lie.

Enters: paints. Leaves: `PaintLook`s, which are equal where one pot does for both, whatever the places of their
gradients.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from layercut.colour.folding import hex_of, mean_of_stops
from layercut.colour.washes import FlatWash, GradedWash, Gradient, GroupWash, Wash
from layercut.model import Paint

_DIGITS = 4
"""Decimals of offsets and opacities: a ten-thousandth is beyond every brush."""


@dataclass(frozen=True, slots=True)
class StopLook:
    """One stop: where it stands, 0 to 1, its colour, how much it covers, 0 to 1."""

    offset: float
    colour: str
    opacity: float


@dataclass(frozen=True, slots=True)
class CoatLook:
    """One coat: its colour, of a gradient the mean one, and the gradient's stops.

    `opacity` is that of a flat coat and of the groups around a coat; `masked` says that a mask fades it.
    """

    colour: str
    stops: tuple[StopLook, ...] = ()
    opacity: float = 1.0
    masked: bool = False

    @property
    def alone(self) -> "PaintLook":
        """The look of this coat by itself, at full strength."""
        return PaintLook(self.colour, (replace(self, opacity=1.0, masked=False),) if self.stops else ())


@dataclass(frozen=True, slots=True)
class PaintLook:
    """How a paint looks: one flat colour, or coats over each other, bottom first."""

    colour: str
    coats: tuple[CoatLook, ...] = ()

    @property
    def blend(self) -> tuple[StopLook, ...]:
        """The stops of a paint that is one gradient and nothing else."""
        return self.coats[0].stops if len(self.coats) == 1 and not self.is_stack else ()

    @property
    def is_stack(self) -> bool:
        """True for coats over each other that are one paint only together."""
        return len(self.coats) > 1 or any(coat.masked or coat.opacity < 1 for coat in self.coats)


def look_of(paint: Paint) -> PaintLook:
    """How a paint looks, without its places."""
    coats = tuple(look for look, _ in coats_of(paint.washes))
    return PaintLook(paint.colour, coats)


def coats_of(washes: tuple[Wash, ...]) -> Iterator[tuple[CoatLook, Gradient | None]]:
    """Every coat by itself, bottom first, those of groups too, and the gradient along which it is laid, if any."""
    for wash in washes:
        match wash:
            case FlatWash():
                yield CoatLook(hex_of(wash.colour), opacity=round(wash.opacity, _DIGITS)), None
            case GradedWash():
                yield _graded(wash), wash.gradient
            case GroupWash():
                for look, gradient in coats_of(wash.washes):
                    opacity = round(look.opacity * wash.opacity, _DIGITS)
                    yield replace(look, opacity=opacity, masked=look.masked or bool(wash.mask)), gradient


def _graded(wash: GradedWash) -> CoatLook:
    stops = tuple(
        StopLook(round(stop.offset, _DIGITS), hex_of(stop.colour), round(stop.opacity * wash.opacity, _DIGITS))
        for stop in wash.gradient.stops
    )
    red, green, blue = mean_of_stops(wash.gradient.stops)
    return CoatLook(hex_of((red, green, blue)), stops)
