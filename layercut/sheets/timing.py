"""How far the beam travels on one sheet, and how long the machine takes, by what it does there.

Enters: a sheet in burning order, the machine's speeds. Leaves: mm, and `BurnTimes`. Holds: every line and every way
between two begins and ends at rest.
"""

import math

from layercut.geometry.motion import Drive, jump_seconds, line_seconds, row_seconds
from layercut.job_tables import MachineJob
from layercut.model import OrderedSheet
from layercut.sheets.toolpath import HOME_MM, end_of_areas
from layercut.workplan import BurnTimes


def time_sheet(sheet: OrderedSheet, ways: list[float], machine: MachineJob) -> BurnTimes:
    """How long the machine takes for a sheet, an estimate; `ways` are those of `travel_ways`."""
    marked, cut, travelled, filled = (
        Drive(speed, machine.acceleration, machine.corner_rounding)
        for speed in (machine.mark_speed, machine.cut_speed, machine.travel_speed, machine.area_speed)
    )
    return BurnTimes(
        areas_s=row_seconds(sheet.mark_areas, machine.row_pitch, filled),
        lines_s=line_seconds(sheet.mark_lines, marked),
        openings_s=line_seconds(sheet.openings[: sheet.inner_count], cut),
        rim_s=line_seconds(sheet.rims, cut),
        travel_s=jump_seconds(ways, travelled),
    )


def travel_ways(sheet: OrderedSheet) -> list[float]:
    """The lengths of the ways between one stop and the next, from home to the rim, mm."""
    here, ways = HOME_MM, []
    if sheet.mark_areas:
        here = end_of_areas(sheet.mark_areas)
        ways.append(math.hypot(*here))
    rings = [ring.exterior for ring in (*sheet.openings, sheet.outline)]
    for stop in (*sheet.mark_lines, *rings):
        ways.append(math.dist(here, stop.coords[0]))
        here = stop.coords[-1]
    return ways
