"""Misregistration: how far one sheet may lie beside its place before a wrong edge shows.

Enters: the stack. Leaves: a distance for each sheet, mm. A wrong edge is the hidden ground of any sheet, which is
bare wood: it shows when its own sheet comes out from behind those in front, or when one in front comes off it.
"""

import math
from dataclasses import dataclass

import shapely
from shapely import LineString, STRtree
from shapely.geometry.base import BaseGeometry

from layercut.geometry.offsets import shrink
from layercut.geometry.parallel import each
from layercut.geometry.precision import AREA_MM2, SIGHT_MM
from layercut.geometry.regions import Region, as_region, edges_of, union, without
from layercut.model import Stack, StackLayer


@dataclass(frozen=True, slots=True)
class Misregistration:
    """How far a sheet may lie beside its place, mm (infinite where nothing can show), and where a wrong edge shows
    first."""

    distance_mm: float
    at_mm: tuple[float, float] | None = None


TOUCHING_MM = 1e-9
"""Regions nearer to each other than this meet, but for rounding."""

_SAMPLE = 16
"""Of so many edges one is looked at first, when two regions' distance is sought."""

FREE = Misregistration(math.inf)
"""Of a sheet beside which nothing wrong can show."""


def allowed_misregistrations(stack: Stack) -> tuple[Misregistration, ...]:
    """For each sheet, back to front, how far it may lie beside its place in any direction.

    The distance is the least in any direction, so it holds for moves along x and y.
    """
    layers, interior = stack.layers, stack.panel.interior
    ground = each(_hidden_ground, layers)
    uncovered = [interior]
    for layer in layers[:0:-1]:
        uncovered.append(without(uncovered[-1], [layer.wood]))
    uncovered.reverse()
    openings = each(lambda layer: without(interior, [layer.wood]), layers)

    # A sheet that moves uncovers its own ground, or that of any sheet behind it: the least of all gaps counts.
    def gaps(deeper: int) -> list[Misregistration]:
        """How near the ground of a sheet is to where it would show, when it moves itself and when another does."""
        found = [FREE] * deeper + [_gap(ground[deeper], uncovered[deeper])]
        below = ground[deeper]
        for index in range(deeper + 1, len(layers)):
            if not _can_show(below):
                return found + [FREE] * (len(layers) - index)
            only_here = as_region(shapely.intersection(below, uncovered[index]))
            found.append(_gap(only_here, openings[index]))
            below = without(below, [layers[index].wood])
        return found

    # Of the gaps that a move of a sheet would close, those with its own ground count first.
    by_ground = each(gaps, range(len(layers)))
    return tuple(
        min(
            (by_ground[deeper][index] for deeper in (index, *range(index))),
            key=lambda allowed: allowed.distance_mm,
        )
        for index in range(len(layers))
    )


def _hidden_ground(layer: StackLayer) -> Region:
    """The bare wood that must not show, risers included; seams that only the grid leaves are no ground."""
    kept = as_region(shapely.intersection(layer.hidden, layer.wood))
    risers = (piece.region for piece in layer.loose if piece.riser)
    ground = shapely.buffer(shrink(kept, SIGHT_MM / 2), SIGHT_MM / 2, join_style="mitre")
    # Mitres of a hair's growth can cross where scraps all but touch (seen with GEOS 3.13).
    return union((as_region(shapely.make_valid(ground)), *risers))


def _can_show(region: Region) -> bool:
    """Whether any part of a region is large enough to be seen; no part of one that isn't will be."""
    return bool((shapely.area(shapely.get_parts(region)) >= AREA_MM2).any())


def _gap(ground: Region, exposed: Region) -> Misregistration:
    """The distance between two regions, and where it is least; scraps too small to see don't count."""
    parts = shapely.get_parts(ground)
    seen = shapely.multipolygons(parts[shapely.area(parts) >= AREA_MM2])
    if seen.is_empty or exposed.is_empty:
        return FREE
    shapely.prepare(seen)
    # GEOS compares two regions a setback apart all along edge by edge; where they meet it is quick.
    line = (
        shapely.shortest_line(seen, exposed) if shapely.intersects(seen, exposed) else _shortest_line(seen, exposed)
    )
    x, y = line.coords[0]
    return Misregistration(float(line.length), (round(x, 2), round(y, 2)))


def _shortest_line(region: BaseGeometry, other: BaseGeometry) -> LineString:
    """A shortest line from a region to another that it doesn't meet."""
    mine, tree = edges_of(region), STRtree(edges_of(other))
    # A sample tells how near they come at least, so that all edges further away need no look.
    found = tree.query_nearest(mine[::_SAMPLE], return_distance=True, all_matches=False)[1].min()
    reach = max(float(found), TOUCHING_MM)
    (edge, nearest), distances = tree.query_nearest(mine, max_distance=reach, return_distance=True, all_matches=False)
    least = distances.argmin()
    return shapely.shortest_line(mine[edge[least]], tree.geometries[nearest[least]])
