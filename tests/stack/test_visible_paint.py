"""Which paint a viewer sees at a place, and along which lines the eye is led there."""

import numpy as np
import pytest
from numpy.typing import NDArray
from shapely import LineString, Polygon, box

from layercut.model import Layer, Paint, PaintedRegion, Shape
from layercut.stack.visible_paint import BARE, STANDS_OUT, VisiblePaint, contrast, difference

SKY, HILL, ROSE = Paint("#bcd7e6"), Paint("#668844"), Paint("#cc2222")
PAINTED = [
    [PaintedRegion(SKY, box(0, 0, 100, 80))],
    [PaintedRegion(HILL, box(0, 50, 100, 70))],
    [PaintedRegion(ROSE, box(40, 40, 60, 60))],
]
IN_SKY, ON_HILL, ON_ROSE, NOWHERE = [10.0, 10.0], [10.0, 60.0], [50.0, 55.0], [10.0, 95.0]
POINTS = np.array([IN_SKY, ON_HILL, ON_ROSE, NOWHERE])


def _shown(picture: VisiblePaint, found: NDArray[np.int64]) -> list[Paint]:
    return [picture.paints[index] for index in found.tolist()]


def test_the_front_most_paint_shows_and_bare_wood_where_there_is_none() -> None:
    picture = VisiblePaint((), PAINTED)
    assert _shown(picture, picture.in_front(POINTS)) == [SKY, HILL, ROSE, BARE]


def test_behind_a_sheet_only_those_behind_it_show() -> None:
    picture = VisiblePaint((), PAINTED)
    assert _shown(picture, picture.at(POINTS, 2)) == [SKY, HILL, HILL, BARE]
    assert _shown(picture, picture.at(POINTS, 1)) == [SKY, SKY, SKY, BARE]
    assert _shown(picture, picture.at(POINTS, 0)) == [BARE] * 4


def test_a_sheet_has_its_paint_whether_covered_or_not() -> None:
    picture = VisiblePaint((), PAINTED)
    assert _shown(picture, picture.on(POINTS, 1)) == [BARE, HILL, HILL, BARE]


def test_no_points_have_no_paint() -> None:
    assert VisiblePaint((), PAINTED).in_front(np.zeros((0, 2))).tolist() == []


@pytest.mark.parametrize(
    ("place", "angle", "led"),
    [
        ([20.0, 50.5], 0, True),  # beside the hill's edge, along it
        ([20.0, 50.5], 20, True),
        ([20.0, 50.5], 30, False),  # it turns away
        ([20.0, 50.5], 90, False),
        ([20.0, 50.5], 180, True),  # either way along
        ([20.0, 48.5], 0, False),  # too far from it
    ],
)
def test_an_edge_beside_a_tie_leads_the_eye(place: list[float], angle: float, led: bool) -> None:
    way = [np.cos(np.radians(angle)), np.sin(np.radians(angle))]
    found = VisiblePaint((), PAINTED).led_along(np.array([place]), np.array([way]), 2)
    assert found.tolist() == [led]


def test_a_drawn_line_leads_as_well_but_only_from_behind() -> None:
    twig = Shape("mark-line", LineString([(0, 20), (100, 20)]), SKY, "a path")
    empty = Shape("mark-line", LineString(), SKY, "a path")
    picture = VisiblePaint((Layer("sky", (twig, empty)), Layer("hill", ()), Layer("roses", ())), PAINTED)
    here, along = np.array([[50.0, 20.3]]), np.array([[1.0, 0.0]])
    assert picture.led_along(here, along, 1).tolist() == [True]
    assert picture.led_along(here, along, 0).tolist() == [False]


def test_differences_are_ciede2000() -> None:
    """Black and white differ by 100 (Sharma, Wu, Dalal 2005); a paint doesn't differ from itself."""
    black, white = Paint("#000000"), Paint("#ffffff")
    assert difference(black, white) == pytest.approx(100, abs=1e-3)
    assert difference(ROSE, ROSE) == 0
    assert difference(SKY, HILL) == pytest.approx(difference(HILL, SKY))


def test_contrast_is_a_share_of_what_stands_out() -> None:
    near = Paint("#c2d4dc")
    assert contrast(Paint("#000000"), Paint("#ffffff")) == 1
    assert contrast(SKY, near) == pytest.approx(difference(SKY, near) / STANDS_OUT)
    assert 0 < contrast(SKY, near) < 1


def test_paint_of_nothing_is_nowhere() -> None:
    picture = VisiblePaint((), [[PaintedRegion(SKY, Polygon())]])
    assert _shown(picture, picture.in_front(POINTS)) == [BARE] * 4
