"""Times on the machine as the pages tell them: in whole seconds that add up.

Enters: `BurnTimes`. Leaves: seconds, and words. Holds: each kind of work of a sheet is rounded once, to a second; a
sheet's time, all sheets' times and the total are sums of these, so every page says the same number.
"""

from collections.abc import Iterable

from layercut.workplan import BurnTimes


def parts_of(times: BurnTimes) -> tuple[int, ...]:
    """Marked areas, marked lines, openings, rim and travel of one sheet, whole seconds."""
    parts = (times.areas_s, times.lines_s, times.openings_s, times.rim_s, times.travel_s)
    return tuple(round(part) for part in parts)


def sheet_seconds(times: BurnTimes) -> int:
    """One sheet's time, whole seconds: the sum of its parts as they are told."""
    return sum(parts_of(times))


def total_parts(sheets: Iterable[tuple[BurnTimes, int]]) -> tuple[int, ...]:
    """The same parts of all sheets with their copies, whole seconds; zeros for none."""
    scaled = [[part * copies for part in parts_of(times)] for times, copies in sheets]
    return tuple(map(sum, zip(*scaled, strict=True))) if scaled else parts_of(BurnTimes())


def clock(seconds: int) -> str:
    """Minutes and seconds for a table, such as `7:05`."""
    return f"{seconds // 60}:{seconds % 60:02d}"


def in_words(seconds: int) -> str:
    """The same for a sentence: `45 s`, `7 min 05 s`, `1 h 07 min 05 s`."""
    minutes, rest = divmod(seconds, 60)
    if not minutes:
        return f"{rest} s"
    if minutes < 60:
        return f"{minutes} min {rest:02d} s"
    return f"{minutes // 60} h {minutes % 60:02d} min {rest:02d} s"
