"""Base, middle and light: where each shade lies, for all regions of the picture at once.

Enters: the regions with their hands, the panel, and how far the middle stays back. Leaves: a `CoatSteps`: for each
pixel of the panel its region, and how far middle and light cover it. Holds: the base fills a region; the middle lies
within it and stays back from its edge by the least of the job's edge and a quarter of the local width; the light
lies within the middle, stays back from that in the same way, and on the side of the lamp.

What is seen of the sheets tiles the picture, so that one map does for all of them: a region ends where another one
begins, be it of its own sheet or of another. Local width is the diameter of the greatest disc within the region that
covers a point, so that the tip of a blade is narrow, and the corner of a wall is not.
"""

from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from layercut.geometry.coverage import Pixels, Window, region_edges, stroke_edges
from layercut.geometry.local_width import MOST_PX, PARTS, Labels, disc_radius, edge_distance
from layercut.geometry.regions import Region
from layercut.job_tables import PaintJob
from layercut.model import Panel
from layercut.planning.fan_dabs import Fan, dab_middles, dab_roots, dab_strokes
from layercut.workplan import CoatSteps, Handed, Workplan

MAP_PX, MOST_PX_PER_MM = 1000, 8.0
"""The longer side of the panel in pixels, and the most pixels to a millimetre: a picture as wide as a page shows no
more, and no brush goes closer than a quarter of a millimetre."""

LEAN = 3.0
"""How far the light reaches from the side of the lamp, in edges: a band, so that most of a large region keeps the
colour as drawn (own choice, by eye)."""

LEAF_LEAN = 6.0
"""The same where it is stippled: leaves take the light in tufts."""

MIDDLE_FAN, LIGHT_FAN = Fan(1.7, 2.2, 0.3, 101), Fan(2.0, 1.8, 0.26, 211)
"""The dabs of the middle, which leave some of the base between them, and those of the light, which are fewer."""

NO_REGION = 0
"""The number of what isn't painted."""


def plan_coats(work: Workplan, panel: Panel, paint: PaintJob) -> CoatSteps:
    """Where base, middle and light of every paint lie."""
    graded = frozenset(colour.number for colour in work.paint.colours if colour.blend or colour.laid)
    return lay_coats(work.hands, panel, paint.edge, graded)


def lay_coats(sheets: Sequence[Sequence[Handed]], panel: Panel, edge_mm: float, graded: frozenset[int]) -> CoatSteps:
    """Where base, middle and light lie; `graded` are the numbers of the paints that are drawn as blends.

    Exact to a pixel, of which there are `MAP_PX` to the longer side of the panel. A region narrower than one has no
    middle of its own.
    """
    regions = [one for sheet in sheets for one in sheet]
    window = _window(panel, edge_mm)
    labels = region_map([one.region for one in regions], window)
    edge_px = edge_mm * window.scale
    solid = middle = set_back(labels, edge_px)
    covered = np.where(solid >= 0.5, labels, NO_REGION).astype(np.int32)
    light = leant(set_back(covered, edge_px), covered, _leans(regions, edge_px))
    blended = _numbered(regions, lambda one: one.hand == "blend")
    if blended.any():
        mixed = _blends(regions, labels, graded)
        light = np.where(blended[labels], mixed * solid, light)
    stippled = _numbered(regions, lambda one: one.hand == "stipple")[labels]
    if stippled.any():
        middle = middle * np.where(stippled, _dabs(stippled, window, MIDDLE_FAN), 1)
        light = light * np.where(stippled, _dabs(stippled, window, LIGHT_FAN), 1)
    light = np.minimum(light, solid)
    places = tuple(place for place, sheet in enumerate(sheets) for _ in sheet)
    return CoatSteps(window, tuple(regions), places, labels, _bytes(middle), _bytes(light))


def region_map(regions: Sequence[Region], window: Window) -> Labels:
    """The number of the region that covers most of each pixel, from 1; `NO_REGION` where what no region covers is
    more. They must not overlap."""
    labels = np.zeros((window.height, window.width), dtype=np.int32)
    most = np.zeros(labels.shape, dtype=np.float32)
    rest = np.ones(labels.shape, dtype=np.float32)
    for number, region in enumerate(regions, start=1):
        if (box := window.part(region)) is None:
            continue
        part, within = box
        covered = region_edges([region], within).covered()
        rest[part] -= covered
        more = covered > most[part]
        most[part][more] = covered[more]
        labels[part][more] = number
    labels[most < rest] = NO_REGION
    return labels


def set_back(labels: Labels, edge_px: float) -> Pixels:
    """How far each pixel is covered by what stays back from its region's edge, 0 to 1: from half on it counts.

    That is by `edge_px`, but never by more than a quarter of the local width; `NO_REGION` is never covered.
    """
    distance = edge_distance(labels, min(2 * edge_px + 1, MOST_PX))
    back = np.minimum(np.float32(edge_px), disc_radius(distance) * np.float32(0.5 / PARTS))
    cover = np.clip(distance * np.float32(1 / PARTS) - back + np.float32(0.5), 0, 1)
    return np.asarray(cover * (labels != NO_REGION), dtype=np.float32)


def leant(cover: Pixels, labels: Labels, lean_px: NDArray[np.int64]) -> Pixels:
    """What of a cover lies on the side of the lamp, which stands at the top left: within a distance of the edge that
    faces it. `lean_px`, by the number of the region, is that distance right and down."""
    shaded = np.zeros_like(cover)
    for step in np.unique(lean_px[lean_px > 0]).tolist():
        moved = np.zeros_like(cover)
        here, there = (slice(step, None), slice(step, None)), (slice(None, -step), slice(None, -step))
        moved[here] = cover[there] * (labels[here] == labels[there])
        shaded = np.where((lean_px == step)[labels], moved, shaded)
    return cover * (1 - shaded)


def _leans(regions: Sequence[Handed], edge_px: float) -> NDArray[np.int64]:
    """How far each region's light reaches right and down, pixels, by its number."""
    reach = [(LEAF_LEAN if one.hand == "stipple" else LEAN) * edge_px / 2**0.5 for one in regions]
    return np.array([1, *(max(round(one), 1) for one in reach)], dtype=np.int64)


def _blends(regions: Sequence[Handed], labels: Labels, graded: frozenset[int]) -> Pixels:
    """How much light is worked into what is blended wet in wet: in a flat colour from none to all of it towards the
    horizon, in a blend as drawn none, since that holds its light already."""
    height = labels.shape[0]
    rows = np.arange(height, dtype=np.float32)[:, None]
    first, last = np.zeros(len(regions) + 1, np.float32), np.ones(len(regions) + 1, np.float32)
    depth = np.zeros(len(regions) + 1, np.float32)
    for number, one in enumerate(regions, start=1):
        if one.hand != "blend" or one.number in graded:
            continue
        seen = np.flatnonzero((labels == number).any(axis=1))
        if len(seen):
            top, bottom = float(seen[0]), float(seen[-1] + 1)
            first[number], last[number] = (bottom, top) if one.upwards else (top, bottom)
            depth[number] = 1
    along = np.clip((rows + 0.5 - first[labels]) / (last - first)[labels], 0, 1)
    return np.asarray(depth[labels] * along, dtype=np.float32)


def _dabs(stippled: NDArray[np.bool_], window: Window, fan: Fan) -> Pixels:
    """How far dabs cover each pixel, where anything is stippled."""
    height, width = stippled.shape
    (left, top), (right, bottom) = window.to_mm(np.array([(0.0, 0.0), (width, height)])).tolist()
    roots = dab_roots((left, top, right, bottom), fan)
    at = np.floor(window.to_pixels(dab_middles(roots, fan))).astype(np.int64)
    inside = (at >= 0).all(axis=1) & (at < (width, height)).all(axis=1)
    roots, at = roots[inside], at[inside]
    near = _widened(stippled, max(round(fan.length_mm * window.scale), 1))
    strokes = dab_strokes(roots[near[at[:, 1], at[:, 0]]], fan)
    return np.clip(stroke_edges(list(strokes), np.full(len(strokes), fan.width_mm), window).covered(), 0, 1)


def _widened(mask: NDArray[np.bool_], px: int) -> NDArray[np.bool_]:
    """A mask grown by some pixels, as a square: dabs thrown from beside a region reach into it."""
    grown = mask
    for axis in (0, 1):
        sums = np.cumsum(
            np.pad(grown, [(px + 1, px) if k == axis else (0, 0) for k in (0, 1)]), axis=axis, dtype=np.int32
        )
        high = np.take(sums, np.arange(2 * px + 1, sums.shape[axis]), axis=axis)
        grown = high > np.take(sums, np.arange(sums.shape[axis] - 2 * px - 1), axis=axis)
    return grown


def _numbered(regions: Sequence[Handed], which: Callable[[Handed], bool]) -> NDArray[np.bool_]:
    return np.array([False, *map(which, regions)])


def _bytes(cover: Pixels) -> NDArray[np.uint8]:
    return (cover * 255 + 0.5).astype(np.uint8)


def _window(panel: Panel, edge_mm: float) -> Window:
    """The panel in pixels: fewer where the edge is so broad that one would have to look too far for it."""
    longer = max(panel.width_mm, panel.height_mm)
    scale = min(MAP_PX / longer, MOST_PX_PER_MM, (MOST_PX - 1) / (2 * max(edge_mm, 0.01)))
    width, height = (max(int(np.ceil(side * scale)), 1) for side in (panel.width_mm, panel.height_mm))
    return Window(width, height, scale)
