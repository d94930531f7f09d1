"""Prices: what each way out for a piece makes wrong of the picture, in mm2.

Enters: strips, pieces, and what a viewer sees. Leaves: mm2. The weights are the job's (`[prices]`): of a tie each mm2
that is seen counts by how it stands out, of a glued piece the outline that lies a little beside its place, of one
that is painted behind its area by the depth it loses, of one that is left out its area.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from layercut.geometry.precision import AREA_MM2
from layercut.geometry.regions import Region, prepared
from layercut.job_tables import PricesJob
from layercut.model import Paint
from layercut.stack.strips import Strip
from layercut.stack.visible_paint import BARE, VisiblePaint, contrast, difference

SHORT_WIDTHS = 3.0
"""A tie up to so many times its width long is short; beyond, each mm2 counts more, in proportion."""

STEP_MM = 0.4
"""Step along a tie at which it is asked what it crosses, mm."""

HIDDEN_MM2_PER_MM = 0.01
"""What a tie's length counts beside what is seen of it: of two hidden ties the shorter."""


@dataclass(frozen=True, slots=True)
class SeenStrip:
    """A strip as a viewer sees it: the seen part in mm2, by the paint that it crosses; which share runs along a line;
    how long it is, and the paints of what it joins, None where an end isn't seen."""

    seen_mm2: float
    length_mm: float
    width_mm: float
    crosses: tuple[tuple[Paint, float], ...]
    along: float
    ends: tuple[Paint | None, ...]

    @property
    def colours(self) -> tuple[Paint, ...]:
        """The paints that the strip may have: those of its ends, each once."""
        return tuple(dict.fromkeys(paint for paint in self.ends if paint is not None))


def price_tie(strip: SeenStrip, paint: Paint, prices: PricesJob) -> float:
    """What a strip in some paint makes wrong, mm2."""
    if strip.seen_mm2 <= AREA_MM2:
        return HIDDEN_MM2_PER_MM * strip.length_mm
    total = sum(area for _, area in strip.crosses) or 1.0
    stands_out = sum(area * contrast(paint, under) for under, area in strip.crosses) / total
    weight = prices.blending + (prices.sky - prices.blending) * stands_out
    weight *= 1 - strip.along * (1 - prices.along)
    seen_length = strip.seen_mm2 / strip.width_mm
    weight *= max(seen_length / (SHORT_WIDTHS * strip.width_mm), 1.0)
    if paint not in strip.colours:
        weight *= prices.strange
    if None in strip.ends:
        weight *= prices.frame
    return strip.seen_mm2 * weight + HIDDEN_MM2_PER_MM * strip.length_mm


def seen_least(strips: Sequence[SeenStrip], prices: PricesJob) -> Paint | None:
    """Of the paints that some strips leave or meet, the one in which all of them together are seen least; of equal
    ones the first. None where no end is painted."""
    offered = dict.fromkeys(paint for strip in strips for paint in strip.colours)

    def seen(paint: Paint) -> tuple[float, float]:
        mm2 = sum(price_tie(strip, paint, prices) for strip in strips)
        # Where all stand out wholly, one still stands out less.
        return mm2, sum(area * difference(paint, under) for strip in strips for under, area in strip.crosses)

    return min(offered, key=seen, default=None)


def price_loose(region: Region, visible_mm: float, risers: int, prices: PricesJob) -> float:
    """A piece that is cut free and glued on, with its risers: what of its outline is seen lies a little astray."""
    return visible_mm * prices.astray + (1 + risers) * prices.gluing if not region.is_empty else 0.0


def price_behind(area_mm2: float, deeper: int, prices: PricesJob) -> float:
    """A piece that is painted on a sheet so many sheets behind its own."""
    return area_mm2 * deeper * prices.flat


def price_out(area_mm2: float, prices: PricesJob) -> float:
    """A piece that is left out."""
    return area_mm2 * prices.missing


@dataclass(frozen=True, slots=True)
class Ground:
    """Where ties of one sheet may be seen: its place from the back, what of it must be open, and the interior."""

    sheet: int
    opening: Region
    interior: Region


def see_strips(
    strips: Sequence[Strip], ground: Ground, visible_paint: VisiblePaint, width_mm: float
) -> list[SeenStrip]:
    """Each strip as a viewer sees it."""
    if not strips:
        return []
    lines = np.array([strip.line for strip in strips], dtype=object)
    owner, points, ways = _along(lines)
    seen = shapely.contains_xy(prepared(ground.opening), *points.T)
    owner, points, ways = owner[seen], points[seen], ways[seen]
    under = visible_paint.at(points, ground.sheet)
    led = visible_paint.led_along(points, ways, ground.sheet) if len(points) else np.zeros(0, dtype=bool)
    ends = _end_paints(lines, ground.interior, visible_paint)
    first = np.searchsorted(owner, np.arange(len(strips) + 1))
    found = []
    for place, strip in enumerate(strips):
        mine = slice(first[place], first[place + 1])
        crosses = _shares(under[mine], visible_paint, strip.visible_mm2)
        found.append(SeenStrip(strip.visible_mm2, strip.length_mm, width_mm, crosses, _mean(led[mine]), ends[place]))
    return found


def _along(lines: NDArray[np.object_]) -> tuple[NDArray[np.int64], NDArray[np.float64], NDArray[np.float64]]:
    """Points along lines a step apart: of which line each is, where, and which way the line runs there."""
    counts = np.maximum(np.ceil(shapely.length(lines) / STEP_MM).astype(int), 1)
    owner = np.repeat(np.arange(len(lines)), counts)
    first = np.cumsum(counts) - counts
    share = (np.arange(len(owner)) - first[owner] + 0.5) / counts[owner]
    points = shapely.get_coordinates(shapely.line_interpolate_point(lines[owner], share, normalized=True))
    ends = np.array([(line.coords[0], line.coords[-1]) for line in lines])
    ways = ends[:, 1] - ends[:, 0]
    ways /= np.maximum(np.hypot(*ways.T), 1e-9)[:, None]
    return owner, points, ways[owner]


def _shares(
    under: NDArray[np.int64], visible_paint: VisiblePaint, visible_mm2: float
) -> tuple[tuple[Paint, float], ...]:
    """The paints that a strip crosses, each with its part of what is seen, mm2."""
    if not len(under):
        return ((BARE, visible_mm2),)
    found, counts = np.unique(under, return_counts=True)
    return tuple(
        (visible_paint.paints[paint], visible_mm2 * count / len(under))
        for paint, count in zip(found.tolist(), counts.tolist(), strict=True)
    )


def _mean(flags: NDArray[np.bool_]) -> float:
    return float(flags.mean()) if len(flags) else 0.0


def _end_paints(
    lines: NDArray[np.object_], interior: Region, visible_paint: VisiblePaint
) -> list[tuple[Paint | None, ...]]:
    """The paints that show at both ends of each line; under the frame there is none."""
    points = np.array([point for line in lines for point in (line.coords[0], line.coords[-1])])
    shown = visible_paint.in_front(points)
    framed = ~shapely.contains_xy(prepared(interior), *points.T)
    paints = [None if under else visible_paint.paints[paint] for paint, under in zip(shown, framed, strict=True)]
    return list(zip(paints[::2], paints[1::2], strict=True))


def outline_seen_mm(region: Region, visible: BaseGeometry) -> float:
    """How much of a piece's outline is seen, mm."""
    return float(shapely.intersection(shapely.boundary(region), shapely.buffer(visible, 1e-3)).length)
