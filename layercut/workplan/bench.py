"""Hanging, wood, cost and the order of gluing; and all of the work together.

Holds: frozen values; lengths are mm on the panel, areas mm2, times s, weights g, forces N.
"""

from dataclasses import dataclass
from typing import Literal

from shapely import Polygon

from layercut.money import Money
from layercut.workplan.paint import Handed, PaintPlan, Place
from layercut.workplan.times import TimePlan

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
