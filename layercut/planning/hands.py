"""The hand that lays a paint on: flat, stippled with a fan brush, or blended wet in wet; by what things are called.

Enters: the drawing, the paint plan, and the hands that the job names. Leaves: every painted region with its hand,
sheet by sheet, and a finding for each name of the job that means nothing. Holds: the innermost name that says
something decides, and a name of the job before a word of this page.
"""

import json
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import STRtree

from layercut.findings import Finding, nearest_names
from layercut.geometry.regions import as_region, polygons_of
from layercut.job_values import PaintHand
from layercut.model import Drawing, Layer, Shape
from layercut.planning.stain import is_called, names_of
from layercut.workplan import Handed, PaintPlan, SheetPaint

# fmt: off
STIPPLED = frozenset({
    "blade", "bramble", "branches", "bush", "canopy", "clover", "copse", "creeper", "crown", "fern", "foliage",
    "frond", "grass", "grove", "hay", "hedge", "hedgerow", "herb", "ivy", "lawn", "leaf", "leafage", "leaves",
    "meadow", "moss", "needle", "orchard", "pine", "poplar", "reed", "rush", "shrub", "spruce", "straw",
    "thatch", "thicket", "treetop", "turf", "undergrowth", "vine", "willow",
})
"""What a fan brush stipples: all that is made of leaves and blades (common practice)."""

AIR = frozenset({"air", "dawn", "dusk", "fog", "haze", "heaven", "horizon", "mist", "sky", "sunrise", "sunset"})
"""What is blended wet in wet and grows lighter downwards, to the horizon (common practice)."""

WATER = frozenset({
    "bay", "brook", "canal", "creek", "fjord", "lagoon", "lake", "ocean", "pond", "pool", "race", "river",
    "sea", "stream", "swell", "water", "waterfall", "wave", "weir",
})
"""What is blended wet in wet and grows lighter upwards, to the horizon (common practice)."""

BUILT = frozenset({
    "anchor", "arch", "barrel", "beam", "board", "boat", "bridge", "brick", "bucket", "can", "column", "door",
    "fence", "flume", "frame", "gate", "gull", "house", "hull", "lamp", "lantern", "letter", "lily", "mast",
    "pile", "plank", "post", "quay", "rail", "railing", "roof", "sail", "shell", "ship", "shutter", "sign",
    "spoke", "stone", "table", "tile", "tower", "town", "trunk", "wall", "wheel", "window",
})
"""A name that has one of these words as well is no leaf and no water: `shutter-leaf`, `water-wheel`."""
# fmt: on

OWN_NAME = re.compile(
    r"(?i)(path|g|group|rect|circle|ellipse|poly(gon|line)|line|use|text|tspan|shape|object|layer|svg|compound|clip)"
    r"[\W_]*\d*([\W_]+\d+)*"
)
"""Names that an editor gives by itself: they say nothing."""

_WORD = re.compile(r"[^\W\d_]+")
_HUMP = re.compile(r"(?<=[a-z])(?=[A-Z])")


@dataclass(frozen=True, slots=True)
class _Way:
    """A hand, and for a blend where it grows lighter."""

    hand: PaintHand
    upwards: bool = False


_FLAT = _Way("flat")


def lay_hands(drawing: Drawing, plan: PaintPlan, wanted: Mapping[str, PaintHand]) -> tuple[tuple[Handed, ...], ...]:
    """Every painted region with its hand, sheet by sheet from the back; a paint that several hands lay on is parted.

    Each polygon is laid on as the shape that is drawn on top at a point of it. Stain is always flat.
    """
    return tuple(
        tuple(_handed(layer, sheet, plan, wanted)) for layer, sheet in zip(drawing.layers, plan.sheets, strict=True)
    )


def hand_findings(drawing: Drawing, wanted: Mapping[str, PaintHand]) -> Iterator[Finding]:
    """A warning for each name to which the job gives a hand and that no layer, group or element of wood has."""
    known = [name for layer in drawing.layers for shape in _wood(layer) for name in (layer.name, *names_of(shape))]
    for name in wanted:
        if not any(is_called(one, (name,)) for one in known):
            line = f"paint.hands names {json.dumps(name, ensure_ascii=False)}, but no layer, group or element of wood"
            nearest = nearest_names(name, list(dict.fromkeys(known)))
            yield Finding("name-unmatched", "warning", f"{line} is called so. {nearest}", element=name)


def _wood(layer: Layer) -> list[Shape]:
    return [shape for shape in layer.shapes if shape.role == "wood"]


def _handed(layer: Layer, sheet: SheetPaint, plan: PaintPlan, wanted: Mapping[str, PaintHand]) -> Iterator[Handed]:
    shapes = _wood(layer)
    ways = [_way_of(layer, shape, wanted) for shape in shapes]
    tree = STRtree([shape.geometry for shape in shapes]) if set(ways) - {_FLAT} else None
    for part in sheet.parts:
        if tree is None or plan.colour(part.number).finish == "stain":
            yield Handed(part.number, "flat", part.visible)
            continue
        polygons = np.array(polygons_of(part.visible), dtype=object)
        laid = _on_top(polygons, tree, ways)
        for way in dict.fromkeys(laid):
            mine = [polygon for polygon, one in zip(polygons, laid, strict=True) if one == way]
            region = part.visible if len(mine) == len(polygons) else as_region(shapely.multipolygons(mine))
            yield Handed(part.number, way.hand, region, way.upwards)


def _on_top(polygons: NDArray[np.object_], tree: STRtree, ways: Sequence[_Way]) -> list[_Way]:
    """How the shape on top at a point of each polygon is laid on; flat where none is, as of a guest's."""
    top = np.full(len(polygons), -1)
    polygon, shape = tree.query(shapely.point_on_surface(polygons), predicate="intersects")
    np.maximum.at(top, polygon, shape)
    return [ways[place] if place >= 0 else _FLAT for place in top.tolist()]


def _way_of(layer: Layer, shape: Shape, wanted: Mapping[str, PaintHand]) -> _Way:
    """How a shape is laid on: the job's word for the innermost name that it has one for, else what the innermost
    telling name says. A layer's name counts for shapes that have none of their own."""
    inward = [*shape.called.around, *dict.fromkeys((shape.called.label, shape.called.ident))]
    names = [name for name in reversed(inward) if name and not OWN_NAME.fullmatch(name)]
    for name in (*names, layer.name) if wanted else ():
        for key, hand in wanted.items():
            if is_called(name, (key,)):
                return _Way(hand, upwards=_upwards((*names, layer.name)))
    return next((way for name in names or [layer.name] if (way := _told(name)) is not None), _FLAT)


def _upwards(names: Iterable[str]) -> bool:
    """Whether the innermost name that speaks of air or water speaks of water."""
    return next((bool(words & WATER) for words in map(_words, names) if words & (WATER | AIR)), False)


@cache
def _told(name: str) -> _Way | None:
    """What a name says about the hand; None where it says nothing."""
    words = _words(name)
    if words & BUILT:
        return _FLAT
    if words & STIPPLED:
        return _Way("stipple")
    if words & (AIR | WATER):
        return _Way("blend", upwards=bool(words & WATER))
    return None


@cache
def _words(name: str) -> frozenset[str]:
    """The words of a name in lower case, each as it stands and without the endings of a plural."""
    words = [word.lower() for word in _WORD.findall(_HUMP.sub(" ", name))]
    singular = [word.removesuffix(end) for word in words for end in ("s", "es") if word.endswith(end)]
    return frozenset([*words, *singular])
