"""Spares of loose pieces where no board is known: places in the waste of the sheets' openings, as proposals.

Enters: the sheets and the material. Leaves: `Nested`s, and the names of the pieces for which no place was found.
"""

from collections.abc import Sequence
from dataclasses import replace

import shapely
from shapely import Polygon

from layercut.geometry.regions import polygons_of
from layercut.job_tables import MaterialJob
from layercut.model import Sheet
from layercut.planning.boards.parts import find_parts
from layercut.planning.boards.rooms import Room, find_lie, placed, shape_of, without_parts
from layercut.workplan import Nested

MOST_SPARES = 60
"""Spares for which a place is looked for, the largest first."""


def propose_spares(sheets: Sequence[Sheet], material: MaterialJob) -> tuple[tuple[Nested, ...], tuple[str, ...]]:
    """Each spare in the smallest opening that takes it, in the first copy of a sheet, the largest first; and the
    names of the rest. Nothing for a job without spares."""
    if not material.spares or not any(sheet.loose for sheet in sheets):
        return (), ()
    parts = find_parts(sheets, material)
    numbers = {sheet.file: number for number, sheet in enumerate(sheets)}
    openings = {part.cut.file: part.rooms for part in parts if not part.piece}
    # A sheet stands for the board here.
    rooms: list[Room] = [replace(room, board=numbers[file]) for file, some in openings.items() for room in some]
    turns = (0, 180) if material.grain == "along" else (0, 90, 180, 270)
    spares = sorted((part for part in parts if part.spare), key=lambda part: -float(part.rim.area))
    found: list[Nested] = []
    left: list[str] = []
    for rank, part in enumerate(spares):
        name = part.name.removesuffix(", spare")
        rooms.sort(key=lambda room: float(room.region.area))
        lie = find_lie(shape_of(part.rim, turns), rooms) if rank < MOST_SPARES else None
        if lie is None:
            left.append(name)
            continue
        rooms = without_parts(rooms, lie.board, [lie.rim], material.gap)
        wood: Polygon = placed(polygons_of(part.cut.wood)[0], lie.at_mm, lie.turned_deg)
        middle = shapely.centroid(wood)
        at = (round(float(middle.x), 1), round(float(middle.y), 1))
        found.append(Nested(name, sheets[lie.board].name, at, lie.turned_deg, wood))
    return tuple(found), tuple(left)
