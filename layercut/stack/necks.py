"""Necks: where wood is narrower than the job allows, with its measured width.

Enters: a region of wood and the limit, mm. Leaves: its `Narrows`. A disc as wide as the limit is rolled through the
wood (a morphological opening; Serra, Image Analysis and Mathematical Morphology, 1982): what it can't enter is
narrow, and the bodies it can't roll between are joined by necks only.
"""

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString, Polygon, STRtree
from shapely.geometry.base import BaseGeometry

from layercut.geometry.offsets import dilate, shrink
from layercut.geometry.precision import NECK_SLACK_MM
from layercut.geometry.regions import Region, polygons_of, union


@dataclass(frozen=True, slots=True)
class Neck:
    """A narrow place: its least width in mm, where that is, which bodies it joins, and its own wood, if any."""

    width_mm: float
    at_mm: tuple[float, float]
    bodies: tuple[int, ...]
    region: Region


@dataclass(frozen=True, slots=True)
class Prong:
    """Narrow wood that ends free: its mean width and the diagonal of its box, mm."""

    width_mm: float
    reach_mm: float
    region: Region


@dataclass(frozen=True, slots=True)
class Narrows:
    """The bodies that a disc as wide as the limit can visit without lifting, the necks between, and the prongs."""

    bodies: tuple[Polygon, ...]
    necks: tuple[Neck, ...]
    prongs: tuple[Prong, ...]


def find_narrows(wood: Polygon, limit_mm: float, reach_mm: float) -> Narrows:
    """Where one piece of wood is narrower than `limit_mm`.

    Corners, however sharp, are not reported; a prong is when it reaches further than `reach_mm`. Without a limit
    the whole piece is one body.
    """
    if limit_mm <= 2 * NECK_SLACK_MM:
        return Narrows((wood,), (), ())
    radius = limit_mm / 2 - NECK_SLACK_MM
    cores = polygons_of(shrink(wood, radius))
    bodies = [dilate(core, radius + NECK_SLACK_MM / 2) for core in cores]
    rest = np.array(polygons_of(shapely.difference(wood, union(bodies))), dtype=object)
    necks, prongs = _judge_rest(rest, wood, bodies, reach_mm)
    necks += _short_necks(cores, wood, radius)
    return Narrows(tuple(bodies), tuple(necks), tuple(prongs))


def _judge_rest(
    rest: NDArray[np.object_], wood: Polygon, bodies: list[Polygon], reach_mm: float
) -> tuple[list[Neck], list[Prong]]:
    """What the disc can't enter: a neck where it goes on into wood at two places, else a prong or a mere corner."""
    necks: list[Neck] = []
    prongs: list[Prong] = []
    if not len(rest):
        return necks, prongs
    tree = STRtree(bodies)
    for part, rings in zip(rest, _edges_on(rest, wood), strict=True):
        ends = sum(_runs(~ring) for ring in rings)
        if ends >= 2:
            width, at = _least_width(part, wood)
            joined = tree.query(part, predicate="dwithin", distance=NECK_SLACK_MM)
            necks.append(Neck(width, at, tuple(sorted(int(body) for body in joined)), part))
        elif _diagonal(part) > reach_mm:
            # a long thin part is about half its perimeter long
            prongs.append(Prong(float(2 * part.area / part.length), _diagonal(part), part))
    return necks, prongs


def _short_necks(cores: list[Polygon], wood: Polygon, radius: float) -> list[Neck]:
    """Necks so short that the disc covers them from both sides, though it can't pass."""
    if len(cores) < 2:
        return []
    first, second = STRtree(cores).query(cores, predicate="dwithin", distance=2 * radius)
    necks = []
    shapely.prepare(wood)
    boundary = shapely.boundary(wood)
    for a, b in zip(first, second, strict=True):
        if a >= b:
            continue
        bridge = shapely.shortest_line(cores[a], cores[b])
        if shapely.contains(wood, bridge):
            width, at = _width_across(bridge, boundary, radius)
            necks.append(Neck(width, at, (int(a), int(b)), Polygon()))
    return sorted(necks, key=lambda neck: neck.at_mm)


def _width_across(bridge: LineString, boundary: BaseGeometry, radius: float) -> tuple[float, tuple[float, float]]:
    """The least distance of the walls left and right of a line through a neck."""
    (x0, y0), (x1, y1) = bridge.coords[0], bridge.coords[-1]
    length = max(float(np.hypot(x1 - x0, y1 - y0)), 1e-9)
    ux, uy = (x1 - x0) / length, (y1 - y0) / length
    mx, my = (x0 + x1) / 2, (y0 + y1) / 2
    reach = radius + length / 2 + NECK_SLACK_MM
    sides = []
    for sign in (1, -1):
        corners = [(-reach, 0), (reach, 0), (reach, sign * reach), (-reach, sign * reach)]
        half = Polygon([(mx + u * ux - v * uy, my + u * uy + v * ux) for u, v in corners])
        sides.append(shapely.intersection(boundary, half))
    if any(side.is_empty for side in sides):
        return 0.0, _rounded((mx, my))
    middle = shapely.shortest_line(*sides).interpolate(0.5, normalized=True)
    return float(shapely.distance(*sides)), _rounded((middle.x, middle.y))


def _edges_on(parts: NDArray[np.object_], wood: Polygon) -> list[list[NDArray[np.bool_]]]:
    """For each ring of each part, which of its edges lie on the wood's own boundary."""
    boundary = shapely.boundary(wood)
    shapely.prepare(boundary)
    rings, owner = shapely.get_rings(parts, return_index=True)
    coordinates, ring_of = shapely.get_coordinates(rings, return_index=True)
    same = ring_of[1:] == ring_of[:-1]
    middles = ((coordinates[1:] + coordinates[:-1]) / 2)[same]
    on = np.asarray(shapely.dwithin(boundary, shapely.points(middles), 1e-6), dtype=bool)
    counts = np.bincount(ring_of[1:][same], minlength=len(rings))
    grouped: list[list[NDArray[np.bool_]]] = [[] for _ in parts]
    for ring, part in zip(np.split(on, np.cumsum(counts)[:-1]), owner, strict=True):
        grouped[part].append(ring)
    return grouped


def _runs(flags: NDArray[np.bool_]) -> int:
    """How many runs of True a cyclic sequence has."""
    if flags.all():
        return 1
    return int(np.count_nonzero(flags & ~np.roll(flags, 1)))


def _least_width(part: Polygon, wood: Polygon) -> tuple[float, tuple[float, float]]:
    """The least distance of two sides of a neck, and the middle of that place."""
    sides = _sides(part, wood)
    if len(sides) < 2:  # the neck closes to a point
        return 0.0, _rounded(part.centroid.coords[0])
    pairs = [(a, b) for i, a in enumerate(sides) for b in sides[i + 1 :]]
    distances = [float(shapely.distance(a, b)) for a, b in pairs]
    best = int(np.argmin(distances))
    middle = shapely.shortest_line(*pairs[best]).interpolate(0.5, normalized=True)
    return distances[best], _rounded((middle.x, middle.y))


def _sides(part: Polygon, wood: Polygon) -> list[LineString]:
    """The stretches of a part's boundary that are the wood's own."""
    sides: list[LineString] = []
    alone = np.array([part], dtype=object)
    for ring, on in zip(shapely.get_rings(alone), _edges_on(alone, wood)[0], strict=True):
        if on.all():
            sides.append(ring)
        elif on.any():
            start = int(np.flatnonzero(~on)[0])
            points = np.roll(shapely.get_coordinates(ring)[:-1], -start, axis=0)
            points = np.vstack([points, points[:1]])
            steps = np.diff(np.concatenate([[0], np.roll(on, -start).astype(np.int8), [0]]))
            edges = np.flatnonzero(steps)
            sides.extend(LineString(points[a : b + 1]) for a, b in zip(edges[::2], edges[1::2], strict=True))
    return sides


def _diagonal(part: Polygon) -> float:
    x0, y0, x1, y1 = part.bounds
    return float(np.hypot(x1 - x0, y1 - y0))


def _rounded(point: tuple[float, ...]) -> tuple[float, float]:
    return (round(float(point[0]), 2), round(float(point[1]), 2))
