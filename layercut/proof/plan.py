"""What the sheets should make, as far as the proof needs to know.

Enters: a stack and its sheets in memory (a folder's files are read in folder.py). Leaves: a `Plan`. Holds: only what
is to be seen, held and named; how the cuts were found has no place in it.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import shapely
from shapely import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from layercut.job import Job
from layercut.model import Sheet, Stack, StackLayer, Strip
from layercut.proof.looks import Colours
from layercut.proof.regions import EMPTY, both, polygons, tiled, union, without

TOLERANCES = 1.5
"""What the proof lets pass, in curve tolerances: one for the cut line, half of one for the plan's own flattening."""


DIGITS_MM = 0.003
"""What written digits move a mark by, mm: those of the sheet, those of its paint map, and curves read as chords."""


@dataclass(frozen=True, slots=True)
class PlannedPiece:
    """A piece that is to come loose: its name, a point of it, its area."""

    id: str
    at_mm: tuple[float, float]
    area_mm2: float


@dataclass(frozen=True, slots=True)
class PlannedTie:
    """A tie: its middle and its width, mm."""

    at_mm: tuple[float, float]
    width_mm: float


@dataclass(frozen=True, slots=True)
class PlannedMarks:
    """What is to be engraved on a sheet: areas, and lines along which the beam runs once."""

    areas: tuple[BaseGeometry, ...] = ()
    lines: tuple[LineString, ...] = ()


NO_MARKS = PlannedMarks()
"""Of a spacer."""


@dataclass(frozen=True, slots=True)
class PlannedGuest:
    """A piece of a sheet in front that is painted on this one: its name, where it shows, how much of that has no
    paint, and whether its outline is to be marked, as far as this sheet shows on both sides of it."""

    id: str
    region: BaseGeometry
    unpainted_mm2: float
    marked: bool


@dataclass(frozen=True, slots=True)
class PlannedStrip:
    """A strip of a spacer: its number and its ring's, a point of it on the board, its area, how many pin holes it
    has, and how it came from its ring to the board: turned about the origin, then moved."""

    number: int
    spacer: int
    at_mm: tuple[float, float]
    area_mm2: float
    pins: int
    turned_deg: float
    moved_mm: tuple[float, float]


@dataclass(frozen=True, slots=True)
class PlannedSheet:
    """One sheet: its file, where it should be seen, what comes loose, its ties, the lengths of its cuts and marks.

    `deeper` is where sheets behind it should be seen, so that it must be open there. `marks` is None where nothing
    tells them. `pinned` says that it has the frame's pin holes, which a front sheet may lack. A board of `strips` has
    no frame: all its pieces come loose.
    """

    file: str
    shown: BaseGeometry
    deeper: BaseGeometry
    pieces: tuple[PlannedPiece, ...]
    ties: tuple[PlannedTie, ...]
    cut_mm: float
    mark_mm: float
    marks: PlannedMarks | None = None
    guests: tuple[PlannedGuest, ...] = ()
    pinned: bool = True
    strips: tuple[PlannedStrip, ...] = ()


@dataclass(frozen=True, slots=True)
class PlannedMerge:
    """A colour of the drawing that is painted in another, and by how much they are said to differ (CIEDE2000)."""

    colour: str
    into: str
    difference: float


@dataclass(frozen=True)
class Plan:
    """Everything that the sheets are held against: mm, and the colours of the roles. `frame` is the ring that each
    keeps, with its pin holes; `spacer_mm` the width of a spacer's ring, None where nothing tells it. `merges` are the
    colours that share a pot, `merge_limit` how far they may differ where the job doesn't count its pots, and
    `most_pots` how many there are where it does."""

    width_mm: float
    height_mm: float
    kerf_mm: float
    tolerance_mm: float
    frame: BaseGeometry
    sheets: tuple[PlannedSheet, ...]
    colours: Colours
    spacer_mm: float | None = None
    merges: tuple[PlannedMerge, ...] = ()
    merge_limit: float = 0.0
    most_pots: int | None = None

    @property
    def mark_reach_mm(self) -> float:
        """How far a mark may lie from where it was planned, mm: the tolerance and the written digits."""
        return self.tolerance_mm + DIGITS_MM

    @cached_property
    def outline(self) -> BaseGeometry:
        """The panel, filled."""
        return union([Polygon(part.exterior) for part in polygons(self.frame)])

    @cached_property
    def whole_frame(self) -> BaseGeometry:
        """The frame without pin holes."""
        return union([self.frame, self.pins])

    @cached_property
    def pins(self) -> BaseGeometry:
        """The holes in the frame, all but the one that shows the picture."""
        holes = polygons(without(self.outline, self.frame))
        return union(sorted(holes, key=lambda hole: -hole.area)[1:])


def plan_from_stack(stack: Stack, sheets: Sequence[Sheet], job: Job) -> Plan:
    """The plan of a run, before anything is written. Islands that hang by nothing come loose too."""
    shown = [layer.visible for layer in stack.layers]
    # Where nothing is drawn, the back sheet's bare wood closes the picture.
    shown[:1] = [tiled((part, stack.bare)) for part in shown[:1]]
    planned = [
        PlannedSheet(
            sheet.file,
            part,
            deeper,
            _pieces(layer),
            _ties(layer),
            sheet.cut_mm,
            sheet.mark_mm,
            PlannedMarks(sheet.mark_areas, sheet.mark_lines),
            _guests(layer, job),
            pinned=not (stack.panel.blind and layer is stack.layers[-1]),
        )
        for sheet, layer, part, deeper in zip(sheets, stack.layers, shown, deeper_parts(shown), strict=False)
    ]
    planned += [
        PlannedSheet(
            sheet.file,
            EMPTY,
            EMPTY,
            strip_pieces(strips := tuple(map(_strip, sheet.strips))),
            (),
            sheet.cut_mm,
            sheet.mark_mm,
            NO_MARKS,
            strips=strips,
        )
        for sheet in sheets[len(stack.layers) :]
    ]
    panel = stack.panel
    tolerance = TOLERANCES * job.curves.tolerance
    return Plan(
        panel.width_mm,
        panel.height_mm,
        job.material.kerf,
        tolerance,
        panel.frame if any(sheet.pinned for sheet in planned) else panel.face,
        tuple(planned),
        colours_of(job),
        max(panel.frame_mm, job.hanging.plate + 2 * job.hanging.plate_edge),
        tuple(PlannedMerge(one.colour, one.into, one.difference) for one in stack.merged),
        job.paint.merge,
        job.paint.colours,
    )


def _strip(strip: Strip) -> PlannedStrip:
    return PlannedStrip(
        strip.number,
        strip.spacer,
        _inside(strip.laid),
        float(strip.laid.area),
        len(strip.laid.interiors),
        strip.turned_deg,
        strip.moved_mm,
    )


def strip_pieces(strips: Sequence[PlannedStrip]) -> tuple[PlannedPiece, ...]:
    """The strips of a board as pieces that come loose."""
    return tuple(PlannedPiece(f"strip {strip.number}", strip.at_mm, strip.area_mm2) for strip in strips)


def colours_of(job: Job) -> Colours:
    """The colour of each role, by the role's name."""
    return {name.replace("_", "-"): colour for name, colour in job.roles.model_dump().items()}


def deeper_parts(shown: Sequence[BaseGeometry]) -> list[BaseGeometry]:
    """For each sheet, back to front, where those behind it should be seen."""
    return [tiled(shown[:index]) for index in range(len(shown))]


def _pieces(layer: StackLayer) -> tuple[PlannedPiece, ...]:
    named = [(piece.id, piece.region) for piece in layer.loose]
    named += [(island.id, island.region) for island in layer.islands if island.neck_mm is None]
    return tuple(PlannedPiece(name, _inside(region), float(region.area)) for name, region in named)


def _guests(layer: StackLayer, job: Job) -> tuple[PlannedGuest, ...]:
    painted = [part.region for part in layer.painted] if layer.guests else []
    shown = ((guest.id, both(guest.region, layer.visible)) for guest in layer.guests)
    return tuple(
        PlannedGuest(name, region, unpainted_mm2(region, painted), job.marks.behind)
        for name, region in shown
        if not region.is_empty
    )


def unpainted_mm2(region: BaseGeometry, painted: Sequence[BaseGeometry]) -> float:
    """How much of a region no paint covers, mm2; paints of one sheet don't overlap."""
    return float(region.area - sum(shapely.intersection(region, part).area for part in painted))


def _inside(region: BaseGeometry) -> tuple[float, float]:
    point = shapely.point_on_surface(region)
    return (float(point.x), float(point.y))


def _ties(layer: StackLayer) -> tuple[PlannedTie, ...]:
    return tuple(PlannedTie(tie.at_mm, tie.width_mm) for tie in layer.ties)
