"""The work around the cut, as values: paint, hanging, time, material and the order of gluing.

Enters: geometry's words. Leaves: `Workplan`, frozen, and its parts. Lengths are mm on the panel, areas mm2, times s,
weights g, forces N. `planning/` makes it; views show it and decide nothing.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from shapely import Polygon

from layercut.colour.merging import Merged
from layercut.colour.washes import Spread, Wash
from layercut.geometry.coverage import Window
from layercut.geometry.precision import GRID_MM
from layercut.geometry.regions import Region
from layercut.job_values import PaintHand
from layercut.money import Money

Finish = Literal["paint", "stain"]
Place = tuple[float, float]


@dataclass(frozen=True, slots=True)
class BurnTimes:
    """How long the machine takes for one sheet, by what it does there, s."""

    areas_s: float = 0.0
    lines_s: float = 0.0
    openings_s: float = 0.0
    rim_s: float = 0.0
    travel_s: float = 0.0

    @property
    def marking_s(self) -> float:
        """Engraving, areas and lines, s."""
        return self.areas_s + self.lines_s

    @property
    def cutting_s(self) -> float:
        """Cutting, openings and rim, s."""
        return self.openings_s + self.rim_s

    @property
    def total_s(self) -> float:
        """All of it, s."""
        return self.marking_s + self.cutting_s + self.travel_s


@dataclass(frozen=True, slots=True)
class Drops:
    """One part of a mix: which paint, its colour, and how many drops."""

    name: str
    colour: str
    drops: int


@dataclass(frozen=True, slots=True)
class OwnMix:
    """A mix of two or three of the maker's own paints: its parts, that of which most is taken first, the colour that
    it is predicted to have, and how far that is from what is wanted (CIEDE2000). It is to be tried on scrap first."""

    parts: tuple[Drops, ...]
    colour: str
    difference: float


@dataclass(frozen=True, slots=True)
class OwnMatch:
    """The nearest paint of the maker's own: its name, its colour, and how far it is by CIEDE2000; and the best mix of
    two or three of them where that comes clearly nearer."""

    name: str
    colour: str
    difference: float
    mix: OwnMix | None = None


@dataclass(frozen=True, slots=True)
class Shades:
    """Three shades of one colour, `#rrggbb`, darkest first. The middle one is the colour as drawn."""

    base: str
    middle: str
    light: str


@dataclass(frozen=True, slots=True)
class BlendStop:
    """One colour of a blend: where it stands and how much it covers, each 0 to 1, and which of the maker's own paints
    comes nearest."""

    offset: float
    colour: str
    match: OwnMatch | None = None
    opacity: float = 1.0


@dataclass(frozen=True, slots=True)
class LaidCoat:
    """One coat of several over each other: the number of its paint, how much it covers, 0 to 1, and whether a mask
    fades it."""

    number: int
    opacity: float = 1.0
    masked: bool = False


BARE_WOOD = 0
"""Stands for bare wood where a number says what a glaze lies on."""


@dataclass(frozen=True, slots=True)
class Colour:
    """One paint of the whole picture, with the number that it bears on every map.

    `blend` is empty for a plain colour; else the shades are those of its mean, under the blend. `matches` are the
    nearest of the maker's own paints to base, middle and light, empty where the job names none. `laid` are the paints
    that lie over each other where one gradient crosses another, bottom first. `over` is the number of what
    a glaze lies on, `BARE_WOOD` for wood, None where there is no glaze. A paint seen only through others has no area.
    `merged` are the colours of the drawing that are painted from this pot too, with how far off each is.
    """

    number: int
    colour: str
    finish: Finish
    shades: Shades
    coats: int
    visible_mm2: float
    painted_mm2: float
    blend: tuple[BlendStop, ...] = ()
    matches: tuple[OwnMatch, ...] = ()
    laid: tuple[LaidCoat, ...] = ()
    over: int | None = None
    merged: tuple[Merged, ...] = ()


@dataclass(frozen=True, slots=True)
class BlendDirection:
    """Where a gradient runs: from 0 % to 100 %, mm on the panel, along a line on which much of it is seen.

    `number` is its paint's. A round one runs outwards; `middle_mm` is the middle of its last circle, `axes_mm` the
    longer and the shorter half axis of that. Of a straight one both say nothing.
    """

    number: int
    kind: Literal["linear", "radial"]
    from_mm: Place
    to_mm: Place
    spread: Spread
    middle_mm: Place = (0.0, 0.0)
    axes_mm: tuple[float, float] = (0.0, 0.0)

    def at(self, share: float) -> Place:
        """The place at a share of the way, 0 to 1."""
        (x0, y0), (x1, y1) = self.from_mm, self.to_mm
        return (x0 + share * (x1 - x0), y0 + share * (y1 - y0))

    def within(self, width_mm: float, height_mm: float) -> tuple[float, float] | None:
        """The shares between which the way lies on a panel; None where it never does."""
        low, high = 0.0, 1.0
        for start, end, most in zip(self.from_mm, self.to_mm, (width_mm, height_mm), strict=True):
            step = end - start
            if abs(step) < GRID_MM:
                if not -GRID_MM <= start <= most + GRID_MM:
                    return None
                continue
            one, other = sorted((-start / step, (most - start) / step))
            low, high = max(low, one), min(high, other)
        return (low, high) if low < high else None


@dataclass(frozen=True, slots=True)
class Run:
    """One region of a blend, what lies on it, and the ways of its gradients, the top one first; none where there are
    too many runs to follow each."""

    region: Region
    washes: tuple[Wash, ...]
    ways: tuple[BlendDirection, ...] = ()


@dataclass(frozen=True, slots=True)
class PaintedPart:
    """Where one colour goes on one sheet: what is seen of it, and where it goes on under the sheet in front.

    `reach` is as exact as a brush (a twentieth of a millimetre), `visible` as exact as everything else. `runs` part
    what is seen of a blend by where its gradients lie, the largest first; a flat colour has none.
    """

    number: int
    visible: Region
    reach: Region
    runs: tuple[Run, ...] = ()

    @property
    def painted_mm2(self) -> float:
        """All that is painted, mm2."""
        return float(self.visible.area + self.reach.area)


@dataclass(frozen=True, slots=True)
class SheetPaint:
    """The paint of one sheet, back to front: its parts in the order of their numbers, and the zones to leave bare.

    `glue` is where the next sheet in front is glued on, drawn in; `contact_mm2` is all of the contact. `bare` is what
    is seen and has no paint. `guests` are the pieces of sheets in front that are painted here, each by its name with
    what is seen of it. `frame_mm2` is the face of the frame that is stained, 0 where a sheet in front covers it.
    """

    parts: tuple[PaintedPart, ...]
    glue: Region
    glue_mm2: float
    contact_mm2: float
    bare: Region
    guests: tuple[tuple[str, Region], ...]
    frame_mm2: float


@dataclass(frozen=True, slots=True)
class PaintPlan:
    """All colours by number, all sheets from back to front, the overlap that was used, and the rim's edge to
    stain. `merge` is how far colours may differ that share a pot, `most` how many pots the job has, None for any."""

    overlap_mm: float
    colours: tuple[Colour, ...]
    sheets: tuple[SheetPaint, ...]
    edge_mm2: float
    own: str = ""
    own_limit: float = 0.0
    merge: float = 0.0
    most: int | None = None

    def colour(self, number: int) -> Colour:
        """The colour of a number."""
        return self.colours[number - 1]


HIGHEST, LOWEST = 1 / 4, 1 / 3
"""Where rings are usually screwed on, from the top, in heights of the picture (common practice)."""

HOOK_ROOM_MM = 10.0
"""Between the wire's highest point and the top edge, mm, for the hook and its nail (layercut's own choice)."""


@dataclass(frozen=True, slots=True)
class Hangers:
    """Where the picture is hung by: two rings with a wire between them, or one hanger.

    Places are mm from the panel's top left corner, seen from the front. `rings_mm` are the middles of the rings'
    plates, left one first, or of the one hanger. `hook_mm` is where the hook holds: the highest point of the wire
    under load, above the panel's top where it is negative, or the hanger. `beside_mm` is how far right of the rings'
    middle that lies. `wire_mm` is the wire from ring to ring, `cut_mm` with both ends; 0 for one hanger.
    `on_wood` says that every plate lies on the wood of the frame behind. `hides_deg` is the steepest angle with which
    the hook would be hidden, whole degrees, 0 for none.
    """

    kind: Literal["wire", "one"]
    rings_mm: tuple[Place, ...]
    hook_mm: Place
    beside_mm: float
    sag_mm: float
    wire_mm: float
    cut_mm: float
    on_wood: bool
    hides_deg: float
    top_mm: float | None

    @property
    def spacing_mm(self) -> float:
        """From ring to ring, mm; 0 for one hanger."""
        return self.rings_mm[-1][0] - self.rings_mm[0][0]

    @property
    def hidden(self) -> bool:
        """Whether the hook holds below the panel's top edge."""
        return self.hook_mm[1] > 0

    @property
    def hook_height_mm(self) -> float | None:
        """How high above the floor the hook holds, mm; None where the job doesn't say how high the picture hangs."""
        return None if self.top_mm is None else self.top_mm - self.hook_mm[1]


@dataclass(frozen=True, slots=True)
class Hanging:
    """Spacers, weight and load.

    `spacers` frames of `spacer_width_mm` lie behind the stack; `screw_mm` is None where the job doesn't say it, and
    `longest_mm` is the longest screw that keeps the guard, 0 where none does.
    `behind` counts the sheets in which a screw surely finds wood. `centre_mm` is the centre of gravity from the
    panel's top left corner, `depth_mm` how far it lies in front of the wall. The wire's tension is on each side of
    the hook, on the steeper one where they differ, and None where there is no wire.
    """

    spacers: int
    spacer_width_mm: float
    screw_mm: float | None
    longest_mm: float
    guard_mm: float
    behind: int
    depth_of_stack_mm: float
    density_kg_m3: float
    density_source: str
    mass_g: float
    extra_g: float
    weight_n: float
    centre_mm: Place
    depth_mm: float
    wire_angle_deg: float
    tension_n: float | None
    safety: float
    hangers: Hangers

    @property
    def load_n(self) -> float:
        """What hooks and wall must bear, N: the weight times the safety factor."""
        return self.weight_n * self.safety

    @property
    def wire_load_n(self) -> float | None:
        """What the wire must bear, N: its tension times the safety factor; None where there is no wire."""
        return None if self.tension_n is None else self.tension_n * self.safety


@dataclass(frozen=True, slots=True)
class SheetTime:
    """One sheet's time on the machine; `copies` says how often it is cut."""

    name: str
    copies: int
    times: BurnTimes


@dataclass(frozen=True, slots=True)
class TimePlan:
    """Every sheet's time, and all of them together, copies counted."""

    sheets: tuple[SheetTime, ...]
    total: BurnTimes


@dataclass(frozen=True, slots=True)
class Layout:
    """How many panels one board takes, turned or not, and how many boards that makes. `each` is 0 where none fits."""

    width_mm: float
    height_mm: float
    each: int
    boards: int
    spots: tuple[tuple[float, float, bool], ...] = ()


@dataclass(frozen=True, slots=True)
class Nested:
    """A small part laid into the waste of an opening: which sheet, where its middle lies, and how far it is
    turned."""

    part: str
    sheet: str
    at_mm: Place
    turned_deg: int
    outline: Polygon


@dataclass(frozen=True, slots=True)
class MaterialPlan:
    """Wood used and left, mm2 over all sheets and copies; layouts on the bed and on a board; small parts in the
    waste.

    `panels` counts sheets with their copies. `waste_mm2` is what falls out of the panels; `unplaced` names the
    parts for which no place was found.
    """

    panels: int
    wood_mm2: float
    waste_mm2: float
    bed: Layout | None
    stock: Layout | None
    nested: tuple[Nested, ...]
    unplaced: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Placed:
    """One loose piece in a step: what it is glued on, with how much contact, and whether a locator shows the
    place."""

    piece: str
    rests_on: str
    contact_mm2: float
    locator: bool
    riser: bool


@dataclass(frozen=True, slots=True)
class Step:
    """One step of the assembly: what is done, with what, on what, over how much glue contact."""

    kind: Literal["lay", "sheet", "pieces", "spacer", "edges", "hanger", "label"]
    what: str
    on: str = ""
    contact_mm2: float = 0.0
    pieces: tuple[Placed, ...] = ()


@dataclass(frozen=True, slots=True)
class Handed:
    """What of one paint on one sheet is laid on by one hand: the paint's number, and what is seen of it.

    `upwards` says that a blend grows lighter upwards, as water does.
    """

    number: int
    hand: PaintHand
    region: Region
    upwards: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class CoatSteps:
    """Where base, middle and light lie on the panel, in pixels.

    `labels` has the number of each pixel's region, 0 where there is none; region n is `regions[n - 1]`, its sheet's
    place from the back `sheets[n - 1]`. `middle` and `light` say how far each covers the pixel, 0 to 255; the base
    covers all of its region.
    """

    window: Window
    regions: tuple[Handed, ...]
    sheets: tuple[int, ...]
    labels: NDArray[np.int32]
    middle: NDArray[np.uint8]
    light: NDArray[np.uint8]

    def of_sheet(self, place: int) -> NDArray[np.bool_]:
        """Which of the regions are a sheet's, by their numbers, from 0: (regions + 1,)."""
        return np.array([False, *(sheet == place for sheet in self.sheets)])


@dataclass(frozen=True, slots=True)
class Cost:
    """What wood and machine cost, in the maker's currency, which `currency` tells.

    `wood` is None where its price or the number of `boards` isn't known, `machine` where its rate isn't.
    """

    currency: Money
    boards: int | None
    wood: float | None
    seconds: float
    machine: float | None

    @property
    def total(self) -> float:
        """What is known of both, together: of the rounded amounts that are told, so that they add up."""
        return sum(round(part, 2) for part in (self.wood, self.machine) if part is not None)


@dataclass(frozen=True, slots=True)
class Workplan:
    """Everything about the work around the cut; `hands` are those of the paint, sheet by sheet from the back. `cost`
    is None where the job says no price."""

    paint: PaintPlan
    hands: tuple[tuple[Handed, ...], ...]
    hanging: Hanging
    times: TimePlan
    material: MaterialPlan
    steps: tuple[Step, ...]
    cost: Cost | None = None


__all__ = [
    "BARE_WOOD",
    "HIGHEST",
    "HOOK_ROOM_MM",
    "LOWEST",
    "BlendDirection",
    "BlendStop",
    "BurnTimes",
    "CoatSteps",
    "Colour",
    "Cost",
    "Drops",
    "Finish",
    "Handed",
    "Hangers",
    "Hanging",
    "LaidCoat",
    "Layout",
    "MaterialPlan",
    "Nested",
    "OwnMatch",
    "OwnMix",
    "PaintPlan",
    "PaintedPart",
    "Placed",
    "Run",
    "Shades",
    "SheetPaint",
    "SheetTime",
    "Step",
    "TimePlan",
    "Workplan",
]
