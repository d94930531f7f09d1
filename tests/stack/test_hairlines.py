"""Hairlines: gaps that the beam can't cut are filled in the plan."""

import pytest
import shapely
from shapely import box
from shapely.geometry.base import BaseGeometry

from layercut.geometry.regions import EMPTY
from layercut.stack.hairlines import close_hairlines
from layercut.stack.wood import SheetWood

KERF_MM = 0.15
PANEL = box(0, 0, 50, 30)


def _sheet(*opened: BaseGeometry) -> SheetWood:
    opening = shapely.union_all(list(opened))
    wood = PANEL.difference(opening)
    return SheetWood(wood, wood, opening, EMPTY, EMPTY, wood)


def _ring(gap: float, outer: float = 0.0) -> SheetWood:
    """A gap all around a square piece of 10 mm."""
    hole = box(20 - gap, 10 - gap, 30 + gap, 20 + gap)
    return _sheet(hole.difference(box(20, 10, 30, 20)), *([box(1, 1, 1 + outer, 5)] if outer else []))


def test_a_gap_as_wide_as_the_kerf_stays() -> None:
    sheet = _ring(0.2)
    assert close_hairlines(sheet, KERF_MM) is sheet
    assert len(shapely.get_parts(sheet.wood)) == 2


@pytest.mark.parametrize("gap", [0.01, 0.08, 0.14])
def test_a_narrower_gap_is_filled(gap: float) -> None:
    closed = close_hairlines(_ring(gap), KERF_MM)
    assert len(shapely.get_parts(shapely.GeometryCollection([closed.wood]))) == 1
    assert closed.wood.area == pytest.approx(PANEL.area, abs=1e-6)
    assert closed.opening.area == pytest.approx(0, abs=1e-6)
    assert sum(hair.area for hair in closed.hairlines) == pytest.approx((10 + 2 * gap) ** 2 - 100, rel=0.02)


def test_without_a_kerf_nothing_is_filled() -> None:
    sheet = _ring(0.01)
    assert close_hairlines(sheet, 0.0) is sheet


def test_a_gap_that_is_narrow_at_one_place_is_filled_there_only() -> None:
    """2 mm around the piece, but 0.1 mm at its right: filled there, 10 mm long."""
    hole = box(18, 8, 30.1, 22).difference(box(20, 10, 30, 20))
    closed = close_hairlines(_sheet(hole), KERF_MM)
    (hair,) = closed.hairlines
    assert hair.area == pytest.approx(0.1 * 10, abs=0.05)
    assert hair.bounds[0] == pytest.approx(30, abs=0.01)
    assert closed.wood.geom_type == "Polygon"
    assert closed.opening.area == pytest.approx(hole.area - 1.0, abs=0.05)


def test_a_slit_that_parts_nothing_is_left_to_the_kerf() -> None:
    """It is an opening that closes, which is told when the cuts are made."""
    sheet = _sheet(box(10, 10, 40, 10.05))
    assert close_hairlines(sheet, KERF_MM) is sheet


def test_another_opening_is_left_as_it_is() -> None:
    closed = close_hairlines(_ring(0.1, outer=3), KERF_MM)
    assert closed.opening.area == pytest.approx(12, abs=1e-6)


def test_wood_and_opening_still_tile_the_sheet() -> None:
    closed = close_hairlines(_ring(0.1, outer=3), KERF_MM)
    assert closed.wood.intersection(closed.opening).area < 1e-9
    assert closed.wood.area + closed.opening.area == pytest.approx(PANEL.area, abs=1e-6)
