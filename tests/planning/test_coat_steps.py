"""Where base, middle and light lie: the law of the dark edge, the lean of the light, dabs and blends."""

from dataclasses import replace

import numpy as np
import pytest
import shapely
from numpy.typing import NDArray
from scenes import Scenes
from shapely import Point, Polygon, affinity, box

from layercut.geometry.coverage import Window
from layercut.geometry.regions import Region
from layercut.job_values import PaintHand
from layercut.model import Panel
from layercut.planning.coat_steps import lay_coats, region_map, set_back
from layercut.workplan import CoatSteps, Handed

EDGE = 0.8
LOOKED_AT = 80
"""Points of a border at which the law is tried."""
WEDGE = Polygon([(10, 10), (60, 14), (10, 18)])
SHAPES = {
    "wide": box(10, 10, 60, 50),
    "bar": box(10, 10, 60, 12),
    "turned bar": affinity.rotate(box(10, 20, 60, 21.4), 31),
    "wedge": WEDGE,
    "disc": Point(30, 30).buffer(12),
    "ring": Point(30, 30).buffer(12).difference(Point(30, 30).buffer(10.5)),
    "two rooms": shapely.union_all([box(10, 10, 25, 25), box(25, 16, 45, 17.6), box(45, 10, 60, 25)]),
    "star": Polygon([(30, 10), (34, 27), (52, 30), (34, 33), (30, 50), (26, 33), (8, 30), (26, 27)]),
}


@pytest.fixture(scope="module")
def panel(scenes: Scenes) -> Panel:
    """100 x 100 mm, at eight pixels to a millimetre."""
    return scenes.make(scenes.drawing([scenes.shape(scenes.ground())])).stack.panel


@pytest.fixture(scope="module")
def small(panel: Panel) -> Panel:
    """The same corner of a smaller panel, which takes less time."""
    return replace(panel, width_mm=65.0, height_mm=55.0)


def laid(
    panel: Panel, region: Region, hand: PaintHand = "flat", edge: float = EDGE, upwards: bool = False
) -> CoatSteps:
    return lay_coats([[Handed(1, hand, region, upwards)]], panel, edge, frozenset())


def widths(region: Region, points: NDArray[np.float64], within: float) -> NDArray[np.float64]:
    """The local width at points of a region, by its definition: the diameter of the greatest disc in it that covers
    the point, of discs around a fine grid of middles near it; none wider than twice `within` is looked for."""
    steps = np.arange(-within, within, 0.07)
    around = np.stack(np.meshgrid(steps, steps), axis=-1).reshape(-1, 2)
    found = np.zeros(len(points))
    for place, point in enumerate(points):
        middles = point + around
        middles = middles[shapely.contains_xy(region, middles)]
        radius = np.minimum(shapely.distance(shapely.points(middles), region.boundary), within)
        covers = np.hypot(*(middles - point).T) <= radius
        found[place] = 2 * radius[covers].max(initial=0.0)
    return found


def border(mask: NDArray[np.bool_], window: Window) -> NDArray[np.float64]:
    """The middles of the pixels of a mask that lie beside one that isn't of it, mm."""
    padded = np.pad(mask, 1)
    inner = padded[:-2, 1:-1] & padded[2:, 1:-1] & padded[1:-1, :-2] & padded[1:-1, 2:]
    rows, columns = np.nonzero(mask & ~inner)
    return window.to_mm(np.column_stack((columns, rows)).astype(float) + 0.5)


@pytest.mark.parametrize("name", SHAPES)
def test_the_middle_stays_back_by_the_edge_or_a_quarter_of_the_width(small: Panel, name: str) -> None:
    """Along all of the middle's border: no further back than the least of both, and no nearer."""
    region = SHAPES[name]
    steps = laid(small, region)
    pixel = 1 / steps.window.scale
    points = border(steps.middle >= 128, steps.window)
    assert len(points) > LOOKED_AT
    points = points[:: len(points) // LOOKED_AT]
    back = shapely.distance(shapely.points(points), region.boundary)
    wide = widths(region, points, 2 * EDGE + pixel)
    assert (back <= np.minimum(EDGE, wide / 4) + 1.5 * pixel).all()
    assert (back >= np.minimum(EDGE, wide / 4) - 1.5 * pixel).all()


@pytest.mark.parametrize("width_mm", [0.3, 0.5, 0.8, 1.6, 3.2, 8.0])
def test_a_bar_keeps_half_its_width_or_all_but_two_edges(small: Panel, width_mm: float) -> None:
    steps = laid(small, box(10, 10, 60, 10 + width_mm))
    across = (steps.middle[:, 280] >= 128).sum() / steps.window.scale
    # Each of its two edges is exact to less than a pixel.
    assert across == pytest.approx(max(width_mm / 2, width_mm - 2 * EDGE), abs=1.9 / steps.window.scale)


@pytest.mark.parametrize("name", SHAPES)
@pytest.mark.parametrize("hand", ["flat", "stipple", "blend"])
def test_light_lies_in_the_middle_and_the_middle_in_the_base(small: Panel, name: str, hand: PaintHand) -> None:
    steps = laid(small, SHAPES[name], hand)
    solid = set_back(steps.labels, EDGE * steps.window.scale) * 255 + 1
    assert (steps.middle <= solid).all()
    assert (steps.light <= solid).all()
    assert not steps.middle[steps.labels == 0].any()
    assert (steps.middle > 0).any()
    if hand == "flat":
        assert (steps.light <= steps.middle).all()


def test_no_region_is_without_a_middle_down_to_two_pixels(panel: Panel) -> None:
    """In whatever direction it lies, and wherever it begins within a pixel."""
    bars = [
        affinity.rotate(box(x, y, x + 6, y + 0.25), 15 * place)
        for place in range(12)
        for x, y in [(8 + 7 * place + 0.03 * row, 10 + 8 * row + 0.03 * row) for row in range(4)]
    ]
    steps = lay_coats([[Handed(1, "flat", bar) for bar in bars]], panel, EDGE, frozenset())
    assert set(steps.labels[steps.middle >= 128].tolist()) == set(range(1, len(bars) + 1))


def test_light_leans_to_the_lamp(small: Panel) -> None:
    """At the top left of a square and a disc, further from the edge than the middle is, and on less than half."""
    for region in (box(20, 20, 50, 50), Point(35, 35).buffer(15)):
        steps = laid(small, region)
        rows, columns = np.nonzero(steps.light >= 128)
        x, y = steps.window.to_mm(np.column_stack((columns, rows)).astype(float) + 0.5).T
        assert x.mean() < 34
        assert y.mean() < 34
        assert 0 < len(rows) < 0.5 * (steps.middle >= 128).sum()
        back = shapely.distance(shapely.points(x, y), region.boundary)
        assert back.min() >= 2 * EDGE - 1.5 / steps.window.scale


def test_a_region_ends_where_another_begins_on_whatever_sheet(panel: Panel) -> None:
    left, right = box(10, 10, 40, 40), box(40, 10, 70, 40)
    apart = lay_coats([[Handed(1, "flat", left)], [Handed(1, "flat", right)]], panel, EDGE, frozenset())
    assert not (apart.middle[200, 315:325] >= 128).any()
    joined = laid(panel, shapely.union(left, right))
    assert (joined.middle[200, 315:325] >= 128).all()
    assert apart.of_sheet(0).tolist() == [False, True, False]
    assert apart.of_sheet(1).tolist() == [False, False, True]


def test_no_edge_no_setback(panel: Panel) -> None:
    steps = laid(panel, SHAPES["wide"], edge=0.0)
    assert (steps.middle[steps.labels == 1] >= 128).all()


def test_a_broad_edge_takes_fewer_pixels_and_keeps_the_law(panel: Panel) -> None:
    steps = laid(panel, box(10, 10, 90, 90), edge=4.0)
    assert steps.window.scale < 8
    inside = (steps.middle >= 128).sum() / steps.window.scale**2
    assert inside == pytest.approx(72**2, rel=0.02)


def test_dabs_leave_base_between_them_and_stay_where_they_are(panel: Panel) -> None:
    """Half or so of a leaf is dabbed; what is painted elsewhere moves no dab of it."""
    leaf = box(10, 10, 50, 50)
    alone = laid(panel, leaf, "stipple")
    solid = laid(panel, leaf).middle.astype(float).sum()
    assert 0.35 < alone.middle.astype(float).sum() / solid < 0.75
    assert 0 < alone.light.astype(float).sum() < 0.5 * alone.middle.astype(float).sum()
    more = [
        Handed(1, "stipple", leaf),
        Handed(2, "stipple", box(55, 10, 90, 90)),
        Handed(3, "flat", box(10, 60, 50, 90)),
    ]
    beside = lay_coats([more], panel, EDGE, frozenset())
    mine = beside.labels == 1
    assert np.array_equal(alone.middle[mine], beside.middle[mine])
    assert np.array_equal(alone.light[mine], beside.light[mine])


def test_wet_in_wet_grows_lighter_to_the_horizon(panel: Panel) -> None:
    sky, sea = (
        laid(panel, box(10, 10, 90, 60), "blend", upwards=up).light[:, 400].astype(int) for up in (False, True)
    )
    inside = slice(100, 460)
    assert (np.diff(sky[inside]) >= 0).all()
    assert (np.diff(sea[inside]) <= 0).all()
    assert sky[460] - sky[100] > 200
    assert sea[100] - sea[460] > 200


def test_a_blend_as_drawn_has_its_light_already(panel: Panel) -> None:
    steps = lay_coats([[Handed(1, "blend", box(10, 10, 90, 60))]], panel, EDGE, frozenset({1}))
    assert not steps.light.any()
    assert (steps.middle >= 128).any()


def test_a_pixel_belongs_to_what_covers_most_of_it() -> None:
    window = Window(4, 1, 1.0)
    regions = [box(0, 0, 1.4, 1), box(1.4, 0, 2.7, 1)]
    assert region_map(regions, window).tolist() == [[1, 2, 2, 0]]


def test_nothing_painted_gives_nothing(panel: Panel) -> None:
    steps = lay_coats([[], []], panel, EDGE, frozenset())
    assert not steps.labels.any()
    assert not steps.middle.any()
    assert not steps.light.any()
