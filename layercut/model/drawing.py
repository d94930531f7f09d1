"""What was drawn: layers of shapes, each with its paint.

Holds: all values are frozen; `model/__init__.py` says where the origin is.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from shapely.geometry.base import BaseGeometry

from layercut.colour.bare import PLYWOOD_RGB
from layercut.colour.coats import Coat
from layercut.colour.folding import fold, hex_of, mean_colour, rgb_of
from layercut.colour.washes import FlatWash, GroupWash, Rgb, Wash
from layercut.findings import Finding

Role = Literal["wood", "mark-line", "mark-area", "opening", "glaze"]


@dataclass(frozen=True, slots=True)
class Paint:
    """What one sees where it lies: one flat colour, or coats over each other.

    `colour` is `#rrggbb` in lower case, of graded paint the mean one. `washes` are empty for a flat colour; else they
    lie bottom first, folded as far as they fold exactly, and let nothing through. `under` is the paint that would be
    seen without the glaze upon it, None where there is no glaze.
    """

    colour: str
    washes: tuple[Wash, ...] = ()
    under: "Paint | None" = None

    @classmethod
    def over(cls, washes: Sequence[Wash], ground: Rgb = PLYWOOD_RGB) -> "Paint":
        """The paint that coats come to over an opaque ground: flat where they fold to one even coat."""
        folded = fold(washes, ground)
        if len(folded) == 1 and isinstance(folded[0], FlatWash):
            return cls(hex_of(folded[0].colour))
        return cls(hex_of(mean_colour(folded, ground)), washes=folded)

    @property
    def wash(self) -> Wash:
        """All of it as one wash, which lets nothing through."""
        if not self.washes:
            return FlatWash(rgb_of(self.colour))
        return self.washes[0] if len(self.washes) == 1 else GroupWash(self.washes)


@dataclass(frozen=True, slots=True)
class Called:
    """What the artist calls an element: its kind (`path`), its label and its id, empty where it has none.

    `around` are all names that count for it: those of the groups, uses and originals around it, from the outside, and
    its own; not the layer's.
    """

    kind: str = ""
    label: str = ""
    ident: str = ""
    around: tuple[str, ...] = ()

    @property
    def name(self) -> str:
        """The artist's own name for it, empty where there is none."""
        return self.label or self.ident


NAMELESS = Called()
"""Of what no element drew."""


@dataclass(frozen=True, slots=True)
class Shape:
    """One filled or stroked thing of a layer, in paint order.

    `geometry` is a region (`wood`, `mark-area`, `opening`, `glaze`) or lines (`mark-line`), mm on the panel.
    `element` is how a message names it, such as `path 'leaf-3'`; nothing is read from it. `called` is what the artist
    calls it. `paint` is what it shows over bare wood. `coat` is
    how it was drawn where it lets something through, and may reach beyond the shape's wood; None where `paint` lies
    on `geometry` and nothing shines through. A glaze has no wood: it only colours what is seen through it.
    """

    role: Role
    geometry: BaseGeometry
    paint: Paint
    element: str
    called: Called = NAMELESS
    coat: Coat | None = None


@dataclass(frozen=True, slots=True)
class Layer:
    """One layer of the drawing: its name and its shapes in paint order.

    `shared` are the names and digests that point to more than one part of the drawing, so that no piece is known by
    them; `stack.naming` sets it.
    """

    name: str
    shapes: tuple[Shape, ...]
    shared: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Drawing:
    """What the maker drew: the page in mm and the layers from back to front, without hidden and guide layers."""

    file: str
    sha256: str
    width_mm: float
    height_mm: float
    layers: tuple[Layer, ...]
    findings: tuple[Finding, ...] = ()

    @property
    def layer_names(self) -> tuple[str, ...]:
        """The names of its layers, from back to front."""
        return tuple(layer.name for layer in self.layers)
