"""Parts: all that is to be cut from boards.

Enters: the sheets, spacers included, and the material. Leaves: `Part`s: every copy of every sheet, each strip of a
spacer, and the spares of loose pieces. Holds: a part's rim and what lies free within it are lines of the beam, so
that a gap is one of lines.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString, MultiPolygon, Polygon, STRtree

from layercut.geometry.offsets import shrink
from layercut.geometry.regions import Region, as_region, polygons_of, prepared, union
from layercut.geometry.thinning import thinned_apart
from layercut.job_tables import MaterialJob
from layercut.model import Sheet, SheetCurves, strip_name
from layercut.planning.boards.rooms import SLACK_MM, Room, rooms_of
from layercut.workplan import BurnTimes

MOST_OPENINGS = 24
"""Openings of a sheet that are looked at, the largest first."""

MOST_SPARES = 200
"""Spares that are laid on boards, those of the largest pieces; a place for each has to be looked for."""

LEAST_WASTE_MM2 = 25.0
"""Waste smaller than this is a crumb nobody lays a part on, mm2."""

ROUND = 1.02
"""Chords of a round offset lie nearer than it by 2 % at most (`geometry/offsets.py`), so it is drawn by that more."""


@dataclass(frozen=True, slots=True)
class Part:
    """Something to be cut in one piece: its name, what the machine does, and where it lies on its own sheet.

    `piece` is the loose piece of which it is a spare, or the strip that it is; empty for a whole sheet. `rim` is the
    cut line around it, filled; `rooms` are where cut lines of other parts may lie within its openings, the board not
    yet known.
    """

    name: str
    cut: Sheet
    piece: str
    rim: Polygon
    rooms: tuple[Room, ...]

    @property
    def spare(self) -> bool:
        """Whether it is a spare of a loose piece."""
        return bool(self.piece) and not self.cut.strips


def find_parts(sheets: Sequence[Sheet], material: MaterialJob) -> list[Part]:
    """Every copy of every sheet in their order, then the spares; risers, which nobody sees, have none.

    A sheet of strips is no part: each of its strips is. At most `MOST_SPARES` spares, those of the largest pieces.
    """
    parts: list[Part] = []
    spares: list[Part] = []
    for sheet in sheets:
        if sheet.strips:
            parts += _strips(sheet)
            continue
        rooms = tuple(rooms_of(0, free_within(sheet, material.gap, material.kerf), inside=True))
        names = [sheet.name] if sheet.copies == 1 else [f"{sheet.name} {k + 1}" for k in range(sheet.copies)]
        parts += [Part(name, sheet, "", sheet.outline, rooms) for name in names]
    for sheet in sheets:
        for piece in sheet.loose:
            if piece.riser or not material.spares:
                continue
            cut = cut_out(sheet, piece.id, piece.region)
            if cut is not None:
                ends = [""] if material.spares == 1 else [f" {k + 1}" for k in range(material.spares)]
                spares += [Part(f"{piece.id}, spare{end}", cut, piece.id, cut.outline, ()) for end in ends]
    largest = sorted(range(len(spares)), key=lambda k: -float(spares[k].rim.area))[:MOST_SPARES]
    return parts + [spares[k] for k in sorted(largest)]


def _strips(sheet: Sheet) -> Iterator[Part]:
    """Each strip of a sheet of strips, as it is laid there."""
    for strip in sheet.strips:
        name = strip_name(strip.number)
        cut = cut_out(sheet, name, strip.laid)
        assert cut is not None, "a strip has a rim of its own"
        yield Part(name, replace(cut, strips=(strip,)), name, cut.outline, ())


def cut_out(sheet: Sheet, name: str, wood: Region) -> Sheet | None:
    """What of a sheet cuts and marks one piece of its wood, as a sheet of its own; None where it has no contour.

    Lengths and times are left at 0.
    """
    contours = (*sheet.openings, sheet.outline)
    curves = (*sheet.curves.openings, sheet.curves.outline)
    piece = max(polygons_of(wood), key=lambda part: float(part.area), default=None)
    if piece is None:
        return None
    rings = np.array(contours, dtype=object)
    around: list[int] = np.flatnonzero(shapely.contains(rings, shapely.point_on_surface(piece))).tolist()
    if not around:
        return None
    # Of all rings around a place in the wood, the smallest is the piece's own: its holes don't hold that place.
    rim = min(around, key=lambda k: float(contours[k].area))
    holes = _holes(rings, rim)
    own = prepared(as_region(shapely.difference(rings[rim], MultiPolygon([rings[k] for k in holes]))))
    areas = _within(own, sheet.mark_areas)
    lines = _within(own, sheet.mark_lines)
    return replace(
        sheet,
        name=name,
        copies=1,
        wood=piece,
        mark_areas=tuple(sheet.mark_areas[k] for k in areas),
        mark_lines=tuple(sheet.mark_lines[k] for k in lines),
        openings=tuple(contours[k] for k in holes),
        outline=contours[rim],
        ties=(),
        loose=(),
        strips=(),
        curves=SheetCurves(
            tuple(sheet.curves.mark_areas[k] for k in areas),
            tuple(sheet.curves.mark_lines[k] for k in lines),
            tuple(curves[k] for k in holes),
            curves[rim],
        ),
        cut_mm=0.0,
        mark_mm=0.0,
        travel_mm=0.0,
        times=BurnTimes(),
    )


def _holes(rings: NDArray[np.object_], rim: int) -> list[int]:
    """The rings within one, but for those that lie within another of them, in their order."""
    inside = np.flatnonzero(shapely.contains_properly(rings[rim], rings)).tolist()
    return [k for k in inside if not any(k != other and rings[other].contains(rings[k]) for other in inside)]


def _within(region: Region, shapes: Sequence[Polygon] | Sequence[LineString]) -> list[int]:
    found: list[int] = (
        np.flatnonzero(shapely.covers(region, np.array(shapes, dtype=object))).tolist() if shapes else []
    )
    return found


def free_within(sheet: Sheet, gap_mm: float, kerf_mm: float) -> Region:
    """Where cut lines of other parts may lie within a sheet's openings, a gap from its own. May be empty."""
    # Thinned before and after, each time by the slack, which the offset has more.
    inset = ROUND * (gap_mm + kerf_mm / 2 + 2 * SLACK_MM)
    waste = [piece for piece in waste_of(sheet) if piece.area >= LEAST_WASTE_MM2]
    drawn_in = [shrink(piece, inset) for piece in thinned_apart(np.array(waste, dtype=object), SLACK_MM)]
    rooms = np.array([part for region in drawn_in for part in polygons_of(region)], dtype=object)
    return as_region(MultiPolygon(list(thinned_apart(rooms, SLACK_MM))))


def waste_of(sheet: Sheet) -> Iterator[Polygon]:
    """What falls out of a sheet's largest openings: the holes of its wood, less all that lies within. A hole of a
    piece that lies in another counts by itself."""
    pieces = polygons_of(sheet.wood)
    holes = [Polygon(ring) for piece in pieces for ring in piece.interiors]
    holes = sorted(holes, key=lambda hole: -float(hole.area))[:MOST_OPENINGS]
    tree = STRtree(pieces) if len(pieces) > 1 else None
    for hole in holes:
        inside = [] if tree is None else sorted(tree.query(hole, predicate="contains"))
        filled = union(Polygon(pieces[k].exterior) for k in inside)
        yield from polygons_of(shapely.difference(hole, filled) if inside else hole)
