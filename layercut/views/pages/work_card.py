"""The work card: the one page to take to the machine.

Enters: a finished build. Leaves: a section of HTML, the first of the traveller. Holds: it fits on one page of A4 and
of US letter, however many sheets and pieces there are: what there is no room for is counted.
"""

from collections.abc import Iterator
from functools import cache
from importlib.resources import files
from pathlib import PurePath

from jinja2 import Environment, StrictUndefined, Template

from layercut.model import Made
from layercut.views.durations import in_words
from layercut.views.pages.card_rows import card_rows, machine_seconds, short
from layercut.views.pages.cost_words import cost_lines
from layercut.views.pages.part_words import counted_parts
from layercut.views.pages.piece_names import piece_words
from layercut.views.svg_text import number

MOST_SHEETS, MOST_PIECES = 20, 60
"""So many sheets, or boards, and loose pieces are listed; the others are counted."""

ROOMY_LINES, DENSE_SHEETS, DENSE_BOARDS = 11, 13, 8
"""More lines than this, pieces in three columns, are set smaller; more sheets or boards than this one line each."""

WOOD_LETTERS = 20
"""So many letters of the wood's name stand in each row; the whole name stands above."""


def work_card(build: Made) -> str:
    """The card as HTML."""
    units, material = build.job.units, build.job.material
    rows = card_rows(build)
    pieces = list(_pieces(build))
    lines = sum(row.lines for row in rows[:MOST_SHEETS]) + min(len(pieces), MOST_PIECES) / 3
    dense_rows = DENSE_SHEETS if build.boards is None else DENSE_BOARDS
    return _template().render(
        stem=PurePath(build.drawing.file).stem,
        picture=_picture(build),
        density="packed" if len(rows) > dense_rows else "dense" if lines > ROOMY_LINES else "",
        wood=f"{material.name}, {units.length(material.thickness)}",
        wood_of_each=f"{short(material.name, WOOD_LETTERS)}, {units.length(material.thickness)}",
        kerf=units.length(material.kerf),
        # A default is nobody's measure: the card must not look as if it were.
        kerf_given="kerf" in material.model_fields_set,
        boards=_boards(build),
        counted=build.work.material.stock is not None or build.boards is not None,
        on_boards=build.boards is not None,
        time=_time(build),
        costs=tuple(cost_lines(build)),
        rows=rows[:MOST_SHEETS],
        more_rows=max(len(rows) - MOST_SHEETS, 0),
        pieces=pieces[:MOST_PIECES],
        more_pieces=max(len(pieces) - MOST_PIECES, 0),
    )


@cache
def _template() -> Template:
    text = (files("layercut.views.pages") / "work_card.html").read_text(encoding="utf-8")
    environment = Environment(autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True)
    return environment.from_string(text)


def _pieces(build: Made) -> Iterator[str]:
    """Every loose piece with its sheet, in the order of their numbers."""
    words = piece_words(build)
    for sheet in build.sheets:
        for piece in sheet.loose:
            yield f"{short(words[piece.id])} ({short(sheet.name)})"


def _boards(build: Made) -> str:
    """How many boards to bring, or how to have them counted."""
    material, units = build.work.material, build.job.units
    if build.boards is not None:
        plan = build.boards.plan
        parts = counted_parts([part for one in plan.boards for part in one.parts])
        board = units.size(plan.boards[0].width_mm, plan.boards[0].height_mm)
        return f"{_counted(len(plan.boards), 'board')} of {board} for {parts}"
    count = _counted(material.panels, "sheet")
    kerf, panel = build.job.material.kerf, build.stack.panel
    size = units.size(panel.width_mm + kerf, panel.height_mm + kerf)
    if material.stock is None:
        return f"wood for {count} of {size}, kerf included"
    board = units.size(material.stock.width_mm, material.stock.height_mm)
    if not material.stock.each:
        return f"not one sheet of {size} fits on a board of {board}"
    return f"{_counted(material.stock.boards, 'board')} of {board} for {count}"


def _time(build: Made) -> str:
    """How long the machine takes for all boards, or all sheets."""
    sheets = _counted(sum(sheet.copies for sheet in build.sheets), "sheet")
    what = sheets if build.boards is None else _counted(len(build.boards.times), "board")
    return f"{in_words(machine_seconds(build))} for {what}"


def _counted(count: int, what: str) -> str:
    return f"{count} {what}{'' if count == 1 else 's'}"


def _picture(build: Made) -> str:
    """The flat stack, small: the sheets that the page's picture holds, one over the other."""
    panel = build.stack.panel
    sheets = "".join(
        f'<use href="#sheet-{place}" clip-path="url(#on-{place})"/>'
        for place in range(1, len(build.stack.layers) + 1)
    )
    return (
        f'<svg viewBox="0 0 {number(panel.width_mm)} {number(panel.height_mm)}" role="img" '
        f'aria-label="The finished stack">{sheets}</svg>'
    )
