"""The time on the machine, sheet by sheet and by kind of work.

Enters: a finished build. Leaves: one section of HTML for the traveller. Holds: what `sections/__init__.py` says.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from layercut.model import Made
from layercut.views.durations import clock, in_words, parts_of, sheet_seconds, total_parts
from layercut.views.pages.card_rows import machine_seconds
from layercut.views.pages.sections.filling import filled, share
from layercut.workplan import Workplan

TIME_HEADS = ("Marked areas", "Marked lines", "Openings", "Rim", "Travel", "All")
"""The columns of the table of times."""


@dataclass(frozen=True, slots=True)
class _TimeRow:
    """A line of the table of times."""

    name: str
    cells: tuple[str, ...]


def times_section(build: Made) -> str:
    """The section."""
    machine, units = build.job.machine, build.job.units
    return filled(
        "times",
        times=tuple(_time_rows(build.work)),
        time_heads=TIME_HEADS,
        on_boards="" if build.boards is None else in_words(machine_seconds(build)),
        cut=units.speed(machine.cut_speed),
        mark=units.speed(machine.mark_speed),
        area=units.speed(machine.area_speed),
        travel=units.speed(machine.travel_speed),
        pitch=units.length(machine.row_pitch),
        acceleration=units.acceleration(machine.acceleration),
        rounding=units.length(machine.corner_rounding),
    )


def _time_rows(work: Workplan) -> Iterator[_TimeRow]:
    for sheet in work.times.sheets:
        name = f"{sheet.name}, each of {sheet.copies}" if sheet.copies > 1 else sheet.name
        yield _TimeRow(name, (*map(clock, parts_of(sheet.times)), clock(sheet_seconds(sheet.times))))
    total = total_parts((sheet.times, sheet.copies) for sheet in work.times.sheets)
    whole = sum(total)
    yield _TimeRow("all together", (*map(clock, total), clock(whole)))
    yield _TimeRow("share", (*(share(value, whole) for value in total), "100 %"))
