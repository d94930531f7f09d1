"""Which points a short way may join: against brute force, also where points lie on each other or on a line."""

import numpy as np
import pytest
from scipy.spatial import Delaunay

from layercut.geometry.routing.neighbours import delaunay_edges, near_lists, nearest


@pytest.mark.parametrize("seed", range(6))
def test_the_nearest_are_those_of_all_distances(seed: int) -> None:
    """Of clusters and of points far from each other."""
    random = np.random.default_rng(seed)
    points = np.concatenate([random.normal(0, 1, (60, 2)), random.uniform(-500, 500, (40, 2))])
    found, distance = nearest(points, 8)
    gaps = np.hypot(*(points[:, None] - points).transpose(2, 0, 1))
    np.fill_diagonal(gaps, np.inf)
    assert distance == pytest.approx(np.sort(gaps, axis=1)[:, :8], abs=1e-5)
    assert (found != np.arange(100)[:, None]).all()


def test_no_more_than_there_are_and_none_of_one() -> None:
    assert nearest(np.array([(0.0, 0.0), (3.0, 4.0)]), 9)[1].tolist() == [[5.0], [5.0]]
    assert nearest(np.array([(0.0, 0.0)]), 9)[0].shape == (1, 0)


def test_points_at_one_place_are_each_others_neighbours() -> None:
    points = np.repeat(np.array([(0.0, 0.0), (10.0, 0.0)]), 5, axis=0)
    found, distance = nearest(points, 4)
    assert distance.max() == 0
    assert all(set(some) <= set(range(5 * (k // 5), 5 * (k // 5) + 5)) for k, some in enumerate(found.tolist()))


def test_edges_are_those_of_another_triangulation() -> None:
    points = np.random.default_rng(3).uniform(0, 100, (50, 2))
    ours = {tuple(sorted(pair)) for pair in delaunay_edges(points).tolist()}
    corners = Delaunay(points).simplices
    theirs = {tuple(sorted(pair)) for one in corners.tolist() for pair in zip(one, one[1:] + one[:1], strict=True)}
    assert ours == theirs


@pytest.mark.parametrize("points", [[(0, 0)], [(1, 1)] * 5])
def test_one_place_has_no_edge(points: list[tuple[float, float]]) -> None:
    assert delaunay_edges(np.array(points, dtype=float)).shape == (0, 2)


def test_a_cluster_is_joined_to_others_through_its_triangles() -> None:
    """All the nearest of a cluster's points lie in it; the lists lead out of it all the same, nearest first."""
    random = np.random.default_rng(5)
    points = np.concatenate([random.normal(0, 0.1, (20, 2)), random.normal(50, 0.1, (20, 2))])
    lists = near_lists(points, *nearest(points, 5))
    assert any(other >= 20 for some in lists[:20] for other, _ in some)
    for some in lists:
        away = [distance for _, distance in some]
        assert away == sorted(away)
        assert len({other for other, _ in some}) == len(some) >= 5
