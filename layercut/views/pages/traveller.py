"""The traveller: the page that goes with the job to the machine, the paint table and the glue-up.

Enters: a build and its picture. Leaves: one HTML file that needs nothing else: no font, no library, no request; its
small script only moves what is there without it. Holds: every name from the drawing is escaped; every time is called
an estimate; every colour pair of the page's text has a contrast of at least 4.5 to 1.
"""

import math
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from pathlib import PurePath

from jinja2 import Environment, StrictUndefined, Template

from layercut.colour.bare import PLYWOOD
from layercut.findings import CODES
from layercut.geometry.regions import box_size
from layercut.model import LoosePiece, Made, Panel, Planned, Sheet, sheets_of
from layercut.units import MM_PER_FOOT
from layercut.views.durations import clock, in_words, sheet_seconds, total_parts
from layercut.views.pages.card_rows import card_rows, machine_seconds
from layercut.views.pages.piece_names import piece_words
from layercut.views.pages.sections.assembly import FRAME_LAST
from layercut.views.pages.traveller_choices import choice_rows, more_choices, price_words
from layercut.views.pages.traveller_notes import HEADINGS, faded_stack, note_groups, notes_map
from layercut.views.pages.traveller_order import order_svg, order_words, wood_svg
from layercut.views.pages.work_card import work_card
from layercut.views.pages.work_pages import section_links, work_pages_html
from layercut.views.picture.scene import RIM_MM
from layercut.views.picture.stack_svg import EDGE
from layercut.views.picture.step_pictures import StepPictures
from layercut.views.svg_text import number, short_paths

COLOURS = {
    "paper": "#faf5ea",
    "card": "#f1e8d6",
    "ink": "#2c2318",
    "soft": "#5f503d",
    "line": "#cdbb9c",
    "mark": "#8a4a6b",
    "accent": "#7a4a1e",
    "stop": "#9a2b12",
    "stop_paper": "#fbe6dc",
}
"""The page's colours by their use; the style sheet of the page is made from them."""

TEXT_PAIRS = (
    ("ink", "paper"),
    ("ink", "card"),
    ("soft", "paper"),
    ("soft", "card"),
    ("accent", "paper"),
    ("accent", "card"),
    ("stop", "paper"),
    ("stop", "stop_paper"),
    ("ink", "stop_paper"),
    ("paper", "stop"),
    ("paper", "accent"),
)
"""Every colour of text with every ground that it stands on."""

SLIP_EXACT_MM = 0.1
"""Nobody lays sheets on each other closer than this."""

MOST_TIED = 12
"""So many pieces that ties hold are named on the page; the manifest has them all."""

THUMBNAIL_STEPS = 500
"""A thumbnail leaves out detail finer than this part of the panel: it is as wide as a thumb."""


@dataclass(frozen=True, slots=True)
class _Row:
    """A sheet as the table shows it."""

    place: int
    name: str
    kind: str
    file: str
    copies: int
    cut: str
    mark: str
    time: str
    wood: str
    thumbnail: str
    words: str
    order: str


@dataclass(frozen=True, slots=True)
class _Piece:
    """A loose piece as the page lists it; `number` is its number on the map."""

    number: int
    name: str
    sheet: str
    size: str
    rests_on: str
    glue: str
    riser: bool


def traveller_html(build: Planned, picture_svg: str, steps: StepPictures | None = None) -> str:
    """The page as text. `picture_svg` is SVG from `compose_svg`, put into the page as it is; `steps` are pictures of
    the paint's steps, None where nobody asked for any.

    A drawing that can't be made gives a page that says so, why and where, instead of sheets and steps.
    """
    makeable = isinstance(build, Made)
    units = build.job.units
    slip = _slip(build)
    pieces = tuple(_pieces(build))
    ties = sum(len(sheet.ties) for sheet in sheets_of(build))
    groups = note_groups(build)
    names = ", ".join(layer.name for layer in build.stack.layers)
    return _template().render(
        stem=PurePath(build.drawing.file).stem,
        file=build.drawing.file,
        card=work_card(build) if isinstance(build, Made) else "",
        job=_job_sentence(build),
        makeable=makeable,
        reasons=_reasons(build),
        picture=picture_svg,
        picture_text=_picture_text(build),
        groups=groups,
        notes_map=notes_map(build),
        headings=HEADINGS,
        boards=card_rows(build) if isinstance(build, Made) and build.boards is not None else (),
        rows=tuple(_row(place, sheet, build) for place, sheet in enumerate(sheets_of(build), start=1)),
        total=_total(build),
        pieces=pieces,
        choices=choice_rows(build) if makeable else (),
        more_choices=more_choices(build),
        price_words=price_words(build),
        marked=_marked(build),
        piece_map=_piece_map(build),
        ties=ties,
        tied=_tied(build),
        slip=slip,
        proof=build.proof if isinstance(build, Made) else None,
        pins=_pins(build.stack.panel),
        spacers=any(sheet.kind == "spacer" for sheet in sheets_of(build)),
        first=build.sheets[0].name if isinstance(build, Made) else "",
        facts=tuple(_facts(build)),
        contents=tuple(
            _contents(
                build,
                found=makeable or any(groups.values()),
                holding=bool(pieces or ties or slip or (makeable and choice_rows(build))),
            )
        ),
        leaves=tuple(_leaves(build)),
        shape=f"{number(build.stack.panel.width_mm)}/{number(build.stack.panel.height_mm)}",
        stack_text=f"The sheets one behind the other, from the back: {names}",
        work_pages=work_pages_html(build, picture_svg, steps) if isinstance(build, Made) else "",
        frame_last=FRAME_LAST,
        kerf=units.length(build.job.material.kerf),
        mismatch=units.small_area(build.proof.stack_mismatch_mm2, 2) if isinstance(build, Made) else "",
        colours=COLOURS,
        css=_text("traveller.css"),
        script=_text("traveller.js"),
    )


@cache
def _template() -> Template:
    environment = Environment(autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True)
    return environment.from_string(_text("traveller.html"))


@cache
def _text(name: str) -> str:
    return (files("layercut.views.pages") / name).read_text(encoding="utf-8")


def _job_sentence(build: Planned) -> str:
    panel, material, units = build.stack.panel, build.job.material, build.job.units
    count = len(sheets_of(build)) or len(build.stack.layers)
    sheets = sum(sheet.copies for sheet in sheets_of(build)) or count
    return (
        f"A panel of {units.size(panel.width_mm, panel.height_mm)} from {sheets} "
        f"{'sheet' if sheets == 1 else 'sheets'} of {material.name}, {units.length(material.thickness)} thick, "
        f"with a frame of {units.length(panel.frame_mm)}; made for a kerf of {units.length(material.kerf)}."
    )


def _reasons(build: Planned) -> str:
    """Why nothing was cut, counted: `2 islands` would need plurals of every code, so the codes' meanings serve."""
    errors = [finding for finding in build.findings if finding.severity == "error"]
    count = "one thing" if len(errors) == 1 else f"{len(errors)} things"
    meanings = dict.fromkeys(CODES[finding.code][1] for finding in errors)
    return f"{count} must change first: {'; '.join(meanings)}" if errors else "the drawing gave no sheets"


def _picture_text(build: Planned) -> str:
    names = ", ".join(layer.name for layer in build.stack.layers)
    if build.makeable:
        return f"The finished stack seen from the front, light from the top left. From back to front: {names}."
    return (
        "The stack as it is drawn. Blue hatching marks wood that would fall out; "
        f"each numbered ring marks a place to change. From back to front: {names}."
    )


def _row(place: int, sheet: Sheet, build: Planned) -> _Row:
    units = build.job.units
    return _Row(
        place=place,
        name=sheet.name,
        kind=sheet.kind,
        file=sheet.file,
        copies=sheet.copies,
        cut=units.run(sheet.cut_mm),
        mark=units.run(sheet.mark_mm),
        time=clock(sheet_seconds(sheet.times)),
        wood=units.area(sheet.wood.area),
        thumbnail=_thumbnail(place, sheet, build.stack.panel),
        words=order_words(sheet),
        order=order_svg(place, sheet, build.stack.panel),
    )


def _loose(build: Planned) -> list[tuple[Sheet, LoosePiece]]:
    """Every loose piece with its sheet, from the back forwards: the order in which they are glued."""
    return [(sheet, piece) for sheet in sheets_of(build) for piece in sheet.loose]


def _pieces(build: Planned) -> Iterator[_Piece]:
    units, words = build.job.units, piece_words(build)
    for place, (sheet, piece) in enumerate(_loose(build), start=1):
        yield _Piece(
            number=place,
            name=words[piece.id],
            sheet=sheet.name,
            size=units.size(*box_size(piece.region), 1),
            rests_on=words.get(piece.rests_on, piece.rests_on),
            glue=units.small_area(piece.contact_mm2),
            riser=piece.riser,
        )


def _marked(build: Planned) -> str:
    """Which loose pieces have a fine mark for their place: `all`, `some` or `none`."""
    steps = build.work.steps if isinstance(build, Made) else ()
    marks = [placed.locator for step in steps for placed in step.pieces]
    return "all" if marks and all(marks) else "some" if any(marks) else "none"


def _tied(build: Planned) -> str:
    """Which pieces the ties hold, each with its sheet and how many ties it has."""
    held = Counter((tie.holds, sheet.name) for sheet in sheets_of(build) for tie in sheet.ties if tie.holds)
    shown = [
        f"{name} ({sheet}, {count} {'tie' if count == 1 else 'ties'})"
        for (name, sheet), count in list(held.items())[:MOST_TIED]
    ]
    more = [f"{len(held) - MOST_TIED} more, in manifest.json"] if len(held) > MOST_TIED else []
    return "; ".join([*shown, *more])


def _piece_map(build: Planned) -> str:
    """The panel with every loose piece in its place and its number beside it; empty where there is none."""
    pieces = _loose(build)
    if not pieces:
        return ""
    panel = build.stack.panel
    size = max(panel.width_mm, panel.height_mm)
    shapes, numbers = [], []
    outlines = short_paths((piece.region for _, piece in pieces), size / THUMBNAIL_STEPS)
    for place, ((_, piece), outline) in enumerate(zip(pieces, outlines, strict=True), start=1):
        fill = "none" if piece.riser else PLYWOOD
        dashes = f' stroke-dasharray="{number(size / 100)}"' if piece.riser else ""
        shapes.append(f'<path fill="{fill}"{dashes} d="{outline}"/>')
        # Beside the piece, not on it: many are no larger than their number. Risers lie under another piece's right.
        left, _, right, _ = piece.region.bounds
        x, anchor = (left - size / 100, "end") if piece.riser else (right + size / 100, "start")
        place_text = f'<text x="{number(x)}" y="{number(piece.at_mm[1])}" dy=".35em" text-anchor="{anchor}">'
        numbers.append(f"{place_text}{place}</text>")
    return (
        f'<svg viewBox="0 0 {number(panel.width_mm)} {number(panel.height_mm)}" role="img" '
        'aria-label="Where the loose pieces go; their numbers are those of the list">'
        f"{faded_stack(build)}"
        f'<g stroke="{COLOURS["ink"]}" stroke-width="{number(size / 400)}" fill-rule="evenodd">{"".join(shapes)}</g>'
        f'<g font-size="{number(size / 26)}" fill="{COLOURS["ink"]}" stroke="{COLOURS["card"]}" '
        f'stroke-width="{number(size / 150)}" paint-order="stroke">{"".join(numbers)}</g></svg>'
    )


def _slip(build: Planned) -> str:
    """How exactly the sheets must lie on each other, in words; empty where nothing wrong can show."""
    slips = [(sheet.slip_mm, sheet.name) for sheet in sheets_of(build) if math.isfinite(sheet.slip_mm)]
    if not slips:
        return ""
    least, name = min(slips)
    if least < SLIP_EXACT_MM:
        return f"edges of {name} and of the sheets in front meet exactly, so any slip shows a thread of bare wood"
    slip = build.job.units.length(least, 1)
    return f"a sheet may slip by {slip} before a wrong edge shows; {name} is the first to show one"


def _pins(panel: Panel) -> str:
    """How pins line the sheets up: `through`, `blind` or, without pins, nothing."""
    return ("blind" if panel.blind else "through") if panel.pins else ""


def _total(build: Planned) -> str:
    # Of the rounded lengths that the table shows, so that they add up.
    unit, digits = (MM_PER_FOOT, 1) if build.job.units.imperial else (1000.0, 2)
    cut = sum(unit * round(sheet.cut_mm / unit, digits) * sheet.copies for sheet in sheets_of(build))
    return f"{build.job.units.run(cut)} of cut and about {_machine_time(build)} at the machine (an estimate)"


def _machine_time(build: Planned) -> str:
    return in_words(sum(total_parts((sheet.times, sheet.copies) for sheet in sheets_of(build))))


def _thumbnail(place: int, sheet: Sheet, panel: Panel) -> str:
    size = max(panel.width_mm, panel.height_mm)
    return (
        f'<svg viewBox="0 0 {number(panel.width_mm)} {number(panel.height_mm)}" aria-hidden="true">'
        f'<g fill="{PLYWOOD}" stroke="{EDGE}" stroke-width="{number(size / 200)}">{wood_svg(place, sheet)}</g></svg>'
    )


def _leaves(build: Planned) -> Iterator[str]:
    """Every layer's sheet for the stack that comes apart, as the picture holds it."""
    panel = build.stack.panel
    for place in range(1, len(build.stack.layers) + 1):
        yield (
            f'<svg viewBox="0 0 {number(panel.width_mm)} {number(panel.height_mm)}">'
            f'<use href="#sheet-{place}" clip-path="url(#on-{place})"/>'
            f'<use href="#wood-{place}" fill="none" stroke="{EDGE}" stroke-width="{number(RIM_MM)}"/></svg>'
        )


def _facts(build: Planned) -> Iterator[tuple[str, str]]:
    """What one wants to know first, by name."""
    panel, material, units = build.stack.panel, build.job.material, build.job.units
    yield "Panel", units.size(panel.width_mm, panel.height_mm)
    yield "Wood", f"{material.name}, {units.length(material.thickness)}"
    yield "Sheets", str(sum(sheet.copies for sheet in sheets_of(build)) or len(build.stack.layers))
    if isinstance(build, Made):
        yield "Machine, estimated", in_words(machine_seconds(build))
        yield "Weight, reckoned", units.mass(build.work.hanging.mass_g + build.work.hanging.extra_g)
    pieces = sum(len(sheet.loose) for sheet in sheets_of(build))
    if pieces:
        yield "Loose pieces", str(pieces)


def _contents(build: Planned, *, found: bool, holding: bool) -> Iterator[tuple[str, str]]:
    """The page's sections: anchor and name."""
    makeable = isinstance(build, Made)
    if makeable:
        yield "card", "Work card"
    if found:
        yield "found", "What was found"
    yield "stack", "The stack"
    if makeable:
        yield "sheets", "Sheets"
        yield "order", "Cutting order"
        if holding:
            yield "pieces", "Loose pieces" if any(sheet.loose for sheet in sheets_of(build)) else "How it holds"
        yield from section_links(build)
        yield "steps", "Order of work"
    yield "care", "Take care"
