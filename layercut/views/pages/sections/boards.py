"""The boards: what lies on each, and how much of the wood is wasted.

Enters: a finished build. Leaves: one section of HTML for the traveller, empty where the job knows no size of boards
or bed. Holds: what `sections/__init__.py` says.
"""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import shapely

from layercut.colour.bare import PLYWOOD
from layercut.geometry.regions import polygons_of
from layercut.model import BoardLayout, BoardPart, Boards, Made
from layercut.views.durations import in_words, sheet_seconds
from layercut.views.pages.map_notes import INK
from layercut.views.pages.sections.filling import Picture, filled, share
from layercut.views.pages.traveller_order import wood_svg
from layercut.views.svg_text import number, region_path, stroke_digits

DIGIT_SHARE = 1 / 28
"""Height of a part's number, of the board's longer side: some 3 mm on paper."""

LEAST_DIGITS = 0.45
"""Where wood is narrow a number is made smaller, to this share at least; a part that takes none has no number."""

MARGIN_SHARE = 1 / 100
"""What the picture shows around a board, of the board's longer side."""


_QUARTERS = {0: (1, 0), 90: (0, 1), 180: (-1, 0), 270: (0, -1)}
"""Cosine and sine of a part's turn."""


@dataclass(frozen=True, slots=True)
class _Label:
    """A part's name, and where on the board its number stands, how high, mm."""

    name: str
    at: tuple[float, float]
    height_mm: float


def boards_section(build: Made) -> str:
    """The section; empty without boards."""
    boards = build.boards
    if boards is None:
        return ""
    plan, first = boards.plan, boards.plan.boards[0]
    return filled(
        "boards",
        count=_counted(len(plan.boards)),
        size=build.job.units.size(first.width_mm, first.height_mm),
        limit=plan.limit,
        parts=sum(len(board.parts) for board in plan.boards),
        inside=sum(part.inside for board in plan.boards for part in board.parts),
        waste=share(plan.waste_share(len(plan.boards)), 1),
        fewer=plan.flat > len(plan.boards),
        flat=_counted(plan.flat),
        flat_waste=share(plan.waste_share(plan.flat), 1),
        proved=plan.least == len(plan.boards),
        least=_counted(plan.least),
        least_waste=share(plan.waste_share(plan.least), 1),
        gap=build.job.units.length(build.job.material.gap),
        along=build.job.material.grain == "along",
        pictures=tuple(_pictures(build, boards)),
    )


def _counted(boards: int) -> str:
    return "1 board" if boards == 1 else f"{boards} boards"


def _pictures(build: Made, boards: Boards) -> Iterator[Picture]:
    """Each board with its parts numbered, and their names."""
    places = {sheet.file: place for place, sheet in enumerate(build.sheets, start=1)}
    for board, times in zip(boards.plan.boards, boards.times, strict=True):
        labels = [label for part in board.parts if (label := _label_of(part, board)) is not None]
        small = [part for part in board.parts if _label_of(part, board) is None]
        names = [f"{k} {label.name}" for k, label in enumerate(labels, start=1)]
        waste, clock = share(board.waste_share, 1), in_words(sheet_seconds(times))
        listed = "; ".join(filter(None, (*names, _small_words(small))))
        caption = f"{board.file}: {listed}. {waste} of it is waste; about {clock} on the machine (an estimate)."
        yield Picture(_board_svg(board, places, labels), caption)


def _small_words(parts: Sequence[BoardPart]) -> str:
    """The parts that are too small for a number, those of one piece counted together."""
    counts = Counter(f"spare of {part.piece}" if part.piece else part.name for part in parts)
    words = ", ".join(name if count == 1 else f"{name} ({count})" for name, count in counts.items())
    return f"too small for a number: {words}" if words else ""


def _board_svg(board: BoardLayout, places: dict[str, int], labels: Sequence[_Label]) -> str:
    wide, high = board.width_mm, board.height_mm
    longer = max(wide, high)
    line, margin = number(longer / 700), longer * MARGIN_SHARE
    woods = "".join(_wood(part, places[part.cut.file]) for part in board.parts)
    digits = "".join(_circled(k, label.at, label.height_mm) for k, label in enumerate(labels, start=1))
    box = " ".join(map(number, (-margin, -margin, wide + 2 * margin, high + 2 * margin)))
    return (
        f'<svg viewBox="{box}" role="img" aria-label="{board.file} with its parts, numbered as below">'
        f'<g stroke="{INK}" stroke-width="{line}"><rect width="{number(wide)}" height="{number(high)}" '
        f'fill="#fffdf7"/><g fill="{PLYWOOD}" fill-rule="evenodd">{woods}</g></g>{digits}</svg>'
    )


def _wood(part: BoardPart, place: int) -> str:
    x, y = map(number, part.at_mm)
    turn = f" rotate({part.turned_deg})" if part.turned_deg else ""
    wood = f'<path d="{region_path(part.cut.wood)}"/>' if part.piece else wood_svg(place, part.cut)
    return f'<g transform="translate({x} {y}){turn}">{wood}</g>'


def _label_of(part: BoardPart, board: BoardLayout) -> _Label | None:
    """A part's number in the widest place of its wood, as large as that allows; None where it allows none."""
    most = max(board.width_mm, board.height_mm) * DIGIT_SHARE
    widest = max(polygons_of(part.cut.wood), key=lambda piece: float(piece.area))
    circle = shapely.maximum_inscribed_circle(widest, tolerance=0.5)
    height = min(most, 0.55 * 2 * float(circle.length))
    if height < LEAST_DIGITS * most:
        return None
    (x, y), (cos, sin) = circle.coords[0], _QUARTERS[part.turned_deg]
    at = (cos * x - sin * y + part.at_mm[0], sin * x + cos * y + part.at_mm[1])
    turned = f", turned {part.turned_deg}°" if part.turned_deg else ""
    return _Label(f"{part.name}{turned}", at, height)


def _circled(value: int, at: tuple[float, float], height_mm: float) -> str:
    reach = number(height_mm * (0.75 + 0.2 * (len(str(value)) - 1)))
    x, y = map(number, at)
    return (
        f'<g transform="translate({x} {y})" stroke="{INK}"><circle r="{reach}" fill="#fffdf7" stroke="none"/>'
        f"{stroke_digits(value, height_mm)}</g>"
    )
