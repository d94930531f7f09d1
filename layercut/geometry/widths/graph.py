"""The width graph of a region.

Enters: a region and the limit below which widths must be exact, mm. Leaves: a `WidthGraph`.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from shapely import LineString, Polygon

from layercut.geometry.widths.disc_fit import DiscFit
from layercut.geometry.widths.feet import with_feet
from layercut.geometry.widths.forests import components
from layercut.geometry.widths.mesh import Flags, Floats, Ints, Mesh, triangulate

BEYOND_MM = 0.1
"""A graph is built for widths up to the limit and this much more, mm, so that the limit itself is measured."""


@dataclass(frozen=True)
class WidthGraph:
    """How wide a region is: its triangles are the nodes; link i joins triangles `a[i]` and `b[i]` over half-edge
    `half[i]`, `width[i]` mm long.

    Below the limit that it was built for, the narrowest link on the widest way between two triangles is as wide as
    the disc that can roll from one to the other; wider links are only known to be wider.
    """

    mesh: Mesh
    half: Ints
    a: Ints
    b: Ints
    width: Floats
    rooms: DiscFit = field(repr=False)

    def lines(self, links: Sequence[int] | Ints) -> list[LineString]:
        """Each of some links as a line from side to side."""
        return [self.mesh.line(int(self.half[link])) for link in links]

    def components(self, open_links: Flags) -> Ints:
        """For each triangle what it hangs together with over the chosen links, (m,)."""
        return components(len(self.mesh.tri), self.a[open_links], self.b[open_links])


def find_widths(pieces: Sequence[Polygon], limit_mm: float) -> WidthGraph:
    """The width graph of polygons that don't overlap, one at least; widths below the limit are exact."""
    mesh = triangulate(pieces)
    mesh = with_feet(mesh, limit_mm + BEYOND_MM)
    half = np.flatnonzero(mesh.twin > np.arange(len(mesh.twin)))
    return WidthGraph(mesh, half, half // 3, mesh.twin[half] // 3, mesh.lengths[half], DiscFit(mesh))
