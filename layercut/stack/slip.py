"""Slip: how far one sheet may lie beside its place before a wrong edge shows.

Enters: the stack. Leaves: a distance for each sheet, mm. A wrong edge is the hidden ground of any sheet, which is
bare wood: it shows when its own sheet slips out from behind those in front, or when a sheet in front slips off it.
"""

import math

import shapely

from layercut.geometry.precision import AREA_MM2
from layercut.geometry.regions import Region, as_region, union
from layercut.model import Stack


def allowed_slips(stack: Stack) -> tuple[float, ...]:
    """For each sheet, back to front, how far it may slip in any direction, mm; infinite where nothing can show.

    The distance is the least in any direction, so it holds for slips along x and y.
    """
    layers = stack.layers
    interior = stack.panel.interior
    ground = [_hidden_ground(layer.wood, layer.face, stack.panel.frame) for layer in layers]
    slips = []
    for index, layer in enumerate(layers):
        in_front = union(other.wood for other in layers[index + 1 :])
        slip = _gap(ground[index], as_region(shapely.difference(interior, in_front)))
        open_here = as_region(shapely.difference(interior, layer.wood))
        for deeper in range(index):
            others = union(other.wood for k, other in enumerate(layers[deeper + 1 :], deeper + 1) if k != index)
            only_here = as_region(shapely.difference(ground[deeper], others))
            slip = min(slip, _gap(only_here, open_here))
        slips.append(slip)
    return tuple(slips)


def _hidden_ground(wood: Region, face: Region, frame: Region) -> Region:
    return as_region(shapely.difference(wood, union((face, frame))))


def _gap(ground: Region, exposed: Region) -> float:
    """The distance between two regions, mm; scraps too small to see don't count."""
    seen = [part for part in shapely.get_parts(ground) if part.area >= AREA_MM2]
    if not seen or exposed.is_empty:
        return math.inf
    return float(shapely.distance(union(seen), exposed))
