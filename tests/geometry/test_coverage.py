"""Coverage worked out without a renderer: exact areas, seamless where regions meet."""

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely import LineString, MultiPolygon, Polygon, box

from layercut.geometry.coverage import BAND, Window, region_edges, stroke_edges
from layercut.geometry.regions import EMPTY

WINDOW = Window(20, 12, 2.0, -1.0, -0.5)  # 10 by 6 mm


def exact(region: shapely.Geometry) -> np.ndarray:
    """Every pixel's covered part by cutting its square out of the region."""
    parts = np.empty((WINDOW.height, WINDOW.width))
    for row in range(WINDOW.height):
        for column in range(WINDOW.width):
            x, y = WINDOW.x_mm + column / WINDOW.scale, WINDOW.y_mm + row / WINDOW.scale
            pixel = box(x, y, x + 1 / WINDOW.scale, y + 1 / WINDOW.scale)
            parts[row, column] = region.intersection(pixel).area * WINDOW.scale**2
    return parts


@pytest.mark.parametrize(
    "region",
    [
        box(0.1, 0.2, 3.33, 4.44),
        Polygon([(0, 0), (7.3, 1.1), (2.2, 5.9)], [[(1, 1), (3, 1.2), (2, 3)]]),
        MultiPolygon([box(0, 0, 1, 1), shapely.Point(5, 3).buffer(1.7)]),
        box(-50, -50, 50, 50),  # all of the window and more
        box(-50, 1.3, 2.1, 50),  # reaches in from outside
        shapely.Point(9, 5.5).buffer(3),  # over two of its sides
        box(30, 30, 40, 40),
    ],
)
def test_coverage_is_the_exact_area(region: shapely.Geometry) -> None:
    assert region_edges([region], WINDOW).covered() == pytest.approx(exact(region), abs=1e-5)


def test_nothing_covers_nothing() -> None:
    assert region_edges([], WINDOW).covered().max() == 0
    assert region_edges([EMPTY, box(0, 0, 1, 1)], WINDOW).covered(np.array([1.0, 0.0])).max() == 0
    assert stroke_edges([], np.empty(0), WINDOW).covered().max() == 0
    assert stroke_edges([LineString([(1, 1), (1, 1)])], np.ones(1), WINDOW).covered().max() == 0


def thousandths(least: float, most: float) -> st.SearchStrategy[float]:
    """Places on the grid of 0.001 mm, as all regions lie; nearer ones GEOS itself doesn't node into tiles."""
    return st.integers(round(1000 * least), round(1000 * most)).map(lambda place: place / 1000)


@given(st.lists(st.tuples(thousandths(-1, 9), thousandths(-0.5, 5.5)), min_size=2, max_size=6))
def test_regions_that_tile_leave_no_seam(points: list[tuple[float, float]]) -> None:
    whole = box(-1, -0.5, 9, 5.5)
    cuts = LineString([(-2, 2), *points, (10, 3)])
    parts = list(shapely.polygonize([shapely.node(shapely.union_all([whole.exterior, cuts]))]).geoms)
    assert region_edges(parts, WINDOW).covered() == pytest.approx(np.ones((12, 20)), abs=1e-4)


def test_weights_are_those_of_the_owners() -> None:
    covered = region_edges([box(-1, -0.5, 4, 5.5), box(4, -0.5, 9, 5.5)], WINDOW).covered(np.array([10.0, 30.0]))
    assert covered[:, :10] == pytest.approx(np.full((12, 10), 10), abs=1e-4)
    assert covered[:, 10:] == pytest.approx(np.full((12, 10), 30), abs=1e-4)


def test_a_stroke_covers_its_width() -> None:
    line = LineString([(0, 1), (4, 4)])
    covered = stroke_edges([line], np.array([0.6]), WINDOW).covered()
    assert covered == pytest.approx(exact(line.buffer(0.3, cap_style="flat")), abs=1e-5)


def test_bands_go_on_where_the_one_above_ends() -> None:
    """Edges that lie in one band, cross into the next, and reach over all of them."""
    window = Window(30, 3 * BAND - 7, 2.0)
    regions = [box(1.3, 0.7, 4.1, 93.3), box(5.2, BAND / 2 - 3, 9.7, BAND / 2 + 0.1), box(10, 3, 14, 60)]
    edges = region_edges(regions, window)
    bands = list(edges.bands())
    assert [len(band) for band in bands] == [BAND, BAND, BAND - 7]
    covered = np.concatenate(bands)
    assert covered.sum() / 4 == pytest.approx(sum(region.area for region in regions) - 2.8 * 0.8, rel=1e-5)
    assert covered[-2, 4] == 1
    assert covered[BAND, 12] == pytest.approx(0.2, abs=1e-5)
    assert covered[BAND + 1, 12] == pytest.approx(0, abs=1e-6)
