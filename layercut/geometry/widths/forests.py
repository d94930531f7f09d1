"""Graphs in numpy: what hangs together, and the widest forest.

Enters: nodes numbered from 0, links as two arrays of nodes. Leaves: labels and masks. All links are looked at at
once, in rounds that at least halve the trees (Boruvka 1926), so that a hundred thousand cost some ten milliseconds;
the graph routines of scipy are as quick, but cost each start of the program 0.14 s and 32 MB.
"""

import numpy as np

from layercut.geometry.widths.mesh import Flags, Floats, Ints


def components(count: int, a: Ints, b: Ints) -> Ints:
    """For each node the tree that links join it to, (count,), numbered from 0 in the order of their first nodes."""
    label, _ = _joined(np.arange(count), a, b)
    return np.unique(label, return_inverse=True)[1].astype(np.int64)


def widest_forest(label: Ints, a: Ints, b: Ints, width: Floats) -> Flags:
    """Which links a forest of greatest width is made of, (len(a),): a path in it is the widest way between its ends
    (Pollack 1960).

    Nodes of the same `label` count as joined already. Of links of equal width the first is taken.
    """
    order = np.argsort(-width, kind="stable")
    _, used = _joined(label, a[order], b[order])
    chosen = np.zeros(len(a), dtype=bool)
    chosen[order[used]] = True
    return chosen


def _joined(label: Ints, a: Ints, b: Ints) -> tuple[Ints, Ints]:
    """The labels once all links are joined, each the least of its tree, and the links that were needed, earlier ones
    first."""
    label = label.copy()
    open_links = np.arange(len(a))
    needed: list[Ints] = []
    while True:
        here, there = label[a[open_links]], label[b[open_links]]
        apart = here != there
        open_links, here, there = open_links[apart], here[apart], there[apart]
        if not len(open_links):
            return label, np.concatenate([np.zeros(0, dtype=np.int64), *needed])
        size = int(label.max()) + 1
        first = np.full(size, len(a), dtype=np.int64)
        np.minimum.at(first, here, open_links)
        np.minimum.at(first, there, open_links)
        mine = np.flatnonzero(first < len(a))
        link = first[mine]
        needed.append(np.unique(link))
        label = _hooked(mine, label[a[link]] + label[b[link]] - mine, size)[label]


def _hooked(mine: Ints, other: Ints, size: int) -> Ints:
    """Each tree's name after it is joined to its chosen neighbour: the least name of all that are joined."""
    parent = np.arange(size)
    parent[mine] = other
    # Two that chose each other: the lesser is the root. No other circles arise, as links have one order.
    mutual = (parent[parent] == np.arange(size)) & (np.arange(size) < parent)
    parent[mutual] = np.flatnonzero(mutual)
    while True:
        further = parent[parent]
        if (further == parent).all():
            break
        parent = further
    least = np.arange(size)
    np.minimum.at(least, parent, np.arange(size))
    return least[parent]
