"""What the walk hands to the renderer: one thing to draw, not yet flattened.

Enters: nothing. Leaves: `Item`, `Ink`, `Tiles` and `Context`.
"""

from dataclasses import dataclass, replace

from layercut.colour.coats import Veil
from layercut.colour.washes import Wash
from layercut.drawing.css.styles import Style
from layercut.drawing.names import Word
from layercut.drawing.units import Viewport
from layercut.geometry.curves import Affine, Path
from layercut.geometry.fill import Rule
from layercut.geometry.regions import Region
from layercut.geometry.strokes import StrokeStyle
from layercut.model import Called

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Tiles:
    """What a pattern repeats: the items of one tile, a corner of that tile and its two sides, mm.

    `serial` is no other's, so that groups of one shape's tiles aren't taken for those of another's.
    """

    items: tuple["Item", ...]
    corner: Point
    across: Point
    down: Point
    serial: int


@dataclass(frozen=True, slots=True)
class Ink:
    """A paint as it comes out: its colour `#rrggbb` (of gradients and patterns the mean one), by which the job may
    know it, and its wash; of a pattern what it repeats, and then the wash's opacity is that of all tiles together."""

    colour: str
    wash: Wash
    tiles: Tiles | None = None


@dataclass(frozen=True, slots=True)
class Item:
    """A path to fill and stroke.

    `veils` are the groups around it that let something through, the outermost first. `merged` says that its outline
    is that of all it covers, where subpaths overlap as in letters.
    `matrix` takes the path to mm; `pen`'s lengths are in the path's units, or in px of the page where
    `fixed_pen` is set. `clips` are regions in mm that all hold. `layer` is None outside every layer.
    """

    path: Path
    matrix: Affine
    rule: Rule
    fill: Ink | None
    stroke: Ink | None
    pen: StrokeStyle
    fixed_pen: bool
    stroke_first: bool
    role: Word | None
    clips: tuple[Region, ...]
    layer: int | None
    element: str
    called: Called
    veils: tuple[Veil, ...] = ()
    merged: bool = False

    @property
    def paints(self) -> bool:
        """True when something of it is drawn."""
        return self.fill is not None or self.stroke is not None

    def clipped(self, region: Region) -> "Item":
        """The same with one more clip."""
        return replace(self, clips=(*self.clips, region))


@dataclass(frozen=True, slots=True)
class Context:
    """What an element takes over from those around it.

    `around` are the names of what is around it within its layer, from the outside, and its own.
    `used` holds the targets of the uses that led here, to tell cycles; `clipping` is set inside a clip path,
    where only geometry counts, `masking` inside a mask, where thin lines are paint like any.
    """

    matrix: Affine
    style: Style
    viewport: Viewport
    veils: tuple[Veil, ...] = ()
    role: Word | None = None
    layer: int | None = None
    depth: int = 0
    used: tuple[object, ...] = ()
    clipping: bool = False
    around: tuple[str, ...] = ()
    masking: bool = False
