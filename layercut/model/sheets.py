"""What the machine does: marks and cuts of each sheet in burning order.

Holds: all values are frozen; `model/__init__.py` says where the origin is.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Literal

from shapely import LineString, MultiPolygon, Polygon

from layercut.geometry.curves import Path
from layercut.geometry.regions import Region
from layercut.model.stack import LoosePiece, Tie
from layercut.workplan import BurnTimes


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
