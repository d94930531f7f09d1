"""Random layered drawings and jobs that are rich in islands, from one source of chance.

`random.Random(seed)` gives the same scene for the same seed; hypothesis's `randoms()` gives ones that it can shrink.
Shapes lie on a coarse lattice, some moved by a hair, so that edges coincide, nearly coincide and corners touch.
"""

import math
from collections.abc import Sequence
from random import Random

import shapely
from shapely import Point, Polygon, affinity, box
from shapely.geometry.base import BaseGeometry

from layercut.model import Drawing, Layer, Paint, Role, Shape

WIDTH_MM, HEIGHT_MM = 100.0, 80.0
HAIRS_MM = (0.0, 0.0, 0.0, 1e-5, 4e-4, 6e-4, 1e-3, 0.05, 0.16)
COLOURS = ("#aa0000", "#00aa00", "#aabbcc")
ROLES: tuple[Role, ...] = ("wood", "wood", "wood", "wood", "wood", "opening", "mark-line")


def random_scene(chance: Random) -> Drawing:
    """Two to five layers of one to five shapes; the back one may fill the panel."""
    pool: list[BaseGeometry] = []
    layers = []
    for number in range(chance.randint(2, 5)):
        shapes: list[Shape] = []
        if number == 0 and chance.random() < 0.7:
            shapes.append(_shape("wood", box(0, 0, WIDTH_MM, HEIGHT_MM), chance, 0))
        for _ in range(chance.randint(1, 5)):
            outline = _outline(chance, pool)
            pool.append(outline)
            role = chance.choice(ROLES)
            shapes.append(_shape(role, outline.boundary if role == "mark-line" else outline, chance, len(shapes)))
        layers.append(Layer(f"l{number}", tuple(shapes)))
    return Drawing("scene.svg", "0" * 64, WIDTH_MM, HEIGHT_MM, tuple(layers))


POLICIES = ("auto", "auto", "auto", "refuse", "tie", "tie", "loose", "loose", "behind", "behind")
"""What `random_settings` draws policies from."""

FIRST_POLICIES = ("refuse", "tie", "tie", "loose", "loose")
"""What it drew them from while there were three."""


def random_settings(chance: Random, policies: Sequence[str] = POLICIES) -> list[str]:
    """Settings of a job: a policy for all, now and then others for a layer or a piece, limits, kerf and panel."""
    settings = [
        f"islands.policy={chance.choice(policies)}",
        f"material.kerf={chance.choice((0, 0.05, 0.15, 0.15, 0.4))}mm",
        f"limits.neck={chance.choice((0, 0.5, 1.5, 1.5, 3))}mm",
        f"limits.setback={chance.choice((0, 0.2, 1, 1, 3))}mm",
        f"limits.glue_contact={chance.choice((0, 5, 20, 200))}mm2",
        f"panel.corner={chance.choice((0, 0, 4, 40))}mm",
        f"panel.pins={chance.choice(('true', 'false', 'false'))}",
    ]
    if chance.random() < 0.2:
        settings.append(f"islands.tie_width={chance.choice((0.5, 2, 5))}mm")
    if chance.random() < 0.3:
        settings.append(f"islands.layers.l{chance.randint(1, 3)}.policy={chance.choice(policies)}")
    if chance.random() < 0.3:
        settings.append(f"islands.pieces.l{chance.randint(1, 3)}#{chance.randint(1, 3)}={chance.choice(policies)}")
    return settings


def _shape(role: Role, geometry: BaseGeometry, chance: Random, number: int) -> Shape:
    return Shape(role, geometry, Paint(chance.choice(COLOURS)), f"path 's{number}'")


def _outline(chance: Random, pool: list[BaseGeometry]) -> BaseGeometry:
    """A new outline, or one that is drawn already, a hair off."""
    if pool and chance.random() < 0.15:
        return affinity.translate(chance.choice(pool), chance.choice(HAIRS_MM), chance.choice(HAIRS_MM))
    x, y = 5.0 * chance.randint(0, 20), 5.0 * chance.randint(0, 16)
    makers = (_box, _disc, _disc, _star, _ring, _comb, _lollipop, _dumbbell, _leaves, _stick)
    return chance.choice(makers)(chance, x, y)


def _box(chance: Random, x: float, y: float) -> Polygon:
    return box(x, y, x + 5 * chance.randint(1, 14), y + 5 * chance.randint(1, 10))


def _disc(chance: Random, x: float, y: float) -> Polygon:
    return Point(x, y).buffer(chance.choice((0.05, 0.4, 1.0, 5.0, 12.0, 25.0)), chance.choice((2, 8, 24)))


def _star(chance: Random, x: float, y: float) -> Polygon:
    points, radius = chance.randint(3, 8), chance.choice((4.0, 12.0, 30.0))
    dent, turn = chance.choice((0.2, 0.5, 0.9)), math.radians(chance.randint(0, 359))
    reach = [radius * (dent if k % 2 else 1) for k in range(2 * points)]
    angles = [turn + math.pi * k / points for k in range(2 * points)]
    return Polygon([(x + r * math.cos(a), y + r * math.sin(a)) for r, a in zip(reach, angles, strict=True)])


def _ring(chance: Random, x: float, y: float) -> BaseGeometry:
    radius = chance.choice((3.0, 9.0, 20.0))
    ring = Point(x, y).buffer(radius).difference(Point(x, y).buffer(radius - chance.choice((0.3, 1.4, 1.6, 2.9))))
    return ring.union(Point(x, y).buffer(radius / 4)) if chance.random() < 0.4 else ring


def _comb(chance: Random, x: float, y: float) -> BaseGeometry:
    tooth = chance.choice((0.2, 1.0, 2.0))
    return shapely.union_all(
        [box(x, y, x + 20, y + 3), *(box(x + 3 * k, y, x + 3 * k + tooth, y + 25) for k in range(6))]
    )


def _lollipop(chance: Random, x: float, y: float) -> BaseGeometry:
    """A disc on a stem of any width, often one that is too narrow."""
    width = chance.choice((0.2, 0.9, 1.45, 1.5, 2.0))
    stem = box(x, y - width / 2, x + chance.choice((15, 60, 120)), y + width / 2)
    return (
        Point(x, y).buffer(chance.choice((3.0, 8.0))).union(affinity.rotate(stem, chance.choice((0, 90, 30)), (x, y)))
    )


def _dumbbell(chance: Random, x: float, y: float) -> BaseGeometry:
    width, gap = chance.choice((0.1, 0.7, 1.4, 1.6)), chance.choice((9.0, 14.0))
    ends = [Point(x, y).buffer(4), Point(x + gap, y).buffer(4)]
    return shapely.union_all([*ends, box(x, y - width / 2, x + gap, y + width / 2)])


def _leaves(chance: Random, x: float, y: float) -> BaseGeometry:
    """Small ellipses strewn about, as foliage is."""
    parts = []
    for _ in range(chance.randint(2, 7)):
        leaf = affinity.scale(Point(0, 0).buffer(1, 6), chance.uniform(0.5, 4), chance.uniform(0.3, 2))
        leaf = affinity.rotate(leaf, chance.randint(0, 179))
        parts.append(affinity.translate(leaf, x + chance.uniform(-15, 15), y + chance.uniform(-15, 15)))
    return shapely.union_all(parts)


def _stick(chance: Random, x: float, y: float) -> Polygon:
    thin = box(x, y, x + chance.choice((1e-4, 1e-3, 0.1, 0.4, 1.0)), y + 40)
    return affinity.rotate(thin, chance.choice((0, 30, 45, 90)))
