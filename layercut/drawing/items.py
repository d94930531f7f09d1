"""What the walk hands to the renderer: one thing to draw, not yet flattened.

Enters: nothing. Leaves: `Item` and `Context`.
"""

from dataclasses import dataclass, replace

from layercut.drawing.names import Word
from layercut.drawing.paints import Ink
from layercut.drawing.styles import Style
from layercut.drawing.units import Viewport
from layercut.geometry.curves import Affine, Path
from layercut.geometry.fill import Rule
from layercut.geometry.regions import Region
from layercut.geometry.strokes import StrokeStyle
from layercut.model import Called


@dataclass(frozen=True, slots=True)
class Item:
    """A path to fill and stroke.

    `merged` says that its outline is that of all it covers, where subpaths overlap as in letters.
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
    where only geometry counts.
    """

    matrix: Affine
    style: Style
    viewport: Viewport
    opacity: float = 1.0
    role: Word | None = None
    layer: int | None = None
    depth: int = 0
    used: tuple[object, ...] = ()
    clipping: bool = False
    around: tuple[str, ...] = ()
