"""Paint: colours, what they are mixed from, where each goes on each sheet, and how it is laid on.

Holds: frozen values; lengths are mm on the panel, areas mm2, times s, weights g, forces N.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from layercut.colour.merging import Merged
from layercut.colour.washes import Spread, Wash
from layercut.geometry.coverage import Window
from layercut.geometry.precision import GRID_MM
from layercut.geometry.regions import Region
from layercut.job_values import PaintHand

Finish = Literal["paint", "stain"]
Place = tuple[float, float]


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
