"""Rooms: which parts of a mesh have room for a disc.

Enters: labels of triangles, and a radius, mm. Leaves: which labels have a point as far from the outline. Triangles
are asked at their middles and halved as long as their size leaves it open (branch and bound), so nothing but
distances of points decides. (A negative offset of the region would be simpler, but beside slits it loses whole parts,
and leaves scraps that have no room: seen with GEOS 3.13.)
"""

from functools import cached_property

import numpy as np
import shapely
from shapely import STRtree

from layercut.geometry.widths.mesh import Flags, Floats, Ints, Mesh

EXACT_MM = 0.004
"""A part that has room for less than this much more than a radius may count as having none, mm: a strip as wide is
asked every few times this distance."""


class DiscFit:
    """Where a mesh has room; what is asked once is kept."""

    def __init__(self, mesh: Mesh) -> None:
        """Hold a mesh."""
        self._mesh = mesh

    def fits(self, label: Ints, count: int, radius_mm: float, known: int) -> Flags:
        """For each of `count` labels whether a disc fits into the region with its middle in a triangle so labelled,
        (count,); triangles labelled -1 are not asked, the label `known` is taken for granted."""
        room = np.zeros(count, dtype=bool)
        room[known] = True
        asked = np.flatnonzero(label >= 0)
        asked = asked[(self._farthest[asked] >= radius_mm) & ~room[label[asked]]]
        # The triangle that promises most tells of most parts.
        best = self._last_of_each(label, asked)
        self._ask(self._mesh.xy[self._mesh.tri[best]], label[best], radius_mm, room)
        asked = asked[~room[label[asked]]]
        cells, owner = self._mesh.xy[self._mesh.tri[asked]], label[asked]
        while len(owner):
            open_cells = self._ask(cells, owner, radius_mm, room)
            cells, owner = _halved(cells[open_cells]), np.tile(owner[open_cells], 2)
        return room

    def _last_of_each(self, label: Ints, asked: Ints) -> Ints:
        """For each label the triangle whose points can lie farthest from the outline."""
        ranked = asked[np.lexsort((self._farthest[asked], label[asked]))]
        return ranked[np.append(label[ranked][1:] != label[ranked][:-1], True)] if len(ranked) else ranked

    def _ask(self, cells: Floats, owner: Ints, radius_mm: float, room: Flags) -> Ints:
        """Note which owners have room by the middles of their cells; leaves the cells that may still tell."""
        middles = _middles(cells)
        distance = np.zeros(len(cells))
        (asked, _), found = self._outline.query_nearest(
            shapely.points(middles), all_matches=False, return_distance=True
        )
        distance[asked] = found
        room[owner[distance >= radius_mm]] = True
        size = np.hypot(*np.moveaxis(cells - middles[:, None], 2, 0)).max(axis=1)
        return np.flatnonzero((distance + size >= radius_mm + EXACT_MM) & ~room[owner])

    @cached_property
    def _farthest(self) -> Floats:
        """For each triangle the farthest that a point in it can be from its nearest corner, (m,), mm.

        In an acute triangle that is the circle's middle; in an obtuse one a point of the longest side, as far from
        the obtuse corner as from one of the other two.
        """
        sides = self._mesh.lengths.reshape(-1, 3)
        area = np.maximum(self._mesh.areas, 1e-300)
        rows, longest = np.arange(len(sides)), sides.argmax(axis=1)
        c, a, b = (sides[rows, (longest + turn) % 3] for turn in range(3))
        at_b = (a * a + c * c - b * b) / np.maximum(2 * a * c, 1e-300)
        at_a = (b * b + c * c - a * a) / np.maximum(2 * b * c, 1e-300)
        obtuse = np.maximum(a / np.maximum(2 * at_b, 1e-9), b / np.maximum(2 * at_a, 1e-9))
        far = np.where(a * a + b * b < c * c, np.minimum(obtuse, c), a * b * c / (4 * area))
        return np.asarray(far, dtype=np.float64)

    @cached_property
    def _outline(self) -> STRtree:
        mesh = self._mesh
        sides = np.flatnonzero(mesh.twin < 0)
        return STRtree(shapely.linestrings(mesh.xy[np.stack([mesh.start[sides], mesh.end[sides]], axis=1)]))


def _middles(cells: Floats) -> Floats:
    """The middle of the circle round each triangle where that lies inside, else the middle of its corners, (k, 2)."""
    u, v = cells[:, 1] - cells[:, 0], cells[:, 2] - cells[:, 0]
    twice = 2 * (u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0])
    uu, vv, uv = (u * u).sum(axis=1), (v * v).sum(axis=1), (u * v).sum(axis=1)
    acute = (uv >= 0) & (uv <= uu) & (uv <= vv) & (np.abs(twice) > 1e-12)
    round_middle = np.stack([v[:, 1] * uu - u[:, 1] * vv, u[:, 0] * vv - v[:, 0] * uu], axis=1)
    round_middle = round_middle / np.where(acute, twice, 1.0)[:, None]
    return np.where(acute[:, None], cells[:, 0] + round_middle, cells.mean(axis=1))


def _halved(cells: Floats) -> Floats:
    """Each triangle cut in two across its longest side, so that slender ones get stouter, (2k, 3, 2)."""
    sides = cells[:, [1, 2, 0]] - cells
    first = np.hypot(sides[..., 0], sides[..., 1]).argmax(axis=1)
    a, b, c = (cells[np.arange(len(cells)), (first + turn) % 3] for turn in range(3))
    middle = (a + b) / 2
    return np.concatenate([np.stack((a, middle, c), axis=1), np.stack((middle, b, c), axis=1)])
