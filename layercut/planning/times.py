"""Times: what each sheet, and all of them, take on the machine.

Enters: sheets in burning order, which hold their times (`geometry/motion.py` reckons them). Leaves: a `TimePlan`.
"""

from collections.abc import Sequence

from layercut.model import Sheet
from layercut.workplan import BurnTimes, SheetTime, TimePlan


def plan_times(sheets: Sequence[Sheet]) -> TimePlan:
    """Every sheet's time, and the sum over all copies; zeros for no sheets."""
    each = tuple(SheetTime(sheet.name, sheet.copies, sheet.times) for sheet in sheets)
    total = BurnTimes(
        areas_s=sum(one.copies * one.times.areas_s for one in each),
        lines_s=sum(one.copies * one.times.lines_s for one in each),
        openings_s=sum(one.copies * one.times.openings_s for one in each),
        rim_s=sum(one.copies * one.times.rim_s for one in each),
        travel_s=sum(one.copies * one.times.travel_s for one in each),
    )
    return TimePlan(each, total)
