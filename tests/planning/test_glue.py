"""Glue zones: contact drawn in, and something left to glue for small pieces."""

import pytest
from shapely import Point, Polygon, box

from layercut.planning.glue import contact_of, glue_zone

WOOD = box(0, 0, 100, 100)


def test_contact_is_wood_on_wood() -> None:
    assert contact_of(WOOD, box(50, 50, 150, 150)).equals(box(50, 50, 100, 100))
    assert contact_of(WOOD, box(200, 0, 300, 9)).is_empty


def test_the_zone_keeps_the_overlap_off_every_edge_of_the_contact() -> None:
    contact = WOOD.difference(box(40, 40, 60, 60))
    zone = glue_zone(contact, (), 2.0)
    assert contact.contains(zone)
    assert zone.distance(contact.boundary) == pytest.approx(2, abs=0.11)
    assert zone.area == pytest.approx(96 * 96 - 24 * 24, rel=0.01)


def test_without_an_overlap_it_is_all_of_the_contact() -> None:
    assert glue_zone(WOOD, (Point(5, 5).buffer(1),), 0.0).equals(WOOD)


@pytest.mark.parametrize(("radius", "share"), [(1.5, 0.5), (0.7, 0.25), (0.3, 0.0)])
def test_a_piece_too_small_keeps_a_smaller_zone_or_all(radius: float, share: float) -> None:
    """An overlap of 2 mm leaves nothing of it; then a half of that is tried, a quarter, and none."""
    piece = Point(50, 50).buffer(radius)
    zone = glue_zone(piece, (piece,), 2.0)
    assert zone.area == pytest.approx(Point(0, 0).buffer(radius - 2 * share).area, rel=0.35, abs=0.02)
    assert not zone.is_empty


def test_what_is_no_loose_piece_may_go_without() -> None:
    assert glue_zone(box(0, 0, 50, 1), (), 2.0).is_empty
    assert glue_zone(Polygon(), (), 2.0).is_empty
