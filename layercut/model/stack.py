"""What each sheet is made of: faces, wood, islands and what is done about them.

Holds: all values are frozen; `model/__init__.py` says where the origin is.
"""

import math
from dataclasses import dataclass
from typing import Literal

from shapely import LineString, Polygon

from layercut.colour.merging import Merged
from layercut.findings import Finding
from layercut.geometry.regions import Region
from layercut.model.drawing import Paint

WayOut = Literal["tie", "loose", "behind", "out"]
"""What can be done about a piece that isn't joined to its frame."""


@dataclass(frozen=True, slots=True)
class Panel:
    """What every sheet shares: the outline, the interior inside the frame, the frame ring without its pin holes.

    `blind` says that the pins end behind the front sheet, which has no holes.
    """

    width_mm: float
    height_mm: float
    frame_mm: float
    outline: Polygon
    interior: Polygon
    frame: Polygon
    pins: tuple[Polygon, ...] = ()
    blind: bool = False

    @property
    def face(self) -> Polygon:
        """The frame's ring as the front sheet has it, and as it is seen."""
        return Polygon(self.outline.exterior, [self.interior.exterior]) if self.blind else self.frame


@dataclass(frozen=True, slots=True)
class PaintedRegion:
    """Where one paint shows on a layer's visible region."""

    paint: Paint
    region: Region


@dataclass(frozen=True, slots=True)
class Island:
    """Wood that doesn't reach the frame through necks of the allowed width.

    `id` is what the artist calls it (`smoke`), or what it looks like and where (`path#k3f7q2m`); it is known by each
    of `aliases` too, and by `old_id` in older job files (`house#79`). `neck_mm` is the measured width of the widest
    neck it hangs by, None where it hangs by nothing; `across` are the lines across its necks.
    """

    id: str
    region: Region
    at_mm: tuple[float, float]
    area_mm2: float
    element: str
    neck_mm: float | None = None
    across: tuple[LineString, ...] = ()
    aliases: tuple[str, ...] = ()
    old_id: str = ""

    @property
    def names(self) -> tuple[str, ...]:
        """All names by which the job file may speak of it, the best first."""
        return (self.id, *self.aliases, *((self.old_id,) if self.old_id else ()))


@dataclass(frozen=True, slots=True)
class Tie:
    """A strip that joins an island to the rest: its middle, its width, the wood it adds, how much is seen, the
    island it holds, how long it is from wood to wood, its middle line, and its paint where it is seen."""

    at_mm: tuple[float, float]
    width_mm: float
    visible_mm2: float
    region: Region
    holds: str = ""
    length_mm: float = 0.0
    line: LineString | None = None
    paint: Paint | None = None


@dataclass(frozen=True, slots=True)
class Guest:
    """A piece that its sheet gives away: painted on a sheet behind it, or left out.

    `region` is what was seen of it, `source` its own sheet's place from the back, `home` that of the sheet
    on which it is painted, None where it is left out.
    """

    id: str
    element: str
    region: Region
    source: int
    home: int | None


@dataclass(frozen=True, slots=True)
class Price:
    """One way out for a piece: the policy, and what of the picture it makes wrong, mm2; None where it can't be, and
    `why` says why not."""

    policy: WayOut
    mm2: float | None
    why: str = ""


@dataclass(frozen=True, slots=True)
class Choice:
    """What is done about a piece that isn't joined to its frame, and the other ways out.

    `name` is what a message calls its element, `layer` its sheet's place from the back. `chosen` is None for a piece
    about which nothing is done; prices are known where the job left some choice to layercut, and `own` says that this
    one is the maker's. `names` and `neck_mm` are the island's.
    """

    id: str
    name: str
    layer: int
    region: Region
    chosen: WayOut | None
    ways: tuple[Price, ...] = ()
    own: bool = False
    names: tuple[str, ...] = ()
    neck_mm: float | None = None

    @property
    def price_mm2(self) -> float | None:
        """What was chosen costs; None where that isn't known."""
        return next((way.mm2 for way in self.ways if way.policy == self.chosen), None)

    @property
    def runner_up(self) -> Price | None:
        """The cheapest of the other ways that can be; None where there is none."""
        others = [way for way in self.ways if way.policy != self.chosen and way.mm2 is not None]
        return min(others, key=lambda way: way.mm2 or 0.0, default=None)


@dataclass(frozen=True, slots=True)
class LoosePiece:
    """A piece that is cut free and glued on: what it rests on, with how much glue contact.

    `riser` says that nobody sees it: it is kept only to carry another piece. `names` are all by which the job file
    may speak of it, empty for a riser. `width_mm` is the width of its greatest disc.
    """

    id: str
    region: Region
    at_mm: tuple[float, float]
    rests_on: str
    contact_mm2: float
    riser: bool = False
    names: tuple[str, ...] = ()
    width_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class StackLayer:
    """What one sheet is made of, as regions of the one cell map (docs/design.md, 1).

    `wood` holds the frame, the face and the hidden ground that is kept; `visible` what nobody covers;
    `opening` what must be cut away so that something deeper shows. `islands` are those that nothing is done about;
    `locators` show where the loose pieces of the sheet in front go; `given` are the pieces that are painted behind or
    left out, `guests` those of sheets in front that are painted here; `slip_mm` is how far the sheet may lie beside
    its place before a wrong edge shows. `painted` is what shows; `coloured` are the colours of the sheet's own wood
    as drawn, without what shines through it and what lies upon it: it is their borders that are marked.
    """

    name: str
    face: Region
    visible: Region
    opening: Region
    hidden: Region
    wood: Region
    painted: tuple[PaintedRegion, ...]
    islands: tuple[Island, ...] = ()
    ties: tuple[Tie, ...] = ()
    loose: tuple[LoosePiece, ...] = ()
    locators: tuple[LineString, ...] = ()
    given: tuple[Guest, ...] = ()
    guests: tuple[Guest, ...] = ()
    choices: tuple[Choice, ...] = ()
    slip_mm: float = math.inf
    coloured: tuple[PaintedRegion, ...] = ()


@dataclass(frozen=True, slots=True)
class Stack:
    """Every sheet's regions, from back to front, and `bare`: where no face covers and the back sheet's wood shows.

    `merged` are the drawn colours that are painted in another one.
    """

    panel: Panel
    layers: tuple[StackLayer, ...]
    bare: Region
    merged: tuple[Merged, ...] = ()
    findings: tuple[Finding, ...] = ()
