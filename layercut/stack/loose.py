"""Loose pieces: what each rests on, from sheet to sheet, and what is kept only to carry.

Enters: the pieces in front that must rest on this sheet, and what it has to offer. Leaves: `Carried`.
A piece rests where its glue contact is large enough: on the sheet's framed wood, on one of its own loose pieces, or
on a riser, hidden wood that is kept for it. What rests on a loose piece or a riser makes that one a load for the
sheet behind, so every chain ends at framed wood or is reported.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import LineString, MultiLineString, Polygon, STRtree

from layercut.geometry.offsets import dilate, shrink
from layercut.geometry.precision import AREA_MM2
from layercut.geometry.regions import Region, as_region, polygons_of, union

CONTACT_SHARE = 0.4
"""A small piece is held when this share of it is glued, though the contact is under the job's (common practice: none
found; a leaf glued over two fifths stays)."""

LOCATOR_INSETS_MM = (0.6, 0.3)
"""How far a locator lies inside the outline of the piece that covers it, mm; the second for thin pieces."""

LEAST_RISER_MM2 = 0.3
"""A riser smaller than this is a crumb, mm2."""

RISER_SHARES = (1.0, 0.5, 0.25)
"""Shares of the setback at which a riser is tried: a small piece can only hide a riser that is drawn back less."""


@dataclass(frozen=True, slots=True)
class Load:
    """A piece in front, which must rest on something here."""

    id: str
    region: Region


@dataclass(frozen=True, slots=True)
class Rest:
    """What a load mostly rests on (a sheet's or a piece's name), and its contact in all, mm2."""

    load: str
    rests_on: str
    contact_mm2: float


@dataclass(frozen=True, slots=True)
class Offer:
    """What a sheet can carry with: its framed wood, its loose pieces, hidden wood that fell away, and the unseen
    ground in which a riser may lie."""

    name: str
    framed: Region
    loose: tuple[Load, ...]
    spare: tuple[Polygon, ...]
    unseen: Region


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


def carry(loads: Sequence[Load], offer: Offer, contact_mm2: float, room: Room) -> Carried:
    """Find a rest for every load: framed wood or a loose piece where one serves, else a riser."""
    rests: list[Rest] = []
    unheld: list[Load] = []
    risers: dict[str, Load] = {}
    carriers: dict[str, Region] = {}
    for load in loads:
        # Without a limit a piece must still touch what it is glued to.
        need = min(max(contact_mm2, AREA_MM2), CONTACT_SHARE * float(load.region.area))
        ready = [Load(offer.name, offer.framed), *offer.loose, *risers.values()]
        contact = sum(_contact(load, carrier.region) for carrier in ready)
        if contact < need:
            need -= contact
            others = [carrier.region for carrier in ready]
            spare = _spare_piece(load, offer.spare, need, others, room.gap_mm)
            found = [spare] if spare is not None else _made_risers(load, others, offer.unseen, need, room)
            if not found:
                unheld.append(load)
                continue
            for riser in found:
                kept = Load(f"{offer.name}#riser-{len(risers) + 1}", riser)
                risers[kept.id] = kept
                ready.append(kept)
        best = max(ready, key=lambda carrier: _contact(load, carrier.region))
        rests.append(Rest(load.id, best.id, sum(_contact(load, carrier.region) for carrier in ready)))
        carriers[load.id] = union(
            carrier.region for carrier in ready if shapely.intersects(carrier.region, load.region)
        )
    locators = [line for load in loads if load.id in carriers for line in _locator(load, carriers[load.id])]
    return Carried(tuple(rests), tuple(risers.values()), tuple(locators), tuple(unheld))


def _contact(load: Load, carrier: Region) -> float:
    return float(shapely.intersection(load.region, carrier).area)


def _spare_piece(
    load: Load, spare: Sequence[Polygon], need: float, others: Sequence[Region], gap_mm: float
) -> Polygon | None:
    """The piece of hidden wood that fell away behind a load and touches it most, if it touches it enough.

    It is shaved where it lies nearer to other wood than the beam can part.
    """
    if not spare:
        return None
    near = STRtree(spare).query(load.region, predicate="intersects")
    fits = []
    for piece in (spare[i] for i in sorted(near)):
        close = [other for other in others if shapely.dwithin(other, piece, gap_mm)]
        free = polygons_of(shapely.difference(piece, dilate(union(close), gap_mm))) if close else [piece]
        fits += [part for part in free if _contact(load, part) >= need]
    return max(fits, key=lambda piece: _contact(load, piece)) if fits else None


def _made_risers(load: Load, others: Sequence[Region], unseen: Region, need: float, room: Room) -> list[Polygon]:
    """The fewest parts of the ground behind a load that carry it, drawn back less where they would vanish."""
    x0, y0, x1, y1 = load.region.bounds
    reach = 2 * room.setback_mm + room.gap_mm
    around = shapely.box(x0 - reach, y0 - reach, x1 + reach, y1 + reach)
    ground = as_region(shapely.intersection(unseen, around))
    nearby = union(as_region(shapely.intersection(other, around)) for other in others)
    for share in RISER_SHARES:
        hidden = shapely.intersection(load.region, shrink(ground, share * room.setback_mm))
        if not nearby.is_empty:
            hidden = shapely.difference(hidden, dilate(nearby, room.gap_mm))
        parts = sorted(polygons_of(hidden), key=lambda part: -float(part.area))
        parts = [part for part in parts if part.area >= LEAST_RISER_MM2]
        reached = np.cumsum([part.area for part in parts]) if parts else np.zeros(1)
        if reached[-1] >= max(need, AREA_MM2):
            return parts[: int(np.argmax(reached >= need)) + 1]
    return []


def _locator(load: Load, carrier: Region) -> list[LineString]:
    """The outline of a piece, drawn in, on what carries it."""
    for inset in LOCATOR_INSETS_MM:
        inner = shrink(load.region, inset)
        if inner.is_empty:
            continue
        lines = shapely.intersection(shapely.boundary(inner), shrink(carrier, LOCATOR_INSETS_MM[-1]))
        parts = [part for part in shapely.get_parts(lines) if isinstance(part, LineString) and not part.is_empty]
        if parts:
            return list(shapely.get_parts(shapely.line_merge(MultiLineString(parts))))
    return []
