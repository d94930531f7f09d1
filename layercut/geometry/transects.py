"""Transects: how much of straight lines lies in a region, many lines at once.

Enters: lines of two points, and a region, mm. Leaves: lengths. Holds: a line is in the region or out of it by turns,
changing at each edge that it crosses; one that runs along an edge or ends on one is overlaid as a whole. (To overlay
each line with what lies near it takes some thirty times as long.)
"""

import numpy as np
import shapely
from shapely import STRtree

from layercut.geometry.quadtree import QuadtreeRegion
from layercut.geometry.regions import Region, edges_of, prepared
from layercut.geometry.widths.mesh import Flags, Floats, Ints, Shapes

ON_LINE_MM = 1e-9
"""A corner this near to a line may lie on it, and an end this near to an edge, mm."""

PARALLELS = 6
"""A strip is measured along so many lines side by side."""


class Transected:
    """A region that many lines are laid across; its edges are looked up once."""

    def __init__(self, region: Region) -> None:
        """Hold a valid region, which may be empty."""
        self._region = prepared(region)
        edges = edges_of(region) if not region.is_empty else np.zeros(0, dtype=object)
        self._corners = shapely.get_coordinates(edges).reshape(-1, 2, 2)
        self._across = np.ascontiguousarray(self._corners.transpose(2, 1, 0))
        self._tree = STRtree(edges)

    def lengths(self, lines: Shapes) -> Floats:
        """How much of each line, (n,) of two points each, lies in the region, (n,), mm."""
        ends = shapely.get_coordinates(lines).reshape(-1, 2, 2)
        if not len(ends) or self._region.is_empty:
            return np.zeros(len(ends))
        inside = shapely.contains_xy(self._region, ends.reshape(-1, 2)).reshape(-1, 2)
        line, share, unclear = self._crossings(lines, ends)
        first = np.searchsorted(line, np.arange(len(ends) + 1))
        turn = np.arange(len(line)) - first[line]
        leaves = inside[line, 0] ^ (turn % 2 == 1)
        shares = np.bincount(line, np.where(leaves, share, -share), len(ends)) + inside[:, 1]
        lengths = np.clip(shares, 0.0, 1.0) * np.hypot(*(ends[:, 1] - ends[:, 0]).T)
        unclear |= (inside[:, 0] ^ inside[:, 1]) != (np.diff(first) % 2 == 1)
        lengths[unclear] = shapely.length(QuadtreeRegion(self._region).shared_with_each(lines[unclear]))
        return np.asarray(lengths)

    def areas(self, lines: Shapes, width_mm: float) -> Floats:
        """About how much of the strip along each line, of some width, lies in the region, (n,), mm2: by the mean of a
        few lines side by side."""
        ends = shapely.get_coordinates(lines).reshape(-1, 2, 2)
        along = ends[:, 1] - ends[:, 0]
        across = np.stack([-along[:, 1], along[:, 0]], axis=1) / np.maximum(np.hypot(*along.T), 1e-300)[:, None]
        shifts = width_mm * ((np.arange(PARALLELS) + 0.5) / PARALLELS - 0.5)
        beside = (ends + shift * across[:, None, :] for shift in shifts.tolist())
        lengths = [self.lengths(np.asarray(shapely.linestrings(one))) for one in beside]
        return np.asarray(width_mm * np.mean(lengths, axis=0))

    def _crossings(self, lines: Shapes, ends: Floats) -> tuple[Ints, Floats, Flags]:
        """Where lines cross the region's edges: which line, and at what share of it, in order along each line; and
        which lines, (n,), end on an edge or run along one. A corner on a line counts as lying on one side of it,
        whichever edge asks."""
        along = ends[:, 1] - ends[:, 0]
        line, edge = self._near(lines, ends, along)
        corners = self._corners[edge]
        beside = _besides(ends[line, 0], along[line], corners)
        # A cross product is a distance times the length of what it is measured from, and so are these bounds.
        reach = ON_LINE_MM * np.hypot(*along.T)[line]
        side = corners[:, 1] - corners[:, 0]
        away = _besides(corners[:, 0], side, ends[line])
        near = ON_LINE_MM * np.hypot(*side.T)
        met = _straddle(away, near)
        touching = met & (
            (np.abs(away) <= near[:, None]).any(axis=1) | (np.abs(beside) <= reach[:, None]).all(axis=1)
        )
        unclear = np.zeros(len(ends), dtype=bool)
        unclear[line[touching]] = True
        # One side counts the line itself in: of two edges that share a corner on it both or neither cross there.
        met &= (beside[:, 0] >= 0) != (beside[:, 1] >= 0)
        line, beside, along, to = line[met], beside[met], along[line[met]], corners[met] - ends[line[met], :1]
        place = (beside[:, 0] / (beside[:, 0] - beside[:, 1]))[:, None]
        at = to[:, 0] + place * (to[:, 1] - to[:, 0])
        share = np.clip((at * along).sum(axis=1) / np.maximum((along * along).sum(axis=1), 1e-300), 0.0, 1.0)
        order = np.lexsort((share, line))
        return line[order], share[order], unclear

    def _near(self, lines: Shapes, ends: Floats, along: Floats) -> tuple[Ints, Ints]:
        """The pairs of a line and an edge that may cross: their boxes meet, and the edge isn't all on one side.

        Boxes meet six times as often as lines cross; this drops most of the others sooner than an exact test would.
        """
        line, edge = self._tree.query(lines)
        turned = np.stack([-along[:, 1], along[:, 0]])
        x, y = turned[:, line]
        level = (turned * ends[:, 0].T).sum(axis=0)[line]
        reach = (ON_LINE_MM * np.hypot(*along.T))[line]
        one, other = (x * self._across[0, place][edge] + y * self._across[1, place][edge] - level for place in (0, 1))
        met = (np.minimum(one, other) <= reach) & (np.maximum(one, other) >= -reach)
        return line[met], edge[met]


def _besides(start: Floats, along: Floats, points: Floats) -> Floats:
    """Twice the area between each line and two points, (n, 2): its sign says on which side a point lies."""
    x, y = points[..., 0] - start[:, :1], points[..., 1] - start[:, 1:]
    return along[:, :1] * y - along[:, 1:] * x


def _straddle(beside: Floats, reach: Floats) -> Flags:
    """Which lines have two points not on one side of them, but for a reach."""
    return np.asarray((beside.min(axis=1) <= reach) & (beside.max(axis=1) >= -reach))
