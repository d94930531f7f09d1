"""Islands: wood that doesn't reach the frame through necks of the allowed width.

Enters: one sheet's wood, what of it is visible, the frame, the limits. Leaves: the wood without what nobody sees and
nothing needs, the islands, and the narrow places. Holds afterwards: all wood that isn't an island hangs on the frame.
Every question is a threshold on one width graph: whether a thread joins two bodies, whether a neck holds one, whether
what hangs there is much thinner than the limit, and all that again when hidden wood is left out.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import compress

import numpy as np
import shapely
from shapely import LineString, MultiPolygon, Polygon

from layercut.geometry.offsets import are_seen
from layercut.geometry.precision import GRID_MM, NECK_SLACK_MM
from layercut.geometry.quadtree import QuadtreeRegion
from layercut.geometry.regions import Region, as_region, point_on, polygons_of, union
from layercut.geometry.widths.graph import find_widths
from layercut.geometry.widths.levels import Level, level_at, narrow_parts_at
from layercut.geometry.widths.mesh import Flags, Floats, Ints, grouped
from layercut.job_tables import LimitsJob
from layercut.model import Island, Layer, Panel
from layercut.stack.hairlines import THREAD_MM
from layercut.stack.naming import name_pieces

THIN_SHARE = 1 / 3
"""Wood narrower than the limit all over is held against this share of it: what it hangs by must not be far thinner
than it is itself."""

CRUMB_MM2 = 0.1
"""Wood smaller than this that only a thread joins to the rest is dust, mm2."""

BESIDE_MM = 0.1
"""A narrow place may be too short to have an area that can be seen: it is judged with so much wood beside it,
mm."""


@dataclass(frozen=True, slots=True)
class Neck:
    """A narrow place that holds nothing alone: its width, mm, and the line across it."""

    width_mm: float
    across: LineString

    @property
    def at_mm(self) -> tuple[float, float]:
        """The middle of the line."""
        middle = self.across.interpolate(0.5, normalized=True)
        return (round(middle.x, 2), round(middle.y, 2))


@dataclass(frozen=True, slots=True)
class Prong:
    """Narrow wood that ends free and doesn't taper: its width and the diagonal of its box, mm."""

    width_mm: float
    reach_mm: float
    region: Region


@dataclass(frozen=True, slots=True)
class UnheldPart:
    """Wood that isn't held: free (`neck_mm` None) or hanging by necks, with the lines across them.

    `basin` is all of its wood up to its necks; `region` the same without what is narrower than the limit.
    """

    region: Region
    basin: Region
    neck_mm: float | None = None
    across: tuple[LineString, ...] = ()


@dataclass(frozen=True, slots=True)
class Connectivity:
    """How a sheet holds together: its wood, its islands, and the visible places that are narrow but carry nothing.

    `basins` has each island's own wood up to its necks, in order. `spare` is hidden wood that is joined to nothing
    and was left out; it could carry a loose piece.
    """

    wood: Region
    islands: tuple[Island, ...]
    basins: tuple[Region, ...]
    spare: tuple[Polygon, ...]
    necks: tuple[Neck, ...]
    prongs: tuple[Prong, ...]

    @property
    def island_basins(self) -> list[tuple[Island, Region]]:
        """Each island with its own wood up to its necks."""
        return list(zip(self.islands, self.basins, strict=True))


def check_connectivity(
    layer: Layer, wood: Region, visible: QuadtreeRegion, panel: Panel, limits: LimitsJob
) -> Connectivity:
    """Find what would fall out or snap off; hidden wood that would is left out, visible wood is an island."""
    check = _ConnectivityCheck(wood, visible, panel, limits)
    check.split()
    check.drop_slivers()
    parts = check.parts()
    islands = _name_islands(layer, parts)
    basins = {id(part.region): part.basin for part in parts}
    return Connectivity(
        wood=check.wood_left(),
        islands=islands,
        basins=tuple(basins[id(island.region)] for island in islands),
        spare=tuple(check.spare),
        necks=check.plain_necks(),
        prongs=check.prongs(),
    )


class _ConnectivityCheck:
    """One check of a sheet: its width graph, and which triangles are still there, in one piece with the frame."""

    def __init__(self, wood: Region, visible: QuadtreeRegion, panel: Panel, limits: LimitsJob) -> None:
        """Triangulate the wood; nothing is asked yet."""
        # What overlays leave along edges that are shared but for rounding is no wood.
        self.pieces = [piece for piece in polygons_of(wood) if piece.area > GRID_MM**2]
        self.visible, self.panel, self.limits = visible, panel, limits
        self.limit = limits.neck - 2 * NECK_SLACK_MM
        self.thin = limits.neck * THIN_SHARE - 2 * NECK_SLACK_MM
        self.graph = find_widths(self.pieces, max(limits.neck, THREAD_MM))
        self.mesh = self.graph.mesh
        self.triangles_of = np.bincount(self.mesh.piece, minlength=len(self.pieces))
        anchor = shapely.point_on_surface(panel.frame)
        self.root = self.mesh.at(anchor.x, anchor.y)
        self.alive = np.ones(len(self.mesh.tri), dtype=bool)
        self.framed = self.alive.copy()
        self.free: list[UnheldPart] = []
        self.spare: list[Polygon] = []
        self.level: Level | None = None

    def split(self) -> None:
        """Set apart what no more than a thread joins to the frame: seen pieces are islands, others are given up."""
        level = level_at(self.graph, THREAD_MM, self.root, self.framed)
        groups = grouped(level.basin, _others(level))
        at_first = not self.free and not self.spare
        regions = self._regions(groups)
        seen = are_seen(regions, self.visible)
        for group, region, in_sight in zip(groups, regions, seen, strict=True):
            self.framed[group] = False
            crumb = region.area < CRUMB_MM2 and not self._is_whole(group)
            if in_sight and not crumb:
                self.free.append(UnheldPart(region, region))
                continue
            self.alive[group] = False
            if at_first and not in_sight:
                self.spare += polygons_of(region)

    def drop_slivers(self) -> None:
        """Give up long thin strips that nobody sees: they carry nothing, and would break off in the hand."""
        if self.thin <= 0:
            return
        strips = narrow_parts_at(level_at(self.graph, self.thin, self.root, self.framed))
        long = (strips.reach > self.limits.neck) & ~strips.tapers
        groups = grouped(strips.label, np.flatnonzero((strips.mouths >= 2) | long))
        unseen = ~are_seen(self._with_wood_beside(groups), self.visible)
        if unseen.any():
            self._give_up(list(compress(groups, unseen)))

    def parts(self) -> list[UnheldPart]:
        """Everything that isn't held; what hangs there unseen is given up, and what hung on that is asked
        again."""
        while True:
            hung = self._hung()
            unseen = ~are_seen([part.basin for part, _ in hung], self.visible)
            if not unseen.any():
                return [*self.free, *(part for part, _ in hung)]
            self._give_up([group for (_, group), out in zip(hung, unseen, strict=True) if out])

    def _hung(self) -> list[tuple[UnheldPart, Ints]]:
        """What hangs by necks narrower than the limit, and what is thin itself and hangs by much thinner ones; each
        with its triangles."""
        if self.limit <= 0:
            self.level = None
            return []
        self.level = level_at(self.graph, self.limit, self.root, self.framed)
        found = [(self.level, basin) for basin in _others(self.level)]
        owner = np.where(self.level.basin == self.level.root, -1, self.level.basin)
        if self.thin > 0:
            # What has room for the limit nowhere is asked at a third of it: such basins are numbered after those of
            # the limit, and take their triangles from them.
            thin = level_at(self.graph, self.thin, self.root, self.framed)
            wide = np.unique(thin.basin[self.level.body >= 0])
            thinner = np.setdiff1d(_others(thin), wide)
            found += [(thin, basin) for basin in thinner]
            mine = np.isin(thin.basin, thinner)
            owner[mine] = self.level.basins + thin.basin[mine]
        names = [basin if level is self.level else self.level.basins + basin for level, basin in found]
        groups = grouped(owner, names)
        regions = self._regions(groups)
        # Asked once for each of the two levels, and only where anything hangs.
        known: dict[int, tuple[Floats, list[Ints], Flags, list[Ints]]] = {}
        parts: list[tuple[UnheldPart, Ints]] = []
        for (level, basin), group, whole in zip(found, groups, regions, strict=True):
            if id(level) not in known:
                every = range(level.basins)
                known[id(level)] = (
                    level.widest_ways(),
                    level.links_of(every),
                    level.has_body,
                    grouped(level.body, every),
                )
            widths, links, has_body, bodies = known[id(level)]
            region = self.mesh.region(bodies[basin]) if has_body[basin] else whole
            lines = self.graph.lines(links[basin])
            parts.append((UnheldPart(region, whole, float(widths[basin]), tuple(lines)), group))
        return parts

    def wood_left(self) -> Region:
        """The wood without what was given up; the frame is never given up."""
        if self.alive.all():
            return as_region(MultiPolygon(self.pieces))
        dead = np.bincount(self.mesh.piece[~self.alive], minlength=len(self.pieces))
        every = self.triangles_of
        left: list[Polygon] = []
        for index, piece in enumerate(self.pieces):
            if not dead[index]:
                left.append(piece)
            elif dead[index] < every[index] or self.root_piece == index:
                gone = self.mesh.region(~self.alive & (self.mesh.piece == index))
                left += without_slivers(piece, [gone], self.panel.frame)
        return as_region(MultiPolygon(left))

    @property
    def root_piece(self) -> int:
        """The piece of wood that holds the frame."""
        return int(self.mesh.piece[self.root])

    def plain_necks(self) -> tuple[Neck, ...]:
        """The visible necks that no island hangs by: worth a word, but nothing falls."""
        if self.level is None:
            return ()
        ends = self.level.basin[[self.graph.a[self.level.necks], self.graph.b[self.level.necks]]]
        plain = self.level.necks[(ends == self.level.root).all(axis=0)]
        lines = self.graph.lines(plain)
        seen = are_seen(list(shapely.buffer(lines, BESIDE_MM, cap_style="flat")), self.visible)
        necks = [Neck(float(line.length), line) for line in compress(lines, seen)]
        return tuple(sorted(necks, key=lambda neck: neck.at_mm))

    def prongs(self) -> tuple[Prong, ...]:
        """The visible narrow ends that reach further than the limit allows."""
        if self.level is None:
            return ()
        strips = narrow_parts_at(self.level)
        long = np.flatnonzero((strips.mouths == 1) & (strips.reach > self.limits.narrow_reach) & ~strips.tapers)
        regions = list(self.mesh.regions(grouped(strips.label, long)))
        widths, seen = strips.bar_widths()[long], are_seen(regions, self.visible)
        return tuple(
            Prong(float(width), float(reach), region)
            for width, reach, region, in_sight in zip(widths, strips.reach[long], regions, seen, strict=True)
            if in_sight
        )

    def _give_up(self, groups: Sequence[Ints]) -> None:
        for group in groups:
            self.alive[group] = self.framed[group] = False
        self.alive[self.root] = self.framed[self.root] = True
        self.split()

    def _is_whole(self, group: Ints) -> bool:
        """Whether some triangles are all of a piece of the wood."""
        piece = self.mesh.piece[group[0]]
        return len(group) == self.triangles_of[piece] and bool((self.mesh.piece[group] == piece).all())

    def _regions(self, groups: Sequence[Ints]) -> list[Region]:
        """The region of each group of triangles: the piece itself, if they are all of one."""
        whole = [self._is_whole(group) for group in groups]
        parts = iter(
            self.mesh.regions([group for group, all_of_it in zip(groups, whole, strict=True) if not all_of_it])
        )
        return [
            self.pieces[self.mesh.piece[group[0]]] if all_of_it else next(parts)
            for group, all_of_it in zip(groups, whole, strict=True)
        ]

    def _with_wood_beside(self, groups: Sequence[Ints]) -> list[Region]:
        """The region of each group with a little of the wood beside it, so that its place can be seen."""
        around = [self.mesh.beside(group) for group in groups]
        near = self.mesh.regions([triangles[self.alive[triangles]] for triangles in around])
        grown = shapely.buffer(self.mesh.regions(groups), BESIDE_MM)
        return [as_region(shown) for shown in shapely.intersection(near, grown)]


def _others(level: Level) -> list[int]:
    """The basins but the root's."""
    return [int(basin) for basin in np.unique(level.basin[level.basin >= 0]) if basin != level.root]


def without_slivers(wood: Polygon, gone: Sequence[Region], frame: Polygon) -> list[Polygon]:
    """The wood, but not the frame's, without some regions and what lies within a grid step of them: edges that are
    shared but for rounding would leave slivers. Scraps too small to matter go too."""
    grown = shapely.difference(union(shapely.buffer(gone, GRID_MM, join_style="mitre")), frame)
    return [part for part in polygons_of(shapely.difference(wood, grown)) if part.area > GRID_MM]


def _name_islands(layer: Layer, parts: Sequence[UnheldPart]) -> tuple[Island, ...]:
    """The parts that aren't held as islands with their names, by their shapes, then from the top left."""
    named = list(zip(name_pieces(layer, [part.region for part in parts]), parts, strict=True))
    named.sort(key=lambda one: (one[0].place, point_on(one[1].region)[::-1], one[0].id))
    return tuple(
        Island(
            id=name.id,
            region=part.region,
            at_mm=point_on(part.region),
            area_mm2=float(part.region.area),
            element=name.element,
            neck_mm=part.neck_mm,
            across=part.across,
            aliases=name.aliases,
            old_id=name.old_id,
        )
        for name, part in named
    )
