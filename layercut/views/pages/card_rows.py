"""What the work card lists to cut: boards where there are any, else the sheets.

Enters: a finished build. Leaves: `CardRow`s in cutting order. Holds: a row of a board says no more than there is room
for where so many boards are listed; the others of its parts are counted.
"""

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import accumulate

import shapely
from shapely import Polygon, STRtree

from layercut.geometry.regions import polygons_of
from layercut.model import BoardLayout, Made, Sheet
from layercut.views.durations import in_words, sheet_seconds, total_parts
from layercut.views.pages.part_words import listed_parts, runs
from layercut.views.pages.piece_names import piece_words
from layercut.workplan import BurnTimes

CRUMB_MM2 = 25.0
"""Waste smaller than this is a crumb: it may fall through the bed, or stick, and is brushed out."""

DUST = 1.3
"""A gap around loose wood that has no more than so many times the area of the beam's way is dust, and no waste."""

MOST_LETTERS = 44
"""A name of more letters is cut short."""

MOST_TICKS = 8
"""So many boxes to tick are drawn for the copies of one sheet."""

LETTERS_OF_ROW = ((4, 300), (8, 120), (math.inf, 50))
"""Where so many boards are listed, so many letters of each one's parts."""

LINE_LETTERS = 100
"""So many letters of a board's parts and waste take the room of a sheet's row, which is two lines high."""


@dataclass(frozen=True, slots=True)
class CardRow:
    """A board or a sheet as the card lists it, with a box to tick for each copy; `parts` are empty for a sheet."""

    ticks: int
    title: str
    file: str
    copies: int
    size: str
    time: str
    falls: str
    parts: str = ""

    @property
    def lines(self) -> float:
        """How high it is, in rows of a sheet."""
        return max(len(self.parts + self.falls) / LINE_LETTERS, 1.0)


def card_rows(build: Made) -> list[CardRow]:
    """All rows, in cutting order."""
    if build.boards is None:
        return [_sheet_row(place, sheet, build) for place, sheet in enumerate(build.sheets, start=1)]
    boards, pieces = build.boards, piece_words(build)
    most = next(letters for count, letters in LETTERS_OF_ROW if len(boards.plan.boards) <= count)
    return [
        _board_row(place, board, times, _fitted(listed_parts(board.parts, pieces), int(most)), build)
        for place, (board, times) in enumerate(zip(boards.plan.boards, boards.times, strict=True), start=1)
    ]


def machine_seconds(build: Made) -> int:
    """How long the machine takes for all rows with their copies, whole seconds."""
    if build.boards is not None:
        return sum(map(sheet_seconds, build.boards.times))
    return sum(total_parts((sheet.times, sheet.copies) for sheet in build.sheets))


def _sheet_row(place: int, sheet: Sheet, build: Made) -> CardRow:
    panel, units = build.stack.panel, build.job.units
    numbers = _loose_numbers(build)[sheet.file]
    return CardRow(
        ticks=min(sheet.copies, MOST_TICKS),
        title=f"{place}. {short(sheet.name)}",
        file=sheet.file,
        copies=sheet.copies,
        size=units.size(panel.width_mm, panel.height_mm),
        time=in_words(sheet_seconds(sheet.times)),
        falls=_falls([sheet], numbers, build, [strip.number for strip in sheet.strips]),
    )


def _board_row(place: int, board: BoardLayout, times: BurnTimes, parts: str, build: Made) -> CardRow:
    numbers = _loose_numbers(build)
    loose = [number for part in board.parts if not part.piece for number in numbers[part.cut.file]]
    return CardRow(
        ticks=1,
        title=f"Board {place}",
        file=board.file,
        copies=1,
        size=build.job.units.size(board.width_mm, board.height_mm),
        time=in_words(sheet_seconds(times)),
        falls=_falls([part.cut for part in board.parts], sorted(loose), build),
        parts=parts,
    )


def _fitted(words: Sequence[str], letters: int) -> str:
    """As many words as so many letters take, at least one; the others are counted."""
    ends = list(accumulate(len(word) + 2 for word in words))
    shown = max(sum(end <= letters for end in ends), 1)
    more = f" and {len(words) - shown} more" if shown < len(words) else ""
    return "; ".join(map(short, words[:shown])) + more


def _loose_numbers(build: Made) -> dict[str, range]:
    """The numbers of each sheet's loose pieces, by its file."""
    ends = list(accumulate((len(sheet.loose) for sheet in build.sheets), initial=1))
    return {sheet.file: range(ends[k], ends[k + 1]) for k, sheet in enumerate(build.sheets)}


def _falls(cuts: Iterable[Sheet], numbers: Sequence[int], build: Made, strips: Sequence[int] = ()) -> str:
    """What falls out, in words: waste, crumbs, strips of spacers and the loose pieces by their numbers."""
    waste = [area for cut in cuts for area in falling_waste(cut, build.job.material.kerf)]
    crumbs = sum(area < CRUMB_MM2 for area in waste)
    large = len(waste) - crumbs
    words = []
    if large:
        words.append(f"{large} {'piece' if large == 1 else 'pieces'} of waste")
    if crumbs:
        words.append(f"{crumbs} {'crumb' if crumbs == 1 else 'crumbs'}")
    if strips:
        words.append(f"{'strip' if len(strips) == 1 else 'strips'} {runs(sorted(strips))}")
    if numbers:
        words.append(f"loose {'no.' if len(numbers) == 1 else 'nos.'} {runs(numbers)}")
    return ", ".join(words) or "nothing"


def falling_waste(sheet: Sheet, kerf_mm: float) -> Iterator[float]:
    """The areas of the pieces of waste that fall out of a sheet, mm2: its holes less the wood that lies in them.

    What is no wider than the beam is dust and no piece.
    """
    pieces = polygons_of(sheet.wood)
    tree = STRtree(pieces)
    for piece in pieces:
        for ring in piece.interiors:
            hole = Polygon(ring)
            inside = [Polygon(pieces[k].exterior) for k in tree.query(hole, predicate="contains").tolist()]
            rest = float(hole.area - shapely.union_all(inside).area)
            beam = kerf_mm * (hole.length + sum(one.length for one in inside)) / 2
            if rest > DUST * beam if inside else rest > kerf_mm**2:
                yield rest


def short(name: str, most: int = MOST_LETTERS) -> str:
    """A name, cut short where it has more letters than that."""
    return name if len(name) <= most else f"{name[: most - 1]}…"
