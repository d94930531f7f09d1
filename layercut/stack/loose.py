"""Loose pieces: what each rests on, from sheet to sheet, and what is kept only to carry.

Enters: the pieces in front that must rest on this sheet, and what it has to offer. Leaves: `Carried`.
A piece rests where its glue contact is large enough: on the sheet's framed wood, on one of its own loose pieces, or
on a riser, hidden wood that is kept for it. What rests on a loose piece or a riser makes that one a load for the
sheet behind, so every chain ends at framed wood or is reported.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import shapely
from shapely import LineString, MultiLineString, Polygon, STRtree

from layercut.geometry.offsets import dilate, shrink
from layercut.geometry.precision import AREA_MM2
from layercut.geometry.quadtree import Box, QuadtreeRegion
from layercut.geometry.regions import EMPTY, Region, as_region, polygons_of, union

CONTACT_SHARE = 0.4
"""A small piece is held when this share of it is glued, though the contact is under the job's (common practice: none
found; a leaf glued over two fifths stays)."""

UNCARRIED_SHARE = 0.02
"""So much of a piece, drawn in by the setback, may lie on nothing, and still it rests fully: slivers of rounding."""

LOCATOR_INSETS_MM = (0.6, 0.3)
"""How far a locator lies inside the outline of the piece that covers it, mm; the second for thin pieces."""

LEAST_RISER_MM2 = 0.3
"""A riser smaller than this is a crumb, mm2."""

RISER_SHARES = (1.0, 0.5, 0.25)
"""Shares of the setback at which a riser is tried: a small piece can only hide a riser that is drawn back less."""


@dataclass(frozen=True, slots=True)
class Load:
    """A piece in front, which must rest on something here; `fully` where two fifths of it aren't enough."""

    id: str
    region: Region
    fully: bool = False


@dataclass(frozen=True, slots=True)
class Rest:
    """What a load mostly rests on (a sheet's or a piece's name), and its contact in all, mm2."""

    load: str
    rests_on: str
    contact_mm2: float


@dataclass(frozen=True, slots=True)
class Offer:
    """What a sheet can carry with: its framed wood, its loose pieces, hidden wood that fell away, and the unseen
    ground in which a riser may lie; and the wood that carries nothing but takes room."""

    name: str
    framed: Region
    loose: tuple[Load, ...]
    spare: tuple[Polygon, ...]
    unseen: Region
    aside: Region = EMPTY


@dataclass(frozen=True, slots=True)
class Room:
    """How far a riser keeps from what is seen (the setback), and from the sheet's other wood, to be cut apart; mm."""

    setback_mm: float
    gap_mm: float


@dataclass(frozen=True, slots=True)
class Carried:
    """Where the loads rest, the risers that this takes, the locators on this sheet, and the loads nothing carries."""

    rests: tuple[Rest, ...]
    risers: tuple[Load, ...]
    locators: tuple[LineString, ...]
    unheld: tuple[Load, ...]


NOTHING_CARRIED = Carried((), (), (), ())
"""What a sheet carries that has no loose pieces in front of it."""


@dataclass(slots=True)
class _Carriers:
    """What can carry so far, found by place: the sheet's own framed wood, then its loose pieces and its risers."""

    name: str
    framed: QuadtreeRegion
    aside: QuadtreeRegion
    loads: list[Load] = field(default_factory=list)
    boxes: list[Box] = field(default_factory=list)

    def add(self, load: Load) -> None:
        """One more carrier; an empty one carries nothing."""
        if not load.region.is_empty:
            self.loads.append(load)
            self.boxes.append(load.region.bounds)

    def near(self, region: Region, reach_mm: float = 0.0) -> list[Load]:
        """The carriers whose box comes within a distance of the box around a region, in order; of the framed wood no
        more than lies near it."""
        x0, y0, x1, y1 = _box_around(region, reach_mm)
        framed = Load(self.name, self.framed.around((x0, y0, x1, y1)))
        boxes = np.array(self.boxes).reshape(-1, 4)
        apart = (boxes[:, :2] > (x1, y1)) | (boxes[:, 2:] < (x0, y0))
        return [framed, *(self.loads[index] for index in np.flatnonzero(~apart.any(axis=1)))]

    def wood_near(self, region: Region, reach_mm: float) -> list[Region]:
        """What takes room within a distance of the box around a region: the carriers, and what lies aside."""
        aside = self.aside.around(_box_around(region, reach_mm))
        return [*(carrier.region for carrier in self.near(region, reach_mm)), *([] if aside.is_empty else [aside])]


def carry(loads: Sequence[Load], offer: Offer, contact_mm2: float, room: Room) -> Carried:
    """Find a rest for every load: framed wood or a loose piece where one serves, else a riser."""
    carriers, unseen = (
        _Carriers(offer.name, QuadtreeRegion(offer.framed), QuadtreeRegion(offer.aside)),
        QuadtreeRegion(offer.unseen),
    )
    for piece in offer.loose:
        carriers.add(piece)
    rests: list[Rest] = []
    unheld: list[Load] = []
    risers: list[Load] = []
    locators: list[LineString] = []
    spare = STRtree(offer.spare)
    for load in loads:
        # Without a limit a piece must still touch what it is glued to.
        need = min(max(contact_mm2, AREA_MM2), CONTACT_SHARE * float(load.region.area))
        need = max(need, full_rest_mm2(load.region, room.setback_mm)) if load.fully else need
        contacts = _contacts(load, carriers.near(load.region))
        contact = sum(area for _, area in contacts)
        if contact < need:
            reach = 2 * room.setback_mm + room.gap_mm
            others = carriers.wood_near(load.region, reach)
            found = _spare_pieces(load, spare, need - contact, carriers, room.gap_mm)
            found = found or _made_risers(load, others, unseen, need - contact, room)
            if not found:
                unheld.append(load)
                continue
            names = (f"{offer.name}#riser-{len(risers) + n}" for n in range(1, len(found) + 1))
            kept = [Load(name, region, load.fully) for name, region in zip(names, found, strict=True)]
            risers += kept
            for riser in kept:
                carriers.add(riser)
            contacts += _contacts(load, kept)
        best, _ = max(contacts, key=lambda entry: entry[1])
        rests.append(Rest(load.id, best.id, sum(area for _, area in contacts)))
        locators += _locator(load, [carrier.region for carrier, _ in contacts])
    return Carried(tuple(rests), tuple(risers), tuple(locators), tuple(unheld))


def full_rest_mm2(region: Region, setback_mm: float) -> float:
    """The contact of a piece that rests fully: all of it but for the setback along its outline, mm2."""
    return (1 - UNCARRIED_SHARE) * float(shrink(region, setback_mm).area)


def _contacts(load: Load, carriers: Sequence[Load]) -> list[tuple[Load, float]]:
    """The carriers that a load lies on, each with the area, mm2, over which it does."""
    areas = shapely.area(
        shapely.intersection(load.region, np.array([carrier.region for carrier in carriers], dtype=object))
    )
    return [(carrier, area) for carrier, area in zip(carriers, areas.tolist(), strict=True) if area > 0]


def _spare_pieces(load: Load, spare: STRtree, need: float, carriers: _Carriers, gap_mm: float) -> list[Polygon]:
    """The piece of hidden wood that fell away behind a load and touches it most, if it touches it enough; or none.

    It is shaved where it lies nearer to other wood than the beam can part.
    """
    fits: list[tuple[float, Polygon]] = []
    for index in sorted(spare.query(load.region, predicate="intersects")):
        piece = spare.geometries[index]
        close = [other for other in carriers.wood_near(piece, gap_mm) if shapely.dwithin(other, piece, gap_mm)]
        free = polygons_of(shapely.difference(piece, dilate(union(close), gap_mm))) if close else [piece]
        fits += [(float(shapely.intersection(load.region, part).area), part) for part in free]
    touch, most = max(fits, key=lambda fit: fit[0], default=(0.0, Polygon()))
    return [most] if touch >= need else []


def _made_risers(
    load: Load, others: Sequence[Region], unseen: QuadtreeRegion, need: float, room: Room
) -> list[Polygon]:
    """The fewest parts of the ground behind a load that carry it, drawn back less where they would vanish."""
    around = _box_around(load.region, 2 * room.setback_mm)
    ground = as_region(shapely.intersection(unseen.around(around), shapely.box(*around)))
    window = shapely.box(*_box_around(load.region, 2 * room.gap_mm))
    nearby = union(as_region(shapely.intersection(other, window)) for other in others)
    taken = EMPTY if nearby.is_empty else dilate(nearby, room.gap_mm)
    for share in RISER_SHARES:
        hidden = shapely.difference(shapely.intersection(load.region, shrink(ground, share * room.setback_mm)), taken)
        parts = sorted(polygons_of(hidden), key=lambda part: -float(part.area))
        parts = [part for part in parts if part.area >= LEAST_RISER_MM2]
        reached = np.cumsum([part.area for part in parts]) if parts else np.zeros(1)
        if reached[-1] >= max(need, AREA_MM2):
            return parts[: int(np.argmax(reached >= need)) + 1]
    return []


def _box_around(region: Region, reach_mm: float) -> Box:
    """The box around a region, larger by a distance on every side."""
    x0, y0, x1, y1 = region.bounds
    return (x0 - reach_mm, y0 - reach_mm, x1 + reach_mm, y1 + reach_mm)


def _locator(load: Load, carriers: Sequence[Region]) -> list[LineString]:
    """The outline of a piece, drawn in, on what carries it."""
    window = shapely.box(*_box_around(load.region, 2 * LOCATOR_INSETS_MM[-1]))
    ground = shrink(union(shapely.intersection(carrier, window) for carrier in carriers), LOCATOR_INSETS_MM[-1])
    for inset in LOCATOR_INSETS_MM:
        lines = shapely.intersection(shapely.boundary(shrink(load.region, inset)), ground)
        parts = [part for part in shapely.get_parts(lines) if isinstance(part, LineString) and not part.is_empty]
        if parts:
            return list(shapely.get_parts(shapely.line_merge(MultiLineString(parts))))
    return []
