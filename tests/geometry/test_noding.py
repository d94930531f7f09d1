"""Noding: cells are what the outlines bound, and of covered outlines only what shows is needed."""

from collections.abc import Callable

import numpy as np
import pytest
import shapely
from shapely import LineString, Point, Polygon, box

from layercut.geometry.noding import cells_between, cells_on_grid, open_outlines, outlines

DISCS = [Point(x, y).buffer(r, quad_segs=16) for x, y, r in ((0, 0, 9), (4, 1, 6), (10, 3, 5), (5, 5, 4), (-3, 2, 2))]


def _array(regions: list[Polygon]) -> np.ndarray:
    return np.array(regions, dtype=object)


def _crowd(seed: int) -> list[Polygon]:
    rng = np.random.default_rng(seed)
    return [
        Point(*rng.uniform(0, 30, 2)).buffer(rng.uniform(1, 8), quad_segs=int(rng.integers(2, 24))) for _ in range(30)
    ]


@pytest.mark.parametrize("seed", range(6))
def test_all_that_shows_of_the_outlines_is_there(seed: int) -> None:
    regions = _crowd(seed)
    drawn = shapely.union_all(open_outlines(_array(regions)))
    for index, region in enumerate(regions):
        shown = shapely.difference(region.boundary, shapely.union_all(regions[index + 1 :]))
        missing = shapely.difference(shown, drawn.buffer(1e-9))
        assert missing.length < 1e-6


@pytest.mark.parametrize("seed", range(6))
def test_most_of_what_is_covered_is_left_out(seed: int) -> None:
    regions = _crowd(seed)
    whole = sum(region.length for region in regions)
    shown = sum(
        shapely.difference(region.boundary, shapely.union_all(regions[index + 1 :])).length
        for index, region in enumerate(regions)
    )
    drawn = float(shapely.length(open_outlines(_array(regions))).sum())
    assert shown - 1e-6 < drawn < shown + 0.6 * (whole - shown)


def test_a_region_wholly_under_a_later_one_is_left_out() -> None:
    small, large = Point(0, 0).buffer(1), Point(0.5, 0).buffer(5)
    assert shapely.union_all(open_outlines(_array([small, large]))).equals(large.boundary)
    assert shapely.length(open_outlines(_array([large, small]))).sum() == pytest.approx(large.length + small.length)


def test_an_edge_shared_with_a_later_region_stays() -> None:
    lines = open_outlines(_array([box(0, 0, 5, 5), box(0, 0, 10, 10)]))
    assert shapely.covers(shapely.union_all(lines), LineString([(0, 5), (0, 0), (5, 0)]))


def test_holes_are_outlines_too() -> None:
    ring = box(0, 0, 10, 10).difference(box(4, 4, 6, 6))
    assert shapely.length(open_outlines(_array([ring]))).sum() == pytest.approx(48)
    assert shapely.length(open_outlines(_array([ring, box(3, 3, 7, 7)]))).sum() == pytest.approx(40 + 16)


def test_nothing_gives_nothing() -> None:
    assert len(open_outlines(_array([]))) == 0
    assert len(cells_between(open_outlines(_array([Polygon()])))) == 0


@pytest.mark.parametrize("noded", [cells_between, cells_on_grid])
def test_cells_tile_what_the_outlines_bound(noded: Callable[[np.ndarray], np.ndarray]) -> None:
    cells = noded(outlines(_array(DISCS)))
    assert shapely.coverage_is_valid(cells)
    assert shapely.area(cells).sum() == pytest.approx(shapely.union_all(DISCS).area, rel=1e-3)


def test_edges_that_floating_point_cannot_node_are_noded_on_the_grid() -> None:
    """A corner of the third lies on an edge of the other two but for the last digits; found by fuzzing."""
    bitten = (
        "5.524 12.898, 5.789 17.095, 6.732 16.884, 7.772 16.764, 8.819 16.753, 9.861 16.851, 10.887 17.058, "
        "11.886 17.37, 12.846 17.786, 13.758 18.3, 14.612 18.906, 15.397 19.598, 16.106 20.368, 16.73 21.208, "
        "17.263 22.109, 17.699 23.061, 18.033 24.053, 18.261 25.074, 18.382 26.114, 24.37 25.736, 23.488 11.764, "
        "5.524 12.898"
    )
    rings = (
        "5.524 12.898, 6.406 26.87, 24.37 25.736, 23.488 11.764, 5.524 12.898",
        bitten,
        "14.761 2.52, 17.778 26.33, 31.667 24.569, 28.65 0.76, 14.761 2.52",
    )
    regions = _array([shapely.from_wkt(f"POLYGON (({ring}))") for ring in rings])
    lines = open_outlines(regions)
    with pytest.raises(shapely.errors.GEOSException):
        shapely.node(shapely.multilinestrings(lines))
    cells = cells_between(lines)
    assert shapely.coverage_is_valid(cells)
    assert shapely.area(cells).sum() == pytest.approx(shapely.union_all(regions).area, abs=0.05)
