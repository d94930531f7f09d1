"""How far paint reaches under the sheet in front, and whose paint that is."""

import pytest
from shapely import Polygon, box, union_all

from layercut.planning.paint_overlap import BRUSH_MM, coarse, reach_under, share_out

WOOD = box(0, 0, 100, 100)
SEEN = box(0, 0, 100, 40)


def test_the_reach_is_the_covered_wood_within_the_overlap() -> None:
    assert reach_under(SEEN, WOOD, 2.0).symmetric_difference(box(0, 40, 100, 42)).area < 0.1
    assert reach_under(SEEN, box(0, 0, 100, 41), 2.0).area == pytest.approx(100, rel=0.01)


def test_nothing_reaches_without_an_overlap_or_without_anything_to_see() -> None:
    assert reach_under(SEEN, WOOD, 0.0).is_empty
    assert reach_under(Polygon(), WOOD, 2.0).is_empty


def test_a_coarse_region_is_as_exact_as_a_brush() -> None:
    disc = box(50, 50, 50, 50).buffer(30, quad_segs=400)
    assert disc.hausdorff_distance(coarse(disc)) <= BRUSH_MM
    assert len(coarse(disc).exterior.coords) < len(disc.exterior.coords) / 4


def test_a_strip_goes_to_the_face_drawn_there_else_to_the_nearest_paint() -> None:
    left, right = box(0, 0, 50, 40), box(50, 0, 100, 40)
    strip = reach_under(SEEN, WOOD, 2.0)
    wide = box(0, 0, 70, 60)  # the left one's face is drawn on under the sheet in front, over the right one's side
    drawn = share_out(strip, (left, right), (wide, right), union_all([wide, right]), 2.0)
    assert [round(share.area) for share in drawn] == [140, 60]
    nearest = share_out(strip, (left, right), (left, right), SEEN, 2.0)
    assert sum(share.area for share in nearest) == pytest.approx(strip.area, rel=1e-3)
    assert nearest[0].area == pytest.approx(100, abs=5)


def test_shares_overlap_nowhere_and_one_paint_takes_all() -> None:
    strip = reach_under(SEEN, WOOD, 2.0)
    thirds = [box(33 * k, 0, 33 * k + 33, 40) for k in range(3)]
    shares = share_out(strip, thirds, thirds, union_all(thirds), 2.0)
    assert union_all(shares).area == pytest.approx(sum(share.area for share in shares), abs=0.01)
    assert share_out(strip, [SEEN], [SEEN], SEEN, 2.0) == [strip]
