"""How many steps a match may take, counted by hand."""

import pytest
from lxml import etree

from layercut.drawing.css.limits import TreeSize, measure_tree, selector_steps, sheet_steps

TREE = TreeSize(elements=1000, depth=10, children=20)


@pytest.mark.parametrize(
    ("selector", "steps"),
    [
        ("rect", 1),
        (".a", 1),
        ("g rect", 10),  # one of ten ancestors
        ("g g rect", 45),  # two of ten
        ("g>g>rect", 1),
        (" g > g   rect ", 10),
        ("a~b", 20),
        ("g a~b~c", 10 * 190),
        ('[title="g g g"] rect', 10),
        ("rect:nth-child(2)", 1000),
        ("g rect:only-child", 10_000),
        ("a b c d e f g h i j k l", 1),  # more ancestors than the tree is deep: no choice among them
    ],
)
def test_steps_of_one_match(selector: str, steps: int) -> None:
    assert selector_steps(selector, TREE) == steps


@pytest.mark.parametrize(
    ("selector", "steps"), [("rect", 1000), ("g .leaf", 10 * 31), ("#leaf", 31), ("#leaf rect", 10 * 1000)]
)
def test_what_ends_in_a_class_or_an_id_is_asked_of_few(selector: str, steps: int) -> None:
    """Of the square root of all elements: 31."""
    assert sheet_steps(selector, TREE) == steps


def test_the_size_of_a_tree() -> None:
    root = etree.fromstring("<svg><g><a/><b><c/></b><d/></g><g/></svg>")
    assert measure_tree(root) == TreeSize(elements=7, depth=4, children=3)
