"""Pieces that are painted behind: wood that a sheet gives away, to be painted on one behind it, or to be left out.

Enters: a piece of a sheet, and what shows of the sheets behind it. Leaves: `Guest`s, and the sheets' regions with
them. Holds: a guest that is painted shows where the piece would have shown, in the same colours; every sheet between
is open there; one that is left out shows whatever was drawn deeper.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely import MultiPolygon, Polygon, STRtree

from layercut.geometry.offsets import offset_round
from layercut.geometry.precision import AREA_MM2, GRID_MM
from layercut.geometry.quadtree import QuadtreeRegion
from layercut.geometry.regions import EMPTY, Region, as_region, polygons_of, spread_union, union
from layercut.geometry.widths.mesh import grouped
from layercut.model import Guest, Island, PaintedRegion
from layercut.stack.cells import CellMap
from layercut.stack.faces import Face

RIM_MM = 0.2
"""So far around a piece it is asked what shows there, mm: about a beam's width."""

ALL_AROUND = 0.98
"""A sheet shows all around a piece when it has this share of what is seen there of the sheets behind: edges of the
drawing that meet the piece's outline leave slivers."""


class SheetsBehind:
    """What shows of each sheet behind the others, found once for all the pieces that are asked about."""

    def __init__(self, cell_map: CellMap) -> None:
        """Hold the map; nothing is found before it is asked for."""
        self._map = cell_map
        self._shown: dict[int, QuadtreeRegion] = {}
        self._faces: dict[int, QuadtreeRegion] = {}

    def homes_of(self, region: Region, index: int, guests: Sequence[Guest] = ()) -> tuple[tuple[int, Region], ...]:
        """Where a region of the sheet at `index` can be painted: places of sheets behind it, with what goes on each.

        The nearest sheet that shows all around it takes it whole; where nothing deeper shows around it, as in a
        window of the sheets in front, that is the next one behind. Where several sheets show around it, each takes
        the part before it. Empty for the back sheet. `guests` are those of the sheets in front: they show where they
        are painted.
        """
        if not index:
            return ()
        home = self._home_of(region, index, guests)
        return ((home, region),) if home is not None else tuple(self._parts(region, index))

    def _home_of(self, region: Region, index: int, guests: Sequence[Guest]) -> int | None:
        """The sheet that shows all around a region; None where several do."""
        rim = as_region(shapely.difference(offset_round(region, RIM_MM), region))
        shares = np.array([self._seen(rim, place, index, guests) for place in range(index)])
        total = float(shares.sum())
        if total < AREA_MM2 / 10:
            return index - 1
        most = int(np.argmax(shares))
        return most if shares[most] >= ALL_AROUND * total else None

    def _parts(self, region: Region, index: int) -> Iterator[tuple[int, Region]]:
        """The parts of a region before the faces of the sheets behind it, the front one of them first."""
        rest = region
        for place in range(index - 1, 0, -1):
            if place not in self._faces:
                self._faces[place] = QuadtreeRegion(self._map.region(self._map.covered[place]))
            part = as_region(self._faces[place].shared_with(rest))
            if part.area >= AREA_MM2:
                yield place, part
                rest = as_region(shapely.difference(rest, part))
        if not rest.is_empty:
            yield 0, rest

    def _seen(self, rim: Region, place: int, index: int, guests: Sequence[Guest]) -> float:
        """How much of a rim the sheet at a place shows, mm2; where nothing is drawn, the back sheet does."""
        if place not in self._shown:
            owner, inside = self._map.owner, ~self._map.in_frame
            mine = (owner == place) | (owner < 0) if place == 0 else owner == place
            self._shown[place] = QuadtreeRegion(self._map.region(mine & inside))
        seen = float(self._shown[place].shared_with(rim).area)
        near = [guest for guest in guests if guest.home == place and guest.source > index]
        return seen + sum(float(shapely.intersection(guest.region, rim).area) for guest in near)


def as_guests(island: Island, shown: Region, index: int, homes: Sequence[tuple[int, Region]]) -> tuple[Guest, ...]:
    """What is seen of an island of the sheet at `index`, for the sheets that are to show it; none leaves it out."""
    if shown.is_empty:
        return ()
    if not homes:
        return (Guest(island.id, island.element, shown, index, None),)
    return tuple(Guest(island.id, island.element, region, index, home) for home, region in homes)


def adopt_scraps(guests: Sequence[Guest], scraps: Sequence[Polygon]) -> tuple[tuple[Guest, ...], Region]:
    """The guests with the scraps that lay between them, and all that was adopted: a slit that parted two pieces has
    nothing to go back to when both have left."""
    taken: dict[int, list[Polygon]] = {}
    tree = STRtree([guest.region for guest in guests])
    for scrap in scraps:
        near = sorted(tree.query(scrap, predicate="dwithin", distance=GRID_MM))
        if near:
            taken.setdefault(int(near[0]), []).append(scrap)
    grown = tuple(
        replace(guest, region=union((guest.region, *taken[place]))) if place in taken else guest
        for place, guest in enumerate(guests)
    )
    return grown, union(scrap for scraps in taken.values() for scrap in scraps)


@dataclass(frozen=True, slots=True)
class Guests:
    """The guests of the sheets in front, as one sheet sees them: those that are painted on it, those that go on to a
    sheet behind it, and those that were left out, as far as nothing in front of it shows there by now."""

    here: tuple[Guest, ...] = ()
    deeper: tuple[Guest, ...] = ()
    dropped: Region = EMPTY

    @property
    def open(self) -> Region:
        """Where the sheet must be open for a guest that is painted deeper."""
        return spread_union(guest.region for guest in self.deeper)

    @property
    def shown(self) -> Region:
        """Where the sheet shows guests of its own."""
        return spread_union(guest.region for guest in self.here)

    @property
    def any(self) -> bool:
        """Whether there is one at all."""
        return bool(self.here or self.deeper) or not self.dropped.is_empty


NO_GUESTS = Guests()
"""Where the sheets in front gave nothing away."""


def guests_at(index: int, given: Sequence[Guest], dropped: Region) -> Guests:
    """The guests of the sheets in front as the sheet at `index` sees them."""
    homes = [guest for guest in given if guest.home is not None]
    return Guests(
        tuple(guest for guest in homes if guest.home == index),
        tuple(guest for guest in homes if guest.home is not None and guest.home < index),
        dropped,
    )


def paint_guests(faces: Sequence[Face], given: Sequence[Sequence[Guest]]) -> list[tuple[PaintedRegion, ...]]:
    """The painted regions of each sheet, back to front, once its guests have moved; `given` are those of each sheet.

    A guest takes its paints along, those of guests on it too. Painted regions of a sheet still don't overlap.
    """
    painted = [list(face.painted) for face in faces]
    for index in reversed(range(len(faces))):
        if not given[index]:
            continue
        for home in sorted({guest.home for guest in given[index] if guest.home is not None}):
            moved = spread_union(guest.region for guest in given[index] if guest.home == home)
            painted[home] = [*_within(painted[home], moved, inside=False), *_within(painted[index], moved)]
        gone = spread_union(guest.region for guest in given[index])
        painted[index] = _within(painted[index], gone, inside=False)
    return [tuple(parts) for parts in painted]


def _within(painted: Sequence[PaintedRegion], region: Region, inside: bool = True) -> list[PaintedRegion]:
    """Painted regions as far as they lie in a region, or outside of it; each polygon is cut by what of it is near."""
    cut = shapely.intersection if inside else shapely.difference
    cutters = np.array(polygons_of(region), dtype=object)
    tree = STRtree(cutters)
    found = []
    for part in painted:
        polygons = np.array(polygons_of(part.region), dtype=object)
        mine, near = tree.query(polygons, predicate="intersects")
        met = np.unique(mine)
        groups = [MultiPolygon(list(cutters[near[group]])) for group in grouped(mine, met)]
        pieces = cut(polygons[met], np.array(groups, dtype=object)) if len(met) else []
        kept = [
            *([] if inside else np.delete(polygons, met)),
            *(one for piece in pieces for one in polygons_of(piece)),
        ]
        if kept:
            found.append(replace(part, region=as_region(MultiPolygon(kept))))
    return found
