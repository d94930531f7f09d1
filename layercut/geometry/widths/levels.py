"""A width graph seen at one width: bodies, basins, necks, the widest ways, and what lies outside bodies.

Enters: a `WidthGraph`, a width, mm, the triangles that count, and one that is always a body's. Leaves: a `Level`.
Another width, or another part of the region left out, is another level of the same graph.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from layercut.geometry.widths.forests import components, widest_forest
from layercut.geometry.widths.graph import WidthGraph
from layercut.geometry.widths.mesh import Flags, Floats, Ints

TAPER_SHARE = 0.65
"""A wedge has half the area of a bar on the same base; what has less than this share of the bar's is a corner."""


@dataclass(frozen=True)
class Level:
    """A region as a disc of one width, mm, finds it.

    `body` (m,) is for each triangle the place that the disc can visit without lifting, -1 where it can't; `basin`
    (m,) the body that it hangs on by the widest way, or, where no way leads to any, a number of its own; -1 for
    triangles that don't count. `root` is the body that was asked for. `necks` are the narrower links that no widest
    way uses: between basins they hold something, within one they are a handle.
    """

    graph: WidthGraph
    width_mm: float
    alive: Flags
    body: Ints
    basin: Ints
    necks: Ints
    root: int

    @property
    def basins(self) -> int:
        """How many basins there are; some may have lost all their triangles."""
        return int(self.basin.max(initial=-1)) + 1

    @property
    def has_body(self) -> Flags:
        """Which basins have a body, (basins,)."""
        found = np.zeros(self.basins, dtype=bool)
        found[self.body[self.body >= 0]] = True
        return found

    @property
    def between(self) -> Ints:
        """The links between basins."""
        here, there = self.basin[self.graph.a], self.basin[self.graph.b]
        return np.flatnonzero((here != there) & (here >= 0) & (there >= 0))

    def widest_ways(self) -> Floats:
        """For each basin how wide the widest way to the root is, (basins,): 0 where there is none, infinite at the
        root. It is the narrowest link of the path in the widest forest (Pollack 1960)."""
        links = self.between
        a, b, width = (self.basin[self.graph.a[links]], self.basin[self.graph.b[links]], self.graph.width[links])
        chosen = np.flatnonzero(widest_forest(np.arange(self.basins), a, b, width))
        found = np.zeros(self.basins)
        if not self.basins:
            return found
        found[self.root] = np.inf
        # Each round reaches one basin further; few hang on others.
        while True:
            least = np.minimum(np.maximum(found[a[chosen]], found[b[chosen]]), width[chosen])
            before = found.copy()
            np.maximum.at(found, a[chosen], least)
            np.maximum.at(found, b[chosen], least)
            if (found == before).all():
                return found

    def links_of(self, basins: Sequence[int] | Ints) -> list[Ints]:
        """For each of some basins the links that join it to others, the widest first."""
        links = self.between
        links = links[np.argsort(-self.graph.width[links], kind="stable")]
        ends = np.concatenate([self.basin[self.graph.a[links]], self.basin[self.graph.b[links]]])
        order = np.argsort(ends, kind="stable")
        first, last = (np.searchsorted(ends[order], basins, side) for side in ("left", "right"))
        return [np.tile(links, 2)[order[a:b]] for a, b in zip(first, last, strict=True)]


def level_at(graph: WidthGraph, width_mm: float, root: int, alive: Flags | None = None) -> Level:
    """The graph at a width; `root` is a triangle that counts as a body's, however narrow."""
    count = len(graph.mesh.tri)
    alive = np.ones(count, dtype=bool) if alive is None else alive
    lives = alive[graph.a] & alive[graph.b]
    label = graph.components(lives & (graph.width >= width_mm))
    labels = int(label.max(initial=-1)) + 1
    room = graph.rooms.fits(np.where(alive, label, -1), labels, width_mm / 2, int(label[root]))
    number = np.full(labels, -1)
    number[room] = np.arange(int(room.sum()))
    body = np.where(alive, number[label], -1)
    inside = lives & (body[graph.a] >= 0) & (body[graph.a] == body[graph.b]) & (graph.width >= width_mm)
    links = np.flatnonzero(lives & ~inside)
    # All bodies count as joined, so that the forest grows from all of them at once and joins no two.
    start = np.where(body >= 0, 0, np.arange(count) + 1)
    used = widest_forest(start, graph.a[links], graph.b[links], graph.width[links])
    necks = links[~used & (graph.width[links] < width_mm)]
    joined = np.concatenate([links[used], np.flatnonzero(inside)])
    tree = components(count, graph.a[joined], graph.b[joined])
    return Level(graph, width_mm, alive, body, _named(tree, body, alive), necks, int(body[root]))


def _named(tree: Ints, body: Ints, alive: Flags) -> Ints:
    """For each triangle the body of its tree, or a number beyond all bodies'."""
    name = np.full(int(tree.max(initial=-1)) + 1, -1)
    name[tree[body >= 0]] = body[body >= 0]
    bare = np.unique(tree[alive & (name[tree] < 0)])
    name[bare] = int(body.max(initial=-1)) + 1 + np.arange(len(bare))
    return np.where(alive, name[tree], -1)


@dataclass(frozen=True)
class NarrowParts:
    """Connected triangles outside all bodies: `label` (m,) which, -1 inside bodies; for each (k,) how many links lead
    into bodies (its mouths), how long these are, mm, the diagonal of the box around it, mm, and its area, mm2."""

    label: Ints
    mouths: Ints
    base: Floats
    reach: Floats
    area: Floats

    @property
    def tapers(self) -> Flags:
        """Which are mere corners, however sharp, (k,)."""
        return np.asarray(self.area < TAPER_SHARE * self.base * self.reach)

    def bar_widths(self) -> Floats:
        """The width of the bar as long as each strip reaches, with its area, (k,), mm."""
        return self.area / np.maximum(self.reach, 1e-9)


def narrow_parts_at(level: Level) -> NarrowParts:
    """What lies outside the bodies of a level: corners, prongs (one mouth), and necks and handles (more)."""
    graph, mesh = level.graph, level.graph.mesh
    out = level.alive & (level.body < 0)
    label = graph.components(out[graph.a] & out[graph.b])
    label = np.where(out, label, -1)
    label[out] = np.unique(label[out], return_inverse=True)[1]
    count = int(label.max(initial=-1)) + 1
    lives = level.alive[graph.a] & level.alive[graph.b]
    mouth = np.flatnonzero(lives & (out[graph.a] != out[graph.b]))
    owner = np.maximum(label[graph.a[mouth]], label[graph.b[mouth]])
    mine = np.flatnonzero(out)
    corners = mesh.xy[mesh.tri[mine]]
    low, high = np.full((count, 2), np.inf), np.full((count, 2), -np.inf)
    np.minimum.at(low, label[mine], corners.min(axis=1))
    np.maximum.at(high, label[mine], corners.max(axis=1))
    return NarrowParts(
        label,
        np.bincount(owner, minlength=count),
        np.bincount(owner, weights=graph.width[mouth], minlength=count).astype(np.float64),
        np.hypot(*(high - low).T),
        np.bincount(label[mine], weights=mesh.areas[mine], minlength=count).astype(np.float64),
    )
