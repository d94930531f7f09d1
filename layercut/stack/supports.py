"""Loose pieces: what each rests on, from sheet to sheet, and what is kept only to carry.

Enters: the pieces in front that must rest on this sheet, and what of it can support them. Leaves: `SupportPlan`.
A piece rests where its glue contact is large enough: on the sheet's framed wood, on one of its own loose pieces, or
on a riser, hidden wood that is kept for it. A loose piece or a riser on which something rests must rest on the
sheet behind in turn, so every chain ends at framed wood or is reported.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import shapely
from shapely import LineString, MultiLineString, Polygon, STRtree

from layercut.geometry.offsets import offset_round, shrink
from layercut.geometry.precision import AREA_MM2
from layercut.geometry.quadtree import Box, QuadtreeRegion
from layercut.geometry.regions import EMPTY, Region, as_region, polygons_of, union

CONTACT_SHARE = 0.4
"""A small piece is held when this share of it is glued, though the contact is under the job's (common practice: none
found; a leaf glued over two fifths stays)."""

UNSUPPORTED_SHARE = 0.02
"""So much of a piece, drawn in by the setback, may lie on nothing, and still it rests fully: slivers of rounding."""

LOCATOR_INSETS_MM = (0.6, 0.3)
"""How far a locator lies inside the outline of the piece that covers it, mm; the second for thin pieces."""

LEAST_RISER_MM2 = 0.3
"""A riser smaller than this is a crumb, mm2."""

RISER_SHARES = (1.0, 0.5, 0.25)
"""Shares of the setback at which a riser is tried: a small piece can only hide a riser that is drawn back less."""


@dataclass(frozen=True, slots=True)
class GluedPiece:
    """A piece that is glued on, and so must rest on the sheet behind its own; `fully` where two fifths of it aren't
    enough, and `riser` where nobody sees it and it is kept only to carry another."""

    id: str
    region: Region
    fully: bool = False
    riser: bool = False


@dataclass(frozen=True, slots=True)
class Support:
    """What a piece mostly rests on (a sheet's or a piece's name), and its contact in all, mm2."""

    piece: str
    rests_on: str
    contact_mm2: float


@dataclass(frozen=True, slots=True)
class SheetSupports:
    """What of a sheet can carry: its framed wood, its loose pieces, hidden wood that fell away, and the unseen
    ground in which a riser may lie; and the wood that carries nothing but takes room."""

    name: str
    framed: Region
    loose: tuple[GluedPiece, ...]
    spare: tuple[Polygon, ...]
    unseen: Region
    aside: Region = EMPTY


@dataclass(frozen=True, slots=True)
class Clearances:
    """How far a riser keeps from what is seen (the setback), and from the sheet's other wood, to be cut apart; mm."""

    setback_mm: float
    gap_mm: float


@dataclass(frozen=True, slots=True)
class SupportPlan:
    """On what the pieces in front rest, the risers that this takes, the locators on this sheet, and the pieces that
    nothing supports."""

    supports: tuple[Support, ...]
    risers: tuple[GluedPiece, ...]
    locators: tuple[LineString, ...]
    unsupported: tuple[GluedPiece, ...]


NOTHING_SUPPORTED = SupportPlan((), (), (), ())
"""The plan of a sheet that has no loose pieces in front of it."""


@dataclass(slots=True)
class _Carriers:
    """What can carry so far, found by place: the sheet's own framed wood, then its loose pieces and its risers."""

    name: str
    framed: QuadtreeRegion
    aside: QuadtreeRegion
    pieces: list[GluedPiece] = field(default_factory=list)
    boxes: list[Box] = field(default_factory=list)

    def add(self, piece: GluedPiece) -> None:
        """One more carrier; an empty one carries nothing."""
        if not piece.region.is_empty:
            self.pieces.append(piece)
            self.boxes.append(piece.region.bounds)

    def near(self, region: Region, reach_mm: float = 0.0) -> list[GluedPiece]:
        """The carriers whose box comes within a distance of the box around a region, in order; of the framed wood no
        more than lies near it."""
        x0, y0, x1, y1 = _box_around(region, reach_mm)
        framed = GluedPiece(self.name, self.framed.around((x0, y0, x1, y1)))
        boxes = np.array(self.boxes).reshape(-1, 4)
        apart = (boxes[:, :2] > (x1, y1)) | (boxes[:, 2:] < (x0, y0))
        return [framed, *(self.pieces[index] for index in np.flatnonzero(~apart.any(axis=1)))]

    def wood_near(self, region: Region, reach_mm: float) -> list[Region]:
        """What takes room within a distance of the box around a region: the carriers, and what lies aside."""
        aside = self.aside.around(_box_around(region, reach_mm))
        return [*(carrier.region for carrier in self.near(region, reach_mm)), *([] if aside.is_empty else [aside])]


def find_supports(
    pieces: Sequence[GluedPiece], sheet: SheetSupports, contact_mm2: float, clearances: Clearances
) -> SupportPlan:
    """Find a support for every piece: framed wood or a loose piece where one serves, else a riser."""
    carriers = _Carriers(sheet.name, QuadtreeRegion(sheet.framed), QuadtreeRegion(sheet.aside))
    unseen, spare = QuadtreeRegion(sheet.unseen), STRtree(sheet.spare)
    for loose in sheet.loose:
        carriers.add(loose)
    supports: list[Support] = []
    unsupported: list[GluedPiece] = []
    risers: list[GluedPiece] = []
    locators: list[LineString] = []
    # One after the other: a riser that is kept for one piece may carry the next as well.
    for piece in pieces:
        need = _contact_needed(piece, contact_mm2, clearances.setback_mm)
        contacts = _contacts(piece, carriers.near(piece.region))
        contact = sum(area for _, area in contacts)
        if contact < need:
            # Wood that is there already comes before ground that has to be kept.
            found = _spare_pieces(piece, spare, need - contact, carriers, clearances.gap_mm)
            found = found or _made_risers(piece, carriers, unseen, need - contact, clearances)
            if not found:
                unsupported.append(piece)
                continue
            names = (f"{sheet.name}#riser-{len(risers) + n}" for n in range(1, len(found) + 1))
            kept = [GluedPiece(*named, piece.fully, riser=True) for named in zip(names, found, strict=True)]
            risers += kept
            for riser in kept:
                carriers.add(riser)
            contacts += _contacts(piece, kept)
        best, _ = max(contacts, key=lambda entry: entry[1])
        supports.append(Support(piece.id, best.id, sum(area for _, area in contacts)))
        locators += _locator(piece, [carrier.region for carrier, _ in contacts])
    return SupportPlan(tuple(supports), tuple(risers), tuple(locators), tuple(unsupported))


def _contact_needed(piece: GluedPiece, contact_mm2: float, setback_mm: float) -> float:
    """How much of a piece must be glued, mm2. Without a limit it must still touch what it is glued to."""
    need = min(max(contact_mm2, AREA_MM2), CONTACT_SHARE * float(piece.region.area))
    return max(need, full_contact_mm2(piece.region, setback_mm)) if piece.fully else need


def full_contact_mm2(region: Region, setback_mm: float) -> float:
    """The contact of a piece that rests fully: all of it but for the setback along its outline, mm2."""
    return (1 - UNSUPPORTED_SHARE) * float(shrink(region, setback_mm).area)


def _contacts(piece: GluedPiece, carriers: Sequence[GluedPiece]) -> list[tuple[GluedPiece, float]]:
    """The carriers that a piece lies on, each with the area, mm2, over which it does."""
    regions = np.array([carrier.region for carrier in carriers], dtype=object)
    areas = shapely.area(shapely.intersection(piece.region, regions))
    return [(carrier, area) for carrier, area in zip(carriers, areas.tolist(), strict=True) if area > 0]


def _spare_pieces(
    piece: GluedPiece, spare: STRtree, need: float, carriers: _Carriers, gap_mm: float
) -> list[Polygon]:
    """The part of hidden wood that fell away behind a piece and touches it most, if it does enough; or none.

    It is shaved where it lies nearer to other wood than the beam can part.
    """
    fits: list[tuple[float, Polygon]] = []
    for index in sorted(spare.query(piece.region, predicate="intersects")):
        wood = spare.geometries[index]
        close = [other for other in carriers.wood_near(wood, gap_mm) if shapely.dwithin(other, wood, gap_mm)]
        free = polygons_of(shapely.difference(wood, offset_round(union(close), gap_mm))) if close else [wood]
        fits += [(float(shapely.intersection(piece.region, part).area), part) for part in free]
    touch, most = max(fits, key=lambda fit: fit[0], default=(0.0, Polygon()))
    return [most] if touch >= need else []


def _made_risers(
    piece: GluedPiece, carriers: _Carriers, unseen: QuadtreeRegion, need: float, clearances: Clearances
) -> list[Polygon]:
    """The fewest parts of the ground behind a piece that carry it, drawn back less where they would vanish."""
    setback_mm, gap_mm = clearances.setback_mm, clearances.gap_mm
    # A riser lies within the piece, so that wood further from it than this needs no look.
    others = carriers.wood_near(piece.region, 2 * setback_mm + gap_mm)
    around = _box_around(piece.region, 2 * setback_mm)
    ground = as_region(shapely.intersection(unseen.around(around), shapely.box(*around)))
    window = shapely.box(*_box_around(piece.region, 2 * gap_mm))
    nearby = union(as_region(shapely.intersection(other, window)) for other in others)
    taken = EMPTY if nearby.is_empty else offset_round(nearby, gap_mm)
    for share in RISER_SHARES:
        hidden = shapely.difference(shapely.intersection(piece.region, shrink(ground, share * setback_mm)), taken)
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


def _locator(piece: GluedPiece, carriers: Sequence[Region]) -> list[LineString]:
    """The outline of a piece, drawn in, on what carries it."""
    window = shapely.box(*_box_around(piece.region, 2 * LOCATOR_INSETS_MM[-1]))
    ground = shrink(union(shapely.intersection(carrier, window) for carrier in carriers), LOCATOR_INSETS_MM[-1])
    for inset in LOCATOR_INSETS_MM:
        lines = shapely.intersection(shapely.boundary(shrink(piece.region, inset)), ground)
        parts = [part for part in shapely.get_parts(lines) if isinstance(part, LineString) and not part.is_empty]
        if parts:
            return list(shapely.get_parts(shapely.line_merge(MultiLineString(parts))))
    return []
