"""Thinning: polylines and outlines with fewer vertices.

Enters: lines and regions, mm. Leaves: the same, nowhere further than a tolerance from what they were (Douglas and
Peucker 1973). Holds: a line of any length is thinned. GEOS divides a line in two for as long as a vertex stands out,
each time one level deeper; where always the first one does, as in teeth that grow smaller, 70,000 vertices go beyond
what a stack holds and end the process. So long lines are thinned in stretches.
"""

import itertools
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

STRETCH = 2_000
"""Vertices that are thinned at once. GEOS takes about 120 bytes of stack for each, and some systems give a thread
half a megabyte in all."""

_HELD = 4
"""A ring of so few points is left as it is."""


def thinned(geometry: Any, tolerance_mm: float) -> Any:
    """A line or region, or an array of them, with fewer vertices. What is smaller than the tolerance may vanish, and
    a region may come to cross itself. Empty in, empty out."""
    return _each(geometry, tolerance_mm, apart=False)


def thinned_apart(geometry: Any, tolerance_mm: float) -> Any:
    """The same, but nothing vanishes, and neither a region nor the parts of one geometry come to cross."""
    return _each(geometry, tolerance_mm, apart=True)


def _each(geometry: Any, tolerance_mm: float, *, apart: bool) -> Any:
    if isinstance(geometry, BaseGeometry):
        return _each(np.array([geometry], dtype=object), tolerance_mm, apart=apart)[0]
    shapes = np.asarray(geometry, dtype=object)
    simple = np.empty(shapes.shape, dtype=object)
    long = shapely.get_num_coordinates(shapes) > STRETCH
    long[long] = [_longest(shape) > STRETCH for shape in shapes[long]]
    simple[~long] = shapely.simplify(shapes[~long], tolerance_mm, preserve_topology=apart)
    for place in np.flatnonzero(long):
        simple[place] = _in_stretches(shapes[place], tolerance_mm, apart=apart)
    return simple


def _longest(shape: BaseGeometry) -> int:
    """The points of the longest ring or line of a geometry."""
    return int(shapely.get_num_coordinates(_lines(shape)).max())


def _lines(shape: BaseGeometry) -> NDArray[np.object_]:
    """The rings of regions and the lines of lines."""
    parts = shapely.get_parts(np.array([shape], dtype=object))
    regions = shapely.get_type_id(parts) == shapely.GeometryType.POLYGON
    return np.concatenate([shapely.get_rings(parts[regions]), parts[~regions]])


def _in_stretches(shape: BaseGeometry, tolerance_mm: float, *, apart: bool) -> BaseGeometry:
    """A geometry thinned stretch by stretch; where one ends and the next begins, the vertex stays."""
    if shape.geom_type in ("Polygon", "MultiPolygon"):
        return _thin_regions(shape, tolerance_mm, apart=apart)
    lines = _thin_lines(_lines(shape), tolerance_mm, apart=apart)
    return lines[0] if len(lines) == 1 else shapely.multilinestrings(lines)


def _thin_regions(shape: BaseGeometry, tolerance_mm: float, *, apart: bool) -> BaseGeometry:
    """Every ring as lines, all of them at once, so that none comes to cross another."""
    parts = shapely.get_parts(shape)
    rings, owner = shapely.get_rings(parts, return_index=True)
    thinned = _thin_lines(rings, tolerance_mm, apart=apart)
    polygons = []
    for part in range(len(parts)):
        outer, *inner = [ring for ring, mine in zip(thinned, owner == part, strict=True) if mine]
        if len(outer.coords) >= _HELD:
            polygons.append(Polygon(outer, [hole for hole in inner if len(hole.coords) >= _HELD]))
    return polygons[0] if len(polygons) == 1 else MultiPolygon(polygons)


def _thin_lines(lines: NDArray[np.object_], tolerance_mm: float, *, apart: bool) -> list[Any]:
    """Lines thinned in stretches, all together, and put together again; the height of their points rides along."""
    points, line = shapely.get_coordinates(lines, include_z=bool(shapely.has_z(lines).any()), return_index=True)
    first = np.flatnonzero(np.diff(line, prepend=-1))
    last = np.append(first[1:], len(points)) - 1
    closed = (points[first] == points[last]).all(axis=1)
    stretches, of_line = [], []
    for number, (begin, end, ring) in enumerate(zip(first.tolist(), last.tolist(), closed.tolist(), strict=True)):
        cuts = _cuts(begin, end, ring=ring)
        stretches += [shapely.linestrings(points[a : b + 1]) for a, b in itertools.pairwise(cuts)]
        of_line += [number] * (len(cuts) - 1)
    together = shapely.multilinestrings(stretches)
    simple = shapely.get_parts(shapely.simplify(together, tolerance_mm, preserve_topology=apart))
    if len(simple) != len(stretches):  # without topology GEOS may drop what collapses
        simple = shapely.simplify(np.array(stretches, dtype=object), tolerance_mm, preserve_topology=apart)
    return _rejoined(simple, np.array(of_line), len(first))


def _cuts(begin: int, end: int, *, ring: bool) -> list[int]:
    """Where a line from vertex `begin` to `end` is cut; a ring at least in three, so that it keeps an inside."""
    pieces = max(-(-(end - begin) // STRETCH), 3 if ring and end - begin >= _HELD else 1)
    return [begin + (end - begin) * piece // pieces for piece in range(pieces + 1)]


def _rejoined(stretches: NDArray[np.object_], of_line: NDArray[np.int64], count: int) -> list[Any]:
    """The lines of which these are the stretches, in order."""
    high = bool(shapely.has_z(stretches).any())
    joined = []
    for number in range(count):
        first, *rest = (shapely.get_coordinates(part, include_z=high) for part in stretches[of_line == number])
        joined.append(shapely.linestrings(np.concatenate([first, *(points[1:] for points in rest)])))
    return joined
