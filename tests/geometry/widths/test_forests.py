"""Forests in numpy beside networkx's."""

from random import Random

import networkx as nx
import numpy as np
import pytest

from layercut.geometry.widths.forests import components, widest_forest


def _links(chance: Random, count: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    number = chance.randint(0, 3 * count)
    ends = np.array([[chance.randrange(count), chance.randrange(count)] for _ in range(number)], dtype=np.int64)
    ends = ends.reshape(-1, 2)
    return ends[:, 0], ends[:, 1], np.array([float(chance.randint(1, 6)) for _ in range(number)])


@pytest.mark.parametrize("seed", range(25))
def test_as_networkx_has_it(seed: int) -> None:
    chance = Random(seed)
    count = chance.randint(1, 40)
    a, b, width = _links(chance, count)
    graph = nx.MultiGraph()
    graph.add_nodes_from(range(count))
    graph.add_edges_from((x, y, {"width": w}) for x, y, w in zip(a.tolist(), b.tolist(), width.tolist(), strict=True))
    label = components(count, a, b)
    assert [set(np.flatnonzero(label == one)) for one in range(label.max() + 1)] == list(
        nx.connected_components(graph)
    )
    used = widest_forest(np.arange(count), a, b, width)
    best = nx.maximum_spanning_tree(graph, weight="width").size(weight="width")
    assert width[used].sum() == best
    assert (components(count, a[used], b[used]) == label).all()


def test_nodes_that_count_as_joined_are_joined_no_more() -> None:
    a, b = np.array([0, 1, 2]), np.array([1, 2, 3])
    assert widest_forest(np.array([0, 0, 2, 3]), a, b, np.ones(3)).tolist() == [False, True, True]


def test_of_equal_links_the_first_is_taken() -> None:
    a, b = np.array([0, 0, 0]), np.array([1, 1, 1])
    assert widest_forest(np.arange(2), a, b, np.array([1.0, 2.0, 2.0])).tolist() == [False, True, False]


def test_no_nodes_no_forest() -> None:
    none = np.zeros(0, dtype=np.int64)
    assert len(components(0, none, none)) == 0
    assert len(widest_forest(none, none, none, np.zeros(0))) == 0
