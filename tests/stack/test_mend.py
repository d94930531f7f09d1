"""Wood that had to go while pieces were parted is given back; crumbs are left out."""

import pytest
import shapely
from shapely import MultiPolygon, Polygon, box

from layercut.geometry.regions import polygons_of
from layercut.model import Island
from layercut.stack.mend import drop_crumbs, give_back, pieces_as_cut, without_dust

BAR = box(0, 0, 30, 4)
GAP_MM = 0.17


def test_a_cut_through_one_piece_is_closed_again() -> None:
    ring = box(0, 0, 20, 20).difference(box(5, 5, 15, 15))
    cut = ring.difference(box(0, 9, 5, 11))
    assert give_back(cut, ring, GAP_MM).area == pytest.approx(ring.area, abs=1e-3)


@pytest.mark.parametrize("width", [0.5, 2.0])
def test_between_two_pieces_no_more_than_the_gap_is_left(width: float) -> None:
    parted = BAR.difference(box(15 - width / 2, -1, 15 + width / 2, 5))
    mended = give_back(parted, BAR, GAP_MM)
    left, right = polygons_of(mended)
    assert left.distance(right) == pytest.approx(GAP_MM, abs=0.002)


def test_a_gap_as_narrow_as_the_beam_stays() -> None:
    parted = BAR.difference(box(15, -1, 15 + GAP_MM, 5))
    assert give_back(parted, BAR, GAP_MM).area == pytest.approx(parted.area, abs=1e-2)
    assert len(polygons_of(give_back(parted, BAR, GAP_MM))) == 2


def test_what_touches_no_wood_stays_away() -> None:
    alone = box(50, 0, 51, 1)
    assert give_back(BAR, MultiPolygon([BAR, alone]), GAP_MM).equals(BAR)


def test_wood_without_loss_is_the_same_wood() -> None:
    assert give_back(BAR, BAR, GAP_MM) is BAR
    assert drop_crumbs(BAR) is BAR


def test_a_crumb_that_hangs_by_a_hair_goes_and_the_rest_stays() -> None:
    hair = shapely.union_all([BAR, box(30, 1.999, 30.05, 2.001), box(30.05, 1.9, 30.25, 2.1)])
    kept = drop_crumbs(hair)
    assert isinstance(kept, Polygon)
    assert kept.bounds[2] < 30.06
    assert kept.area == pytest.approx(BAR.area, abs=0.01)


def test_a_small_piece_of_its_own_is_no_crumb() -> None:
    wood = MultiPolygon([BAR, box(40, 0, 40.2, 0.2)])
    assert drop_crumbs(wood) is wood


def test_only_dust_that_touches_nothing_is_not_expected() -> None:
    scraps = (box(50, 0, 50.1, 0.1), box(60, 0, 61, 1), box(30, 0, 30.1, 0.1))
    seen = shapely.union_all([BAR, *scraps])
    expected = without_dust(seen, scraps, BAR)
    assert expected.area == pytest.approx(seen.area - 0.01, abs=1e-6)


def test_a_loose_island_is_its_piece_of_the_wood() -> None:
    island = Island("leaf#1", box(0, 0, 10, 4), (10.0, 2.0), 40.0, "path 'leaf'")
    (cut,) = pieces_as_cut([island], BAR)
    assert cut.region.equals(BAR)
    assert cut.area_mm2 == pytest.approx(120.0)
