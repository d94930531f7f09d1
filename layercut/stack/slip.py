"""Slip: how far one sheet may lie beside its place before a wrong edge shows.

Enters: the stack. Leaves: a distance for each sheet, mm. A wrong edge is the hidden ground of any sheet, which is
bare wood: it shows when its own sheet slips out from behind those in front, or when a sheet in front slips off it.
"""

import math
from dataclasses import dataclass

import shapely

from layercut.geometry.offsets import shrink
from layercut.geometry.precision import AREA_MM2, SIGHT_MM
from layercut.geometry.regions import Region, as_region, union
from layercut.model import Stack, StackLayer


@dataclass(frozen=True, slots=True)
class Slip:
    """How far a sheet may slip, mm (infinite where nothing can show), and where a wrong edge shows first."""

    distance_mm: float
    at_mm: tuple[float, float] | None = None


FREE = Slip(math.inf)
"""The slip of a sheet beside which nothing wrong can show."""


def allowed_slips(stack: Stack) -> tuple[Slip, ...]:
    """For each sheet, back to front, how far it may slip in any direction.

    The distance is the least in any direction, so it holds for slips along x and y.
    """
    layers = stack.layers
    interior = stack.panel.interior
    ground = [_hidden_ground(layer) for layer in layers]
    slips = []
    for index, layer in enumerate(layers):
        in_front = union(other.wood for other in layers[index + 1 :])
        found = [_gap(ground[index], as_region(shapely.difference(interior, in_front)))]
        open_here = as_region(shapely.difference(interior, layer.wood))
        for deeper in range(index):
            others = union(other.wood for k, other in enumerate(layers[deeper + 1 :], deeper + 1) if k != index)
            only_here = as_region(shapely.difference(ground[deeper], others))
            found.append(_gap(only_here, open_here))
        slips.append(min(found, key=lambda slip: slip.distance_mm))
    return tuple(slips)


def _hidden_ground(layer: StackLayer) -> Region:
    """The bare wood that must not show, risers included; seams that only the grid leaves are no ground."""
    kept = as_region(shapely.intersection(layer.hidden, layer.wood))
    risers = (piece.region for piece in layer.loose if piece.riser)
    ground = shapely.buffer(shrink(kept, SIGHT_MM / 2), SIGHT_MM / 2, join_style="mitre")
    # Mitres of a hair's growth can cross where scraps all but touch (seen with GEOS 3.13).
    return union((as_region(shapely.make_valid(ground)), *risers))


def _gap(ground: Region, exposed: Region) -> Slip:
    """The distance between two regions, and where it is least; scraps too small to see don't count."""
    seen = [part for part in shapely.get_parts(ground) if part.area >= AREA_MM2]
    if not seen or exposed.is_empty:
        return FREE
    line = shapely.shortest_line(union(seen), exposed)
    x, y = line.coords[0]
    return Slip(float(line.length), (round(x, 2), round(y, 2)))
