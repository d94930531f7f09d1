"""Paint as it was drawn, where it lies: translucent coats, and the groups that they lie in.

Enters: regions and washes. Leaves: `Coat`, `Veil` and `Mask`, all frozen. Holds: regions are mm on the panel.
"""

from dataclasses import dataclass
from typing import Literal

from layercut.colour.washes import Wash
from layercut.geometry.regions import Region


@dataclass(frozen=True, slots=True)
class Mask:
    """What a mask lets through: regions that don't overlap, each with the coats whose value counts there.

    Outside them it lets nothing through. `by` is what counts of the coats: their opacity, or luminance times opacity.
    """

    parts: tuple[tuple[Region, tuple[Wash, ...]], ...]
    by: Literal["alpha", "luminance"]


@dataclass(frozen=True, slots=True)
class Veil:
    """A group whose coats are laid over each other by themselves and then laid on as one.

    `key` tells groups apart; coats with the same first veils lie in the same groups.
    """

    key: tuple[int, ...]
    opacity: float
    mask: Mask | None = None


@dataclass(frozen=True, slots=True)
class Coat:
    """Paint that lets something through: all that it lies on, wood of its own or not, its wash, and the groups around
    it, the outermost first."""

    region: Region
    wash: Wash
    veils: tuple[Veil, ...] = ()
