"""Fewer pots: paints that no eye tells apart become one, everywhere in the stack.

Enters: the painted regions of each sheet, what is seen of it, and what of it is stained. Leaves: the same regions,
painted from fewer pots, and which colour became which. Holds: the regions cover what they covered, and no vertex
moves; what is stained keeps its colour, since a stain is no pot of paint; a colour that is kept is kept everywhere.

It comes before ties are painted and sheets are cut, so that the picture, the maps, the plan of the paint and the
marks between colours all know these colours and no others.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np
import shapely

from layercut.colour.cielab import difference, lab_of
from layercut.colour.folding import hex_of, is_opaque, rgb_of
from layercut.colour.merging import Merged, have_alike, lower_to, merge_alike
from layercut.colour.washes import GradedWash
from layercut.findings import Finding
from layercut.geometry.noding import put_together
from layercut.geometry.parallel import each
from layercut.geometry.precision import AREA_MM2
from layercut.geometry.quadtree import QuadtreeRegion
from layercut.geometry.regions import Region, polygons_of, prepared
from layercut.model import Paint, PaintedRegion
from layercut.stack.painting import PaintedSheets

NEAR_LEAST = 0.005
"""A choice of pots that is no more above the least that there can be counts as the least, as a share."""


def share_pots(
    painted: PaintedSheets, visible: Sequence[Region], stained: Sequence[Region], limit: float, most: int | None
) -> PaintedSheets:
    """The sheets painted from fewer pots: colours within `limit` (CIEDE2000) share one, and at most `most` are left.

    `visible` and `stained` are regions of each sheet, back to front. Unchanged where no two paints may share a pot.
    """
    sheets = [_Sheet(*one) for one in zip(painted.regions, visible, stained, strict=True)]
    colours = sorted({part.paint.colour for sheet in sheets for part in sheet.flat()})
    if not colours or (limit <= 0 and most is None):
        return painted
    pots = _find_pots(colours, sheets, limit, most)
    regions = tuple(each(lambda sheet: _repainted(sheet, pots), sheets))
    own = regions
    if painted.own is not painted.regions:
        drawn = [_Sheet(*one) for one in zip(painted.own, visible, stained, strict=True)]
        own = tuple(each(lambda sheet: _repainted(sheet, pots), drawn))
    return replace(painted, regions=regions, own=own, merged=pots.merged, told=_told(pots, len(colours), most))


@dataclass(frozen=True, slots=True)
class _Sheet:
    """What is painted on a sheet, what is seen of the sheet, and what of it is stained."""

    painted: tuple[PaintedRegion, ...]
    visible: Region
    stained: Region

    def is_held(self, part: PaintedRegion) -> bool:
        """Whether any of a paint is stain, which is mixed for itself."""
        if self.stained.is_empty or not shapely.intersects(self.stained, part.region):
            return False
        return bool(shapely.intersection(self.stained, part.region).area >= AREA_MM2)

    def flat(self) -> list[PaintedRegion]:
        """What is painted from one pot."""
        return [part for part in self.painted if not part.paint.washes and not self.is_held(part)]

    def seen_mm2(self, wanted: frozenset[str]) -> dict[str, float]:
        """How much is seen of some flat colours, mm2."""
        flat = [part for part in self.flat() if part.paint.colour in wanted]
        polygons = [polygon for part in flat for polygon in polygons_of(part.region)]
        owner = np.array([place for place, part in enumerate(flat) for _ in polygons_of(part.region)], dtype=np.int64)
        if not polygons:
            return {}
        parts = np.array(polygons, dtype=object)
        area = shapely.area(parts)
        cut = np.flatnonzero(~shapely.contains_properly(prepared(self.visible), parts))
        area[cut] = shapely.area(QuadtreeRegion(self.visible).shared_with_each(parts[cut]))
        seen: dict[str, float] = {}
        for part, mm2 in zip(flat, np.bincount(owner, weights=area, minlength=len(flat)).tolist(), strict=True):
            seen[part.paint.colour] = seen.get(part.paint.colour, 0.0) + mm2
        return seen


@dataclass(slots=True)
class _Pots:
    """Which colour each is painted in; `excess` is how far the choice may be above the least there can be, as a
    share."""

    limit: float
    kept: list[str]
    into: dict[str, str]
    excess: float = 0.0
    _paints: dict[Paint, Paint] = field(default_factory=dict)

    def colour(self, colour: str) -> str:
        """What a colour is painted in: what no flat paint has, as a gradient's stop, in the nearest within the
        limit."""
        if colour not in self.into:
            off = difference(lab_of([colour])[0], lab_of(self.kept))
            nearest = int(off.argmin())
            self.into[colour] = self.kept[nearest] if off[nearest] <= self.limit else colour
        return self.into[colour]

    def paint(self, paint: Paint) -> Paint:
        """A paint from these pots: flat, or one gradient that lets nothing through; coats over each other stay."""
        if paint not in self._paints:
            self._paints[paint] = self._mixed(paint)
        return self._paints[paint]

    def _mixed(self, paint: Paint) -> Paint:
        under = self.paint(paint.under) if paint.under else None
        if not paint.washes:
            plain = Paint(self.colour(paint.colour))
        elif len(paint.washes) == 1 and isinstance(paint.washes[0], GradedWash) and is_opaque(paint.washes[0]):
            plain = Paint.over([self._graded(paint.washes[0])])
            # A blend whose pots are all kept stays as it is, to the last digit.
            plain = plain if plain.colour != paint.colour or not plain.washes else replace(paint, under=None)
        else:
            plain = replace(paint, under=None)
        return plain if under is None or under == plain else replace(plain, under=under)

    def _graded(self, wash: GradedWash) -> GradedWash:
        stops = tuple(
            stop
            if (colour := hex_of(stop.colour)) == (pot := self.colour(colour))
            else replace(stop, colour=rgb_of(pot))
            for stop in wash.gradient.stops
        )
        return replace(wash, gradient=replace(wash.gradient, stops=stops))

    @property
    def merged(self) -> tuple[Merged, ...]:
        """What is painted in another colour than drawn, in the order of the colours."""
        changed = sorted((colour, into) for colour, into in self.into.items() if colour != into)
        if not changed:
            return ()
        off = difference(lab_of([colour for colour, _ in changed]), lab_of([into for _, into in changed]))
        return tuple(Merged(*pair, float(one)) for pair, one in zip(changed, off, strict=True))


def _find_pots(colours: Sequence[str], sheets: Sequence[_Sheet], limit: float, most: int | None) -> _Pots:
    """The pots of flat paints. Areas take most of the time, so they are measured only where something depends on
    them."""
    alike = have_alike(colours, limit) if limit > 0 else np.zeros(len(colours), dtype=np.bool_)
    if most is not None and len(colours) > most:
        alike[:] = True
    wanted = frozenset(colour for colour, some in zip(colours, alike, strict=True) if some)
    seen = dict.fromkeys(colours, 0.0)
    for one in each(lambda sheet: sheet.seen_mm2(wanted), sheets) if wanted else ():
        for colour, mm2 in one.items():
            seen[colour] += mm2
    areas = [round(seen[colour], 3) for colour in colours]  # a digit of rounding decides nothing
    stands, excess = merge_alike(colours, areas, limit), 0.0
    kept = np.unique(stands)
    if most is not None and len(kept) > most:
        pots = lower_to(colours, areas, kept, most)
        stands, excess = pots.stands, pots.cost / pots.bound - 1 if pots.bound > 0 else 0.0
        kept = np.unique(stands)
    into = {colour: colours[place] for colour, place in zip(colours, stands.tolist(), strict=True)}
    return _Pots(limit, [colours[place] for place in kept.tolist()], into, excess)


def _repainted(sheet: _Sheet, pots: _Pots) -> tuple[PaintedRegion, ...]:
    """A sheet's regions in the colours of the pots, one for each look; the very same where nothing changes."""
    by_look: dict[object, list[tuple[Paint, PaintedRegion]]] = {}
    for part in sheet.painted:
        paint = part.paint if sheet.is_held(part) else pots.paint(part.paint)
        by_look.setdefault(paint.washes or paint.colour, []).append((paint, part))
    if len(by_look) == len(sheet.painted) and all(
        paint == part.paint for some in by_look.values() for paint, part in some
    ):
        return sheet.painted
    return tuple(_joined(some) for some in by_look.values())


def _joined(some: Sequence[tuple[Paint, PaintedRegion]]) -> PaintedRegion:
    """One region of one look; the paint under its glazes is the one under most of it, none where any has none."""
    if len(some) == 1:
        return PaintedRegion(some[0][0], some[0][1].region)
    unders: dict[Paint | None, float] = {}
    for paint, part in some:
        unders[paint.under] = unders.get(paint.under, 0.0) + float(part.region.area)
    under = None if None in unders else max(unders, key=lambda one: unders[one])
    region = put_together(np.array([part.region for _, part in some], dtype=object))
    return PaintedRegion(replace(some[0][0], under=under), region)


def _told(pots: _Pots, count: int, most: int | None) -> tuple[Finding, ...]:
    merged = pots.merged
    if not merged:
        return ()
    worst = max(merged, key=lambda one: one.difference)
    furthest = f"{worst.colour} as {worst.into} is furthest off, by {worst.difference:.1f} (CIEDE2000)"
    changed = f"{len(merged)} colour{'s are' if len(merged) > 1 else ' is'} painted from the pots of others"
    left = f"the {count} flat colours of the drawing need {len(pots.kept)} pots"
    if most is not None and worst.difference > pots.limit:
        least = (
            "No other choice of so many pots shows less, by area and squared difference."
            if pots.excess <= NEAR_LEAST
            else f"By area and squared difference another choice could show {100 * pots.excess:.1f} % less at most."
        )
        message = f"to make do with {most} pots (paint.colours), {changed}: {furthest}. {least}"
    else:
        message = (
            f"{changed}, which hardly anyone can tell apart, so {left}: {furthest}. "
            "paint.merge = 0 keeps a pot for each."
        )
    return (Finding("pots-shared", "info", message, element=f"colour {worst.colour}"),)
