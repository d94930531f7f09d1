"""Feet: the points that make a triangulation's edges as long as the region is wide.

Enters: a mesh and a limit, mm. Leaves: the mesh with feet. Where a disc is narrowest between a corner and a side, the
corner's perpendicular foot on the side is a vertex afterwards, so that the narrowest place is an edge. (Two corners
are joined by an edge of any Delaunay triangulation if the disc between them is empty: Gabriel and Sokal 1969.)
"""

from dataclasses import dataclass

import numpy as np
import shapely

from layercut.geometry.regions import as_region, polygons_of
from layercut.geometry.widths.forests import components
from layercut.geometry.widths.mesh import (
    Flags,
    Floats,
    Ints,
    Mesh,
    Shapes,
    corners_of,
    edge_keys,
    grouped,
    linked,
    numbered,
)

NEAR_END_MM = 1e-4
"""A foot this near to an end of its side is that end, mm: rounded onto it, rings would cross themselves."""

ON_SIDE_MM = 1e-7
"""A corner this near to a side lies on it but for rounding, mm, and is its own foot."""


@dataclass(frozen=True)
class Feet:
    """Points on sides: `half` (k,) the side's half-edge, `share` (k,) of its length, `at` (k, 2) the place, mm."""

    half: Ints
    share: Floats
    at: Floats


@dataclass(frozen=True)
class _Step:
    """One round of walks: the half-edge and the corner of each, and the walk of the round before it continues."""

    half: Ints
    corner: Ints
    came: Ints


@dataclass(frozen=True)
class _Sides:
    """Coordinates one by one, which numpy gathers faster than pairs: where each half-edge begins, how far
    it leads, (3m,), mm, the square of its length, mm2, and the vertices, (n,), mm."""

    x: Floats
    y: Floats
    along_x: Floats
    along_y: Floats
    square: Floats
    corner_x: Floats
    corner_y: Floats

    @classmethod
    def of(cls, mesh: Mesh) -> "_Sides":
        """The half-edges of a mesh."""
        x, y = np.ascontiguousarray(mesh.xy.T)
        along_x, along_y = x[mesh.end] - x[mesh.start], y[mesh.end] - y[mesh.start]
        square = np.maximum(along_x * along_x + along_y * along_y, 1e-300)
        return cls(x[mesh.start], y[mesh.start], along_x, along_y, square, x, y)


def with_feet(mesh: Mesh, limit_mm: float) -> Mesh:
    """The mesh with the feet of all corners that face a side nearer than a limit. Only the triangles between a corner
    and its foot are made again."""
    feet, passed = _find_feet(mesh, limit_mm)
    if not len(feet.half):
        return mesh
    inner = np.flatnonzero(mesh.twin > np.arange(len(mesh.twin)))
    a, b = inner // 3, mesh.twin[inner] // 3
    both = passed[a] & passed[b]
    label = np.where(passed, components(len(mesh.tri), a[both], b[both]), -1)
    pockets = grouped(label, np.unique(label[passed]))
    made, pocket_of, left = _parted(_with_points(mesh.regions(pockets), mesh, feet))
    kept = ~passed
    for pocket in left:
        kept[pockets[pocket]] = True
    corners, owner = corners_of(made)
    home = mesh.piece[np.array([pockets[pocket][0] for pocket in pocket_of], dtype=np.int64)]
    return linked(np.concatenate([mesh.xy[mesh.tri[kept]], corners]), np.concatenate([mesh.piece[kept], home[owner]]))


def _parted(pockets: Shapes) -> tuple[Shapes, Ints, Ints]:
    """The pockets as polygons that can be triangulated, the pocket that each is of, and the pockets that can't be.

    Where a corner lies on the side that it faces, its foot is the corner itself and pinches the pocket: what hangs
    together there has no width, so it is parted, and what has no area vanishes.
    """
    pinched = ~shapely.is_valid(pockets)
    if not pinched.any():
        return pockets, np.arange(len(pockets)), np.zeros(0, dtype=np.int64)
    made, owner = [pockets[~pinched]], [np.flatnonzero(~pinched)]
    left = []
    for pocket in np.flatnonzero(pinched):
        parts = np.array(polygons_of(as_region(shapely.make_valid(pockets[pocket]))), dtype=object)
        known = {tuple(point) for point in shapely.get_coordinates(pockets[pocket]).tolist()}
        if known.issuperset(map(tuple, shapely.get_coordinates(parts).tolist())):
            made.append(parts)
            owner.append(np.full(len(parts), pocket))
        else:
            left.append(pocket)
    return np.concatenate(made), np.concatenate(owner), np.array(left, dtype=np.int64)


def _find_feet(mesh: Mesh, limit_mm: float) -> tuple[Feet, Flags]:
    """All feet, and the triangles on the walks that lead to one, (m,).

    From each corner breadth first through the edge opposite, as long as the corner's foot on the edge lies between
    its ends and nearer than the limit; else an end of the edge lies in the disc.
    """
    every = np.arange(len(mesh.twin))
    sides = _Sides.of(mesh)
    step = _Step(every, mesh.tri.ravel(), np.full(len(every), -1))
    found: list[Feet] = []
    trail: list[tuple[Ints, Ints, Flags]] = []
    # All walks take a step at once; where one meets the outline it ends in a foot, and its way back is kept.
    while len(step.half):
        step, share, at = _facing(mesh, sides, step, limit_mm)
        side = mesh.twin[step.half] < 0
        length = mesh.lengths[step.half]
        ends = side & (share * length > NEAR_END_MM) & ((1 - share) * length > NEAR_END_MM)
        found.append(Feet(step.half[ends], share[ends], at[ends]))
        trail.append((step.half // 3, step.came, ends))
        step = _through(mesh, step, np.flatnonzero(~side))
    feet = Feet(
        np.concatenate([part.half for part in found]),
        np.concatenate([part.share for part in found]),
        np.concatenate([part.at for part in found]),
    )
    return feet, _passed(trail, len(mesh.tri))


def _facing(mesh: Mesh, sides: _Sides, step: _Step, limit_mm: float) -> tuple[_Step, Floats, Floats]:
    """The walks whose corner faces its edge within the limit; its foot as a share of the edge, and in mm."""
    half, corner = step.half, step.corner
    x, y = sides.x[half], sides.y[half]
    to_x, to_y = sides.corner_x[corner] - x, sides.corner_y[corner] - y
    share = (sides.along_x[half] * to_x + sides.along_y[half] * to_y) / sides.square[half]
    # Most corners lie beside the edge's ends: only of the others it matters how far they are.
    ok = np.flatnonzero((share > 0) & (share < 1))
    half, corner, share = half[ok], corner[ok], share[ok]
    along_x, along_y = sides.along_x[half], sides.along_y[half]
    distance = (along_x * to_y[ok] - along_y * to_x[ok]) / np.sqrt(sides.square[half])
    near = np.flatnonzero((distance > -1e-9) & (distance < limit_mm))
    half, corner, share, ok = half[near], corner[near], share[near], ok[near]
    at = np.stack([x[ok] + share * along_x[near], y[ok] + share * along_y[near]], axis=1)
    at = np.where((distance[near] < ON_SIDE_MM)[:, None], mesh.xy[corner], at)
    return _Step(half, corner, step.came[ok]), share, at


def _through(mesh: Mesh, step: _Step, going: Ints) -> _Step:
    """The walks that go on through their edge to the two others of the triangle behind it."""
    across = mesh.twin[step.half[going]]
    triangle, place = across // 3, across % 3
    half = np.concatenate([3 * triangle + (place + 1) % 3, 3 * triangle + (place + 2) % 3])
    return _Step(half, np.tile(step.corner[going], 2), np.tile(going, 2))


def _passed(trail: list[tuple[Ints, Ints, Flags]], count: int) -> Flags:
    """The triangles of the walks that ended in a foot."""
    passed = np.zeros(count, dtype=bool)
    later = np.zeros(0, dtype=np.int64)
    for triangle, came, ends in reversed(trail):
        wanted = ends.copy()
        wanted[later] = True
        passed[triangle[wanted]] = True
        later = came[wanted]
        later = later[later >= 0]
    return passed


def _with_points(pieces: Shapes, mesh: Mesh, feet: Feet) -> Shapes:
    """The pieces with the feet that lie on their outlines as vertices."""
    feet = _apart(feet, mesh.lengths[feet.half])
    rings, owner = shapely.get_rings(pieces, return_index=True)
    xy, ring = shapely.get_coordinates(rings, return_index=True)
    first = np.flatnonzero(ring[1:] == ring[:-1])
    # Sides are found again by their two ends, whichever way round.
    every, number = numbered(np.concatenate([xy, mesh.xy]))
    here, there = number[: len(xy)], number[len(xy) :]
    key = edge_keys(here[first], here[first + 1], len(every))
    start = there[mesh.start[feet.half]]
    wanted = edge_keys(start, there[mesh.end[feet.half]], len(every))
    order = np.argsort(key)
    place = order[np.minimum(np.searchsorted(key, wanted, sorter=order), len(key) - 1)]
    known = key[place] == wanted
    place, at = place[known], feet.at[known]
    share = np.where(here[first[place]] == start[known], feet.share[known], 1 - feet.share[known])
    order = np.lexsort((share, first[place]))
    where = first[place][order] + 1
    rings = shapely.linearrings(
        np.insert(xy, where, at[order], axis=0), indices=np.insert(ring, where, ring[where - 1])
    )
    return np.asarray(shapely.polygons(rings, indices=owner), dtype=object)


def _apart(feet: Feet, length: Floats) -> Feet:
    """The feet in order along each side, without those that all but fall on the one before."""
    order = np.lexsort((feet.share, feet.half))
    half, share, length = feet.half[order], feet.share[order], length[order]
    kept = np.ones(len(half), dtype=bool)
    kept[1:] = (half[1:] != half[:-1]) | ((share[1:] - share[:-1]) * length[1:] > NEAR_END_MM)
    return Feet(half[kept], share[kept], feet.at[order][kept])
