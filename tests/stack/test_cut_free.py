"""Loose pieces lie a gap from all other wood, and lose no more; dust that touches nothing isn't expected."""

import pytest
import shapely
from shapely import MultiPolygon, Point, Polygon, box

from layercut.geometry.regions import Region, polygons_of
from layercut.model import Island, Panel
from layercut.stack.cut_free import cut_free, without_basins, without_scraps
from layercut.stack.islands import Connectivity

GAP_MM = 0.17
OUTLINE, INTERIOR = box(0, 0, 100, 100), box(6, 6, 94, 94)
FRAME = OUTLINE.difference(INTERIOR)
PANEL = Panel(100, 100, 6, OUTLINE, INTERIOR, FRAME)
DISC = Point(50, 50).buffer(10, 32)


def _connectivity(*basins: Polygon, rest: Region = FRAME) -> Connectivity:
    islands = tuple(Island(f"l#{n}", basin, (0.0, 0.0), basin.area, "") for n, basin in enumerate(basins, start=1))
    wood = shapely.union_all([rest, *basins])
    return Connectivity(MultiPolygon(polygons_of(wood)), islands, tuple(basins), (), (), ())


def _cut(connectivity: Connectivity, *ids: str) -> tuple[Region, tuple[Island, ...]]:
    return cut_free(connectivity, frozenset(ids), PANEL, GAP_MM)


def test_nothing_loose_is_the_same_wood() -> None:
    connectivity = _connectivity(DISC)
    wood, cut = _cut(connectivity)
    assert wood is connectivity.wood
    assert cut == ()


def test_a_piece_that_touches_nothing_keeps_all_its_wood() -> None:
    _, (piece,) = _cut(_connectivity(DISC), "l#1")
    assert piece.region.equals(DISC)


@pytest.mark.parametrize("width", [0.3, 1.4])
def test_a_piece_is_parted_from_its_neck_by_the_gap(width: float) -> None:
    stem = box(6, 50 - width / 2, 40.2, 50 + width / 2).difference(DISC)
    wood, (piece,) = _cut(_connectivity(DISC, rest=FRAME.union(stem)), "l#1")
    rest = shapely.difference(wood, piece.region)
    assert shapely.distance(rest, piece.region) == pytest.approx(GAP_MM, abs=0.003)
    assert shapely.difference(FRAME.union(stem), wood).area < 0.001 * 4
    lost = shapely.difference(DISC, piece.region)
    assert 0 < lost.area < (width + 4 * GAP_MM) * GAP_MM * 1.5
    assert len(polygons_of(wood)) == 2


def test_two_pieces_that_hang_together_share_one_gap() -> None:
    left, right = box(30, 40, 50, 60), box(50, 40, 70, 60)
    _, (one, other) = _cut(_connectivity(left, right), "l#1", "l#2")
    assert shapely.distance(one.region, other.region) == pytest.approx(GAP_MM, abs=0.003)
    assert one.area_mm2 + other.area_mm2 == pytest.approx(800 - 20 * GAP_MM, abs=0.1)


def test_what_stays_is_whole_where_only_one_of_two_is_cut() -> None:
    left, right = box(30, 40, 50, 60), box(50, 40, 70, 60)
    wood, (one,) = _cut(_connectivity(left, right), "l#1")
    assert shapely.difference(right, wood).area < 0.001 * 25
    assert one.id == "l#1"


def test_the_frame_is_never_cut() -> None:
    into = box(2, 40, 20, 60)
    wood, (piece,) = _cut(_connectivity(into), "l#1")
    assert shapely.difference(FRAME, wood).area < 1e-9
    assert piece.region.bounds[0] == pytest.approx(6 + GAP_MM, abs=1e-3)


def test_a_crumb_that_would_hang_by_a_hair_goes() -> None:
    hair = shapely.union_all([DISC, box(59.9, 49.999, 60.05, 50.001), box(60.05, 49.9, 60.25, 50.1)])
    _, (piece,) = _cut(_connectivity(hair, rest=FRAME.union(box(49, 6, 51, 40.1).difference(DISC))), "l#1")
    assert piece.region.bounds[2] < 60.06


def test_a_piece_thinner_than_the_gap_is_dropped() -> None:
    sliver = box(30, 40, 30.1, 60)
    wood, cut = _cut(_connectivity(sliver, rest=FRAME.union(box(30.1, 40, 40, 60))), "l#1")
    assert cut == ()
    assert shapely.intersection(wood, box(29, 40, 30.09, 60)).area == 0


def test_without_leaves_no_slivers_along_shared_edges() -> None:
    left = without_basins(box(0, 0, 50, 20), [box(10, 0, 20 + 1e-9, 20)], FRAME.difference(box(0, 0, 50, 20)))
    assert sorted(part.area for part in polygons_of(left)) == pytest.approx([200, 600], abs=0.1)


def test_only_dust_that_touches_nothing_is_not_expected() -> None:
    bar = box(0, 0, 30, 4)
    scraps = (box(50, 0, 50.1, 0.1), box(60, 0, 61, 1), box(30, 0, 30.1, 0.1))
    seen = shapely.union_all([bar, *scraps])
    assert without_scraps(seen, scraps, bar).area == pytest.approx(seen.area - 0.01, abs=1e-6)
