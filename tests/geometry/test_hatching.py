"""Hatching against long lines that another overlay cuts off."""

import math

import numpy as np
import pytest
import shapely
from shapely import LineString, MultiPolygon, Point, Polygon, box

from layercut.geometry.hatching import LEAST_PITCHES, hatch_lines
from layercut.geometry.regions import EMPTY, Region

RING = Polygon(Point(20, 20).buffer(15).exterior, [Point(22, 19).buffer(6).exterior])
REGIONS: dict[str, Region] = {
    "square": box(0, 0, 10, 10),
    "ring": RING,
    "two": MultiPolygon([box(-5, -8, 3, 2), box(30, 30, 31, 70)]),
    "comb": Polygon([(0, 0), (40, 0), *((x, 8 if x % 2 else 30) for x in range(40, -1, -1))]),
}


def overlaid(region: Region, pitch: float, angle: float) -> float:
    """How long the rows through a region are, by cutting each of them off."""
    turn = math.radians(angle)
    along, across = np.array([math.cos(turn), math.sin(turn)]), np.array([-math.sin(turn), math.cos(turn)])
    length = 0.0
    for row in range(-200, 200):
        middle = (row + 0.5) * pitch * across
        cut = shapely.intersection(LineString([middle - 300 * along, middle + 300 * along]), region)
        length += sum(part.length for part in shapely.get_parts(cut) if part.length >= LEAST_PITCHES * pitch)
    return length


@pytest.mark.parametrize("angle", [0.0, 45.0, 100.0])
@pytest.mark.parametrize("name", list(REGIONS))
def test_rows_are_those_that_an_overlay_cuts_off(name: str, angle: float) -> None:
    lines = hatch_lines(REGIONS[name], 1.4, angle)
    assert shapely.length(lines).sum() == pytest.approx(overlaid(REGIONS[name], 1.4, angle), abs=1e-6)
    outside = shapely.difference(shapely.multilinestrings(list(lines)), shapely.buffer(REGIONS[name], 1e-6))
    assert outside.length == 0


def test_regions_that_meet_are_hatched_as_one() -> None:
    halves = [hatch_lines(box(0, 0, 10, 20), 1.5), hatch_lines(box(10, 0, 25, 20), 1.5)]
    whole = hatch_lines(box(0, 0, 25, 20), 1.5)
    apart = shapely.union_all(np.concatenate(halves))
    # A corner's dot may be left out of a half; nothing else may differ.
    assert shapely.line_merge(apart).length == pytest.approx(shapely.length(whole).sum(), abs=4 * LEAST_PITCHES * 1.5)


def test_nothing_of_nothing() -> None:
    assert len(hatch_lines(EMPTY, 1.4)) == 0
