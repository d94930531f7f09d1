"""The ways out for each piece that isn't joined to its frame, with their prices and what they need of other pieces.

Enters: the sheets as checked, with nothing done about any piece yet. Leaves: `UnheldPiece`s. Holds: a way that is
offered can be, as far as the sheet and the one behind it tell; what is done in the end has the last word.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

import shapely
from shapely.geometry.base import BaseGeometry

from layercut.geometry.offsets import shrink
from layercut.geometry.quadtree import QuadtreeRegion
from layercut.geometry.regions import Region, as_region, widest_mm
from layercut.job import Job
from layercut.model import Island, Layer, Panel, WayOut
from layercut.stack.painted_behind import SheetsBehind
from layercut.stack.policies import allowed_ways, tie_width_mm
from layercut.stack.prices import (
    Ground,
    SeenStrip,
    outline_seen_mm,
    price_behind,
    price_loose,
    price_out,
    see_strips,
)
from layercut.stack.resolve_islands import ResolvedSheet
from layercut.stack.strips import Strip
from layercut.stack.supports import UNSUPPORTED_SHARE
from layercut.stack.tie_islands import tie_widths, wood_to_tie
from layercut.stack.ties import TieSearch, search_ties
from layercut.stack.visible_paint import VisiblePaint
from layercut.units import said_apart, said_mm

PieceKey = tuple[int, str]
"""A piece: its sheet's place from the back, and its name there."""


Need = tuple[PieceKey, tuple[WayOut, ...]]
"""Another piece, and the ways out that it may take."""


@dataclass(frozen=True, slots=True)
class PricedWay:
    """A way out: what it costs in mm2, and the other pieces on which it depends, with what they may do."""

    policy: WayOut
    mm2: float
    needs: tuple[Need, ...] = ()


@dataclass(frozen=True, slots=True)
class UnheldPiece:
    """A piece with its ways out but for ties, which are a matter of the whole sheet (`TieNetwork`).

    `allowed` are the ways that the job leaves to it; `why` says of each way that can't be why not.
    """

    key: PieceKey
    island: Island
    allowed: tuple[WayOut, ...]
    ways: tuple[PricedWay, ...]
    why: Mapping[WayOut, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class TieLink:
    """A strip between two bodies of a sheet, each of a piece or, with None, of what hangs on the frame."""

    nodes: tuple[int, int]
    strip: Strip
    seen: SeenStrip


@dataclass(frozen=True, slots=True)
class TieNetwork:
    """The strips that could join the pieces of one sheet: its bodies, the piece of each, and which is the frame's."""

    nodes: tuple[BaseGeometry, ...]
    owners: tuple[str | None, ...]
    root: int
    links: tuple[TieLink, ...]
    width_mm: float


class WaysOut:
    """Finds the ways out for the pieces of all sheets."""

    def __init__(  # noqa: PLR0917 - the whole of a stack
        self,
        layers: Sequence[Layer],
        resolved: Sequence[ResolvedSheet],
        visible_paint: VisiblePaint,
        behind: SheetsBehind,
        panel: Panel,
        job: Job,
    ) -> None:
        """Hold the sheets, back to front, as they are with nothing done about any piece."""
        self._layers, self._resolved, self._visible_paint = layers, resolved, visible_paint
        self._behind, self._panel, self._job = behind, panel, job
        self._wood = [QuadtreeRegion(one.connectivity.wood) for one in resolved]
        self._visible = [QuadtreeRegion(one.sheet.visible) for one in resolved]
        self._ground = [QuadtreeRegion(one.sheet.unseen) for one in resolved]

    def pieces(self, sheet: int) -> list[UnheldPiece]:
        """The pieces of a sheet about which something may be done, each with its ways out but for ties."""
        layer, resolved = self._layers[sheet], self._resolved[sheet]
        found = []
        for island in resolved.connectivity.islands:
            allowed = allowed_ways(self._job.islands, layer, island)
            if allowed:
                found.append(self._piece(sheet, island, allowed))
        return found

    def _piece(self, sheet: int, island: Island, allowed: tuple[WayOut, ...]) -> UnheldPiece:
        shown = as_region(self._visible[sheet].shared_with(island.region))
        finders: dict[WayOut, Callable[[int, Island, Region], PricedWay | str]] = {
            "loose": self._loose,
            "behind": self._painted,
            "out": self._left_out,
        }
        found = {policy: find(sheet, island, shown) for policy, find in finders.items()}
        ways = [way for way in found.values() if isinstance(way, PricedWay)]
        why = {policy: way for policy, way in found.items() if isinstance(way, str)}
        return UnheldPiece((sheet, island.id), island, allowed, tuple(ways), why)

    def _left_out(self, _sheet: int, _island: Island, shown: Region) -> PricedWay | str:
        return PricedWay("out", price_out(float(shown.area), self._job.prices))

    def _painted(self, sheet: int, _island: Island, shown: Region) -> PricedWay | str:
        homes = self._behind.homes_of(shown, sheet)
        if not homes:
            return "nothing lies behind it"
        under = ((home, other.id) for home, part in homes for other in self._islands_under(home, part))
        needs: tuple[Need, ...] = tuple((key, ("tie", "loose", "behind")) for key in under)
        mm2 = sum(price_behind(float(part.area), sheet - home, self._job.prices) for home, part in homes)
        return PricedWay("behind", mm2, needs)

    def _loose(self, sheet: int, island: Island, shown: Region) -> PricedWay | str:
        least = self._job.limits.piece
        width = widest_mm(island.region)
        if width < least:
            across, limit = said_apart(width, ".1f", least)
            return f"it is {across} across, and limits.piece is {limit}"
        chain = self._carriers(sheet, island.region)
        if isinstance(chain, str):
            return chain
        risers, needs = chain
        outline = outline_seen_mm(island.region, shown)
        return PricedWay("loose", price_loose(island.region, outline, risers, self._job.prices), needs)

    def _carriers(self, sheet: int, region: Region) -> tuple[int, tuple[Need, ...]] | str:
        """How many risers a piece needs, and which pieces behind must be there; or why nothing carries it."""
        rest = shrink(region, self._job.limits.setback)
        for risers, behind in enumerate(range(sheet - 1, -1, -1)):
            if _mostly(rest, as_region(self._wood[behind].shared_with(rest))):
                islands = self._islands_under(behind, rest)
                return risers, tuple(((behind, island.id), ("tie", "loose")) for island in islands)
            # A riser is hidden ground as large as the piece, drawn back; what is seen of it all around is open.
            ground = as_region(self._ground[behind].shared_with(rest))
            if not _mostly(rest, ground):
                break
            if widest_mm(ground) < self._job.limits.piece:
                return f"what would carry it is narrower than limits.piece, {said_mm(self._job.limits.piece, 'g')}"
        return "it doesn't rest fully on wood behind"

    def _islands_under(self, sheet: int, region: Region) -> list[Island]:
        """The islands of a sheet behind a region; those about which nothing may be done are among them."""
        return [
            island
            for island in self._resolved[sheet].connectivity.islands
            if shapely.intersects(island.region, region) and shapely.intersection(island.region, region).area > 0
        ]

    def network(self, sheet: int, pieces: Sequence[UnheldPiece]) -> TieNetwork | None:
        """The strips that could join some pieces of a sheet to its frame and to each other; None for no pieces."""
        wanted = [piece for piece in pieces if "tie" in piece.allowed]
        if not wanted:
            return None
        resolved, job = self._resolved[sheet], self._job
        wood = wood_to_tie(resolved.connectivity, [piece.island for piece in wanted], self._panel)
        width = tie_width_mm(job.islands, job.limits)
        anchor = shapely.point_on_surface(self._panel.frame)
        regions = [piece.island.region for piece in wanted]
        found = search_ties(wood, resolved.sheet.opening, anchor, tie_widths(job.limits, width), regions)
        if found is None:
            return None
        return self._network(sheet, found, wanted, width)

    def _network(self, sheet: int, found: TieSearch, wanted: Sequence[UnheldPiece], width: float) -> TieNetwork:
        tree = shapely.STRtree([piece.island.region for piece in wanted])
        owners: list[str | None] = []
        for place, node in enumerate(found.nodes):
            near = sorted(tree.query(node, predicate="intersects")) if place != found.root else []
            owners.append(wanted[int(near[0])].island.id if near else None)
        ground = Ground(sheet, self._resolved[sheet].sheet.opening, self._panel.interior)
        seen = see_strips([candidate.strip for candidate in found.candidates], ground, self._visible_paint, width)
        links = tuple(
            TieLink(candidate.nodes, candidate.strip, one)
            for candidate, one in zip(found.candidates, seen, strict=True)
        )
        return TieNetwork(found.nodes, tuple(owners), found.root, links, width)


def _mostly(region: Region, covered: Region) -> bool:
    """Whether a region is covered but for slivers."""
    return float(covered.area) >= (1 - UNSUPPORTED_SHARE) * float(region.area)
