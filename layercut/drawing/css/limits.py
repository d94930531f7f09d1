"""What a style sheet may cost.

Enters: selectors as text, and the size of the tree that they are matched against. Leaves: how many steps a match may
take. A selector of k descendant steps tries every choice of k ancestors before it fails, so that a few letters can
keep a reader busy for years.
"""

import math
import re
from dataclasses import dataclass

from lxml import etree

MAX_RULES = 20_000
"""Rules of all sheets of a drawing; an exported sheet of a large drawing has a few hundred."""

MAX_SELECTOR_STEPS = 100_000
"""Steps that one selector may take to match one element."""

MAX_STEPS = 20_000_000
"""Steps of all selectors on all elements: about ten seconds."""

_BRACKETS = re.compile(r"\[[^\]]*\]|\"[^\"]*\"")
_TIGHT = re.compile(r"\s*([>+~,])\s*")
_LAST_NAMED = re.compile(r"[.#][^\s>+~]*$")
_WIDE = re.compile(r":(has|nth-|only-|last-|first-of)")


@dataclass(frozen=True, slots=True)
class TreeSize:
    """How many elements a tree has, how deep it is, and the most children of one element."""

    elements: int
    depth: int
    children: int


def measure_tree(root: etree._Element) -> TreeSize:
    """The size of a tree."""
    depth = deepest = elements = children = 0
    for event, element in etree.iterwalk(root, events=("start", "end")):
        depth += 1 if event == "start" else -1
        deepest = max(deepest, depth)
        if event == "start":
            elements += 1
            children = max(children, len(element))
    return TreeSize(elements, deepest, children)


def selector_steps(text: str, tree: TreeSize) -> int:
    """The most steps that matching one element against a selector can take."""
    tight = _TIGHT.sub(r"\1", _BRACKETS.sub("", text.strip()))
    ancestors, siblings = len(re.findall(r"\s+", tight)), tight.count("~")
    steps = math.comb(max(tree.depth, ancestors), ancestors) * math.comb(max(tree.children, siblings), siblings)
    return steps * (tree.elements if _WIDE.search(tight) else 1)


def sheet_steps(text: str, tree: TreeSize) -> int:
    """The most steps of a selector on all elements; one that ends in a class or an id is asked of few."""
    asked = tree.elements if not _LAST_NAMED.search(text.strip()) else math.isqrt(tree.elements)
    return selector_steps(text, tree) * asked
