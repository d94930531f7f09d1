"""Random shapes with many narrow places: a slab of 24 x 8 mm on the grid, riddled with holes."""

from random import Random

import numpy as np
import shapely
from shapely import Point, Polygon, box


def _blobs(chance: Random) -> list[Polygon]:
    return [
        Point(chance.uniform(2, 22), chance.uniform(0, 8)).buffer(chance.uniform(0.5, 2.5), chance.randint(2, 20))
        for _ in range(9)
    ]


def _triangles(chance: Random) -> list[Polygon]:
    made = []
    for _ in range(8):
        x, y = chance.uniform(2, 22), chance.uniform(0, 8)
        made.append(Polygon([(x + chance.uniform(-4, 4), y + chance.uniform(-4, 4)) for _ in range(3)]))
    return [triangle for triangle in made if triangle.area > 0.01]


def _teeth(chance: Random) -> list[Polygon]:
    made = []
    for _ in range(6):
        x, tip = chance.uniform(2, 22), chance.uniform(-1, 1)
        made.append(Polygon([(x - 0.3, -1), (x + 0.3, -1), (x + tip, chance.uniform(1, 6.6))]))
        x, tip = chance.uniform(2, 22), chance.uniform(-1, 1)
        made.append(Polygon([(x - 0.3, 9), (x + 0.3, 9), (x + tip, chance.uniform(1.4, 7))]))
    return made


def _dense(chance: Random) -> list[Polygon]:
    return list(shapely.segmentize(_triangles(chance), 0.07))


def riddled(chance: Random) -> tuple[Polygon, Point, Point] | None:
    """A slab on the grid with holes, and two roomy places in it; None where it fell apart."""
    holes = chance.choice((_blobs, _triangles, _teeth, _dense))(chance)
    slab = box(0, 0, 24, 8).difference(shapely.union_all(shapely.make_valid(holes)))
    with np.errstate(divide="ignore", invalid="ignore"):  # seen with shapely 2.1, on valid regions
        wood = max(shapely.get_parts(shapely.set_precision(slab, 0.001)), key=lambda part: part.area)
    rooms = [room for room in shapely.get_parts(shapely.buffer(wood, -0.85)) if not room.is_empty]
    if len(rooms) < 2:
        return None
    one, other = (room.representative_point() for room in chance.sample(rooms, 2))
    # Offsets leave scraps now and then that have no such room (GEOS 3.13).
    return (wood, one, other) if shapely.distance(wood.boundary, [one, other]).min() > 0.8 else None
