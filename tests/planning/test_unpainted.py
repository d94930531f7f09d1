"""What is seen and has no paint, however small, but no slivers."""

import pytest
from shapely import Polygon, box, union_all

from layercut.planning.unpainted import unpainted

SEEN = box(0, 0, 60, 40)


def test_all_painted_lacks_nothing() -> None:
    assert unpainted(SEEN, [SEEN]).is_empty
    assert unpainted(SEEN, [box(0, 0, 30, 40), box(30, 0, 60, 40)]).is_empty


@pytest.mark.parametrize("hole", [box(10, 10, 10.2, 10.2), box(9.94, 9.94, 10.06, 10.06), box(5, 5, 25, 30)])
def test_a_hole_is_found_to_its_size(hole: Polygon) -> None:
    found = unpainted(SEEN, [SEEN.difference(hole)])
    assert found.symmetric_difference(hole).area < 1e-6


def test_several_paints_leave_what_none_covers() -> None:
    paints = [box(0, 0, 20, 40), box(22, 0, 60, 40)]
    assert unpainted(SEEN, paints).symmetric_difference(box(20, 0, 22, 40)).area < 1e-6


def test_slivers_between_equal_edges_and_paint_beyond_the_edge_are_nothing() -> None:
    assert unpainted(SEEN, [box(0, 0, 30, 40), box(30 + 1e-9, 0, 60, 40)]).is_empty
    holes = [box(3, 3, 4, 4), box(50, 30, 52, 31)]
    found = unpainted(SEEN, [SEEN.difference(union_all(holes))])
    assert found.area == pytest.approx(3)
