"""The boards: what lies on each, and how much of the wood is wasted.

Enters: a finished build. Leaves: one section of HTML for the traveller, empty where the job knows no size of boards
or bed. Holds: what `sections/__init__.py` says.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import shapely

from layercut.colour.bare import PLYWOOD
from layercut.geometry.regions import polygons_of
from layercut.model import BoardLayout, BoardPart, Boards, Made
from layercut.views.durations import in_words, sheet_seconds
from layercut.views.pages.map_notes import INK
from layercut.views.pages.part_words import listed_parts, part_name, runs
from layercut.views.pages.piece_names import piece_words
from layercut.views.pages.sections.filling import Picture, filled, share
from layercut.views.pages.sections.strip_maps import number_place
from layercut.views.pages.traveller_order import wood_svg
from layercut.views.svg_text import number, region_path, stroke_digits

DIGIT_SHARE = 1 / 28
"""Height of a part's number, of the board's longer side: some 3 mm on paper."""

LEAST_DIGITS = 0.45
"""Where wood is narrow a number is made smaller, to this share at least; a part that takes none has no number."""

DISC_DIGITS, STRIP_DIGITS = 0.55, 0.7
"""Height of a number, of the widest place of its wood: with room for its disc, and of a strip, which has none."""

MARGIN_SHARE = 1 / 100
"""What the picture shows around a board, of the board's longer side."""


_QUARTERS = {0: (1, 0), 90: (0, 1), 180: (-1, 0), 270: (0, -1)}
"""Cosine and sine of a part's turn."""


@dataclass(frozen=True, slots=True)
class _Label:
    """A part's name, and where on the board its number stands, how high, mm. `strip` is a strip's own number, 0 for
    other parts, which are numbered one after the other."""

    name: str
    strip: int
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
        strips=any(part.cut.strips for board in plan.boards for part in board.parts),
        along=build.job.material.grain == "along",
        pictures=tuple(_pictures(build, boards)),
    )


def _counted(boards: int) -> str:
    return "1 board" if boards == 1 else f"{boards} boards"


def _pictures(build: Made, boards: Boards) -> Iterator[Picture]:
    """Each board with its parts numbered, and their names."""
    places, called = {sheet.file: place for place, sheet in enumerate(build.sheets, start=1)}, piece_words(build)
    for board, times in zip(boards.plan.boards, boards.times, strict=True):
        found = [(part, _label_of(part, board, called)) for part in board.parts]
        labels = sorted((label for _, label in found if label is not None), key=lambda label: label.strip)
        small = [part for part, label in found if label is None]
        names = [f"{k} {label.name}" for k, label in enumerate(labels, start=1) if not label.strip]
        if strips := [label.strip for label in labels if label.strip]:
            names.append(f"{'strip' if len(strips) == 1 else 'strips'} {runs(strips)} by their own numbers")
        if small:
            names.append(f"too small for a number: {', '.join(listed_parts(small, called))}")
        waste, clock = share(board.waste_share, 1), in_words(sheet_seconds(times))
        caption = (
            f"{board.file}: {'; '.join(names)}. {waste} of it is waste; about {clock} on the machine (an estimate)."
        )
        yield Picture(_board_svg(board, places, labels), caption)


def _board_svg(board: BoardLayout, places: dict[str, int], labels: Sequence[_Label]) -> str:
    wide, high = board.width_mm, board.height_mm
    longer = max(wide, high)
    line, margin = number(longer / 700), longer * MARGIN_SHARE
    woods = "".join(_wood(part, places[part.cut.file]) for part in board.parts)
    digits = "".join(_numbered(label.strip or k, label) for k, label in enumerate(labels, start=1))
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


def _label_of(part: BoardPart, board: BoardLayout, called: Mapping[str, str]) -> _Label | None:
    """A part's number in the widest place of its wood, as large as that allows; None where it allows none.

    A strip always has one, for it is glued by its number.
    """
    most = max(board.width_mm, board.height_mm) * DIGIT_SHARE
    widest = max(polygons_of(part.cut.wood), key=lambda piece: float(piece.area))
    circle = shapely.maximum_inscribed_circle(widest, tolerance=0.5)
    strip = part.cut.strips[0].number if part.cut.strips else 0
    height = min(most, (STRIP_DIGITS if strip else DISC_DIGITS) * 2 * float(circle.length))
    if height < LEAST_DIGITS * most and not strip:
        return None
    x, y = number_place(widest, height) if strip else circle.coords[0]
    cos, sin = _QUARTERS[part.turned_deg]
    at = (cos * x - sin * y + part.at_mm[0], sin * x + cos * y + part.at_mm[1])
    turned = f", turned {part.turned_deg}°" if part.turned_deg else ""
    return _Label(f"{part_name(part, called)}{turned}", strip, at, height)


def _numbered(value: int, label: _Label) -> str:
    """A number on a pale disc; a strip's own stands on its wood."""
    reach = label.height_mm * (0.75 + 0.2 * (len(str(value)) - 1))
    x, y = map(number, label.at)
    ground = "" if label.strip else f'<circle r="{number(reach)}" fill="#fffdf7" stroke="none"/>'
    return f'<g transform="translate({x} {y})" stroke="{INK}">{ground}{stroke_digits(value, label.height_mm)}</g>'
