"""The values that pass between stages, all frozen.

Enters: nothing but geometry's and the job's words. Leaves: `Drawing` (what was drawn), `Stack` (what each sheet is
made of), `Sheet` (what the machine does), `Planned`, `Cut` and `Made` (all that is known by then). All lengths are
mm; the origin is the panel's top left corner, x to the right, y down. Layers and sheets are in order, 0 the back.
"""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal, TypeAlias

from shapely import LineString, MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from layercut.colour.bare import PLYWOOD_RGB
from layercut.colour.coats import Coat
from layercut.colour.folding import fold, hex_of, mean_colour, rgb_of
from layercut.colour.merging import Merged
from layercut.colour.washes import FlatWash, GroupWash, Rgb, Wash
from layercut.findings import Finding
from layercut.geometry.curves import Path
from layercut.geometry.regions import Region
from layercut.job import Job
from layercut.workplan import BurnTimes, Workplan

Role = Literal["wood", "mark-line", "mark-area", "opening", "glaze"]

WayOut = Literal["tie", "loose", "behind", "out"]
"""What can be done about a piece that isn't joined to its frame."""


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


@dataclass(frozen=True, slots=True)
class SheetCurves:
    """A sheet's contours as lines and cubics, in burning order: one `Path` of one subpath each, for an area all of
    its own."""

    mark_areas: tuple[tuple[Path, ...], ...]
    mark_lines: tuple[Path, ...]
    openings: tuple[Path, ...]
    outline: Path


@dataclass(frozen=True, slots=True)
class Strip:
    """One part of a spacer that is glued from strips.

    `number` is its own among all, from 1; `spacer` that of its ring, 1 the one next to the picture. `placed` is its
    wood in the ring, seen from the front, `laid` the same on the board: turned about the panel's top left corner
    (from x to y), then moved.
    """

    number: int
    spacer: int
    placed: Polygon
    laid: Polygon
    turned_deg: float
    moved_mm: tuple[float, float]


@dataclass(frozen=True, slots=True)
class OrderedSheet:
    """What is burnt on one sheet, in burning order, as polylines.

    `mark_areas` are engraved faces, `mark_lines` engraved lines; `openings` are closed centre lines of the beam,
    inner ones before those around them; `outline` is the rim. `wood` is what is left after the cut. A board of
    `strips` has a rim for each of them: all but the last come at the end of `openings`.
    """

    name: str
    kind: Literal["layer", "spacer"]
    file: str
    copies: int
    wood: Region
    mark_areas: tuple[Polygon, ...]
    mark_lines: tuple[LineString, ...]
    openings: tuple[Polygon, ...]
    outline: Polygon
    ties: tuple[Tie, ...] = ()
    loose: tuple[LoosePiece, ...] = ()
    slip_mm: float = math.inf
    strips: tuple[Strip, ...] = ()

    @property
    def inner_count(self) -> int:
        """How many of the openings are openings, and no rims of strips."""
        return len(self.openings) - max(len(self.strips) - 1, 0)

    @property
    def rims(self) -> tuple[Polygon, ...]:
        """The contours that cut out the sheet, or each strip."""
        return (*self.openings[self.inner_count :], self.outline)


@dataclass(frozen=True, slots=True)
class Sheet(OrderedSheet):
    """What the machine does to one sheet: an ordered sheet with the curves that are written.

    Its polylines begin where its curves do. `cut_mm` and `mark_mm` are the lengths of the curves of all cuts and of
    all marked lines; areas are not counted. `travel_mm` is the way between them. `times` are estimates.
    """

    curves: SheetCurves = field(kw_only=True)
    cut_mm: float = field(kw_only=True)
    mark_mm: float = field(kw_only=True)
    travel_mm: float = field(kw_only=True)
    times: BurnTimes = field(kw_only=True)

    @property
    def seconds(self) -> float:
        """All that the machine takes for it, s."""
        return self.times.total_s

    @property
    def rim_curves(self) -> tuple[Path, ...]:
        """The curves of its rims."""
        return (*self.curves.openings[self.inner_count :], self.curves.outline)


@dataclass(frozen=True, slots=True)
class BoardPart:
    """What is cut from a board in one piece: a sheet, a strip of a spacer, or a spare of a sheet's loose piece.

    `cut` is what the machine does, where the sheet has it: of a strip or a spare its own contours and marks alone.
    `piece` is the piece's id or the strip's name, empty for a whole sheet. A place of the sheet is turned about the
    sheet's origin by `turned_deg`, clockwise as one sees it (SVG's `rotate`), and lies `at_mm` further on the board.
    `inside` says that the part lies in an opening of another, and so is cut before that.
    """

    name: str
    cut: Sheet
    piece: str
    at_mm: tuple[float, float]
    turned_deg: int
    inside: bool

    @property
    def spare(self) -> bool:
        """Whether it is a spare of a loose piece."""
        return bool(self.piece) and not self.cut.strips


@dataclass(frozen=True, slots=True)
class BoardLayout:
    """One board and the parts that lie on it; sizes in mm."""

    file: str
    width_mm: float
    height_mm: float
    parts: tuple[BoardPart, ...]

    @property
    def waste_share(self) -> float:
        """The share of its wood that is in no part, 0 to 1."""
        return 1 - sum(float(part.cut.wood.area) for part in self.parts) / (self.width_mm * self.height_mm)


@dataclass(frozen=True, slots=True)
class BoardCuts:
    """All that is burnt on a board, in burning order, as curves: areas, lines, then the contours that lie inside
    others', and last the rims that don't. `travel_mm` is the way between; `times` are estimates."""

    mark_areas: tuple[tuple[Path, ...], ...]
    mark_lines: tuple[Path, ...]
    openings: tuple[Path, ...]
    outlines: tuple[Path, ...]
    travel_mm: float
    times: BurnTimes


@dataclass(frozen=True, slots=True)
class BoardPlan:
    """All boards of a job, and how good that is.

    `limit` is what their size comes from: boards as bought, the bed, or one of each. `flat` is how many boards there
    would be with nothing in the openings; `least` how many no layout can do without.
    """

    boards: tuple[BoardLayout, ...]
    limit: Literal["stock", "bed", "both"]
    flat: int
    least: int

    def waste_share(self, boards: int) -> float:
        """The share of so many boards' wood that is in no part, 0 to 1."""
        wood = sum(float(part.cut.wood.area) for board in self.boards for part in board.parts)
        first = self.boards[0]
        return 1 - wood / (boards * first.width_mm * first.height_mm)


@dataclass(frozen=True, slots=True)
class Boards:
    """The boards as they are laid and as they are written: each one's SVG by its file, and their times in order."""

    plan: BoardPlan
    written: Mapping[str, str]
    times: tuple[BurnTimes, ...]


@dataclass(frozen=True, slots=True)
class Proof:
    """What the written files really make: the area that shows wrong, and how many pieces come off the bed."""

    stack_mismatch_mm2: float
    pieces_planned: int
    pieces_found: int


@dataclass(frozen=True, slots=True)
class Planned:
    """What is known once the stack is settled: what each sheet is made of, and what is wrong or doubtful so far, in
    order (`findings.in_order`). A drawing that can't be made as drawn goes no further."""

    drawing: Drawing
    job: Job
    stack: Stack
    findings: tuple[Finding, ...]

    @property
    def makeable(self) -> bool:
        """True when no finding is an error."""
        return not any(finding.severity == "error" for finding in self.findings)


@dataclass(frozen=True, slots=True)
class Cut(Planned):
    """The same once its sheets are cut: the sheets, spacers last, and each one's SVG by its file."""

    sheets: tuple[Sheet, ...]
    written: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Made(Cut):
    """Everything one run knows of a drawing that can be made: the work at the bench, and what the proof found.

    `boards` are None where the job knows no size of boards or bed.
    """

    work: Workplan
    proof: Proof
    boards: Boards | None = None


Build: TypeAlias = Planned | Made
"""What a run comes to: all of it, or for a drawing that can't be made the plan, whose findings say why. Views render
it and decide nothing."""


def spacer_count(sheets: Iterable[OrderedSheet]) -> int:
    """How many spacers some sheets make: the copies of rings, and the rings that strips are glued to."""
    spacers = [sheet for sheet in sheets if sheet.kind == "spacer"]
    glued = {strip.spacer for sheet in spacers for strip in sheet.strips}
    return sum(sheet.copies for sheet in spacers if not sheet.strips) + len(glued)


def strip_name(number: int) -> str:
    """What a strip of a spacer is called where pieces are named."""
    return f"strip {number}"


def spacer_woods(sheets: Iterable[OrderedSheet]) -> tuple[Region, ...]:
    """The wood of each spacer in its place, the one next to the picture first."""
    spacers = [sheet for sheet in sheets if sheet.kind == "spacer"]
    woods: list[Region] = [sheet.wood for sheet in spacers if not sheet.strips for _ in range(sheet.copies)]
    strips = sorted((one for sheet in spacers for one in sheet.strips), key=lambda one: (one.spacer, one.number))
    rings: dict[int, list[Polygon]] = {}
    for strip in strips:
        rings.setdefault(strip.spacer, []).append(strip.placed)
    return (*woods, *(MultiPolygon(ring) for ring in rings.values()))


def sheets_of(build: Planned) -> tuple[Sheet, ...]:
    """The sheets of a build; none where nothing is cut."""
    return build.sheets if isinstance(build, Cut) else ()


__all__ = [
    "BoardCuts",
    "BoardLayout",
    "BoardPart",
    "BoardPlan",
    "Boards",
    "Build",
    "Called",
    "Cut",
    "Drawing",
    "Guest",
    "Island",
    "Layer",
    "LoosePiece",
    "Made",
    "OrderedSheet",
    "Paint",
    "PaintedRegion",
    "Panel",
    "Planned",
    "Proof",
    "Region",
    "Role",
    "Shape",
    "Sheet",
    "SheetCurves",
    "Stack",
    "StackLayer",
    "Strip",
    "Tie",
    "sheets_of",
    "spacer_count",
    "spacer_woods",
    "strip_name",
]
