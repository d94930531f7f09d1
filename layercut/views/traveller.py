"""The traveller: the page that goes with the job to the machine, the paint table and the glue-up.

Enters: a `Build` and its picture. Leaves: one HTML file that needs nothing else: no script, no font, no request.
Holds: every name from the drawing is escaped; every time is called an estimate; every colour pair of the page's text
has a contrast of at least 4.5 to 1.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from itertools import groupby
from pathlib import PurePath

import shapely
from jinja2 import Environment, StrictUndefined, Template

from layercut.findings import CODES, Finding, Severity
from layercut.geometry.regions import as_region, box_size
from layercut.model import Build, LoosePiece, Sheet
from layercut.views.composite import EDGE, PLYWOOD, numbered_errors
from layercut.views.manifest import ordered_findings
from layercut.views.svg_text import number, region_path

COLOURS = {
    "paper": "#faf5ea",
    "card": "#f1e8d6",
    "ink": "#2c2318",
    "soft": "#5f503d",
    "line": "#cdbb9c",
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
)
"""Every colour of text with every ground that it stands on."""

SLIP_EXACT_MM = 0.1
"""Nobody lays sheets on each other closer than this."""

THUMBNAIL_STEPS = 500
"""A thumbnail leaves out detail finer than this part of the panel: it is as wide as a thumb."""

NOTES_PER_CODE = 8
"""Warnings, or remarks, of one code that the page shows."""

HEADINGS: dict[Severity, str] = {
    "error": "Must be changed before anything is cut",
    "warning": "Worth a look",
    "info": "Good to know",
}


@dataclass(frozen=True, slots=True)
class _Note:
    """A finding as the page shows it; `ring` is its number in the picture, 0 for none."""

    ring: int
    message: str
    where: str


@dataclass(frozen=True, slots=True)
class _NoteGroup:
    """The findings of one code and severity; `more` counts those that are left to the manifest."""

    code: str
    meaning: str
    notes: tuple[_Note, ...]
    more: int


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
    minutes: str
    wood: str
    thumbnail: str


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


def traveller_html(build: Build, picture_svg: str) -> str:
    """The page as text. `picture_svg` is SVG from `compose_svg`, put into the page as it is.

    A drawing that can't be made gives a page that says so, why and where, instead of sheets and steps.
    """
    return _template().render(
        stem=PurePath(build.drawing.file).stem,
        file=build.drawing.file,
        job=_job_sentence(build),
        makeable=build.makeable and bool(build.sheets),
        reasons=_reasons(build),
        picture=picture_svg,
        picture_text=_picture_text(build),
        groups={severity: tuple(_groups(build, severity)) for severity in HEADINGS},
        headings=HEADINGS,
        rows=tuple(_row(place, sheet, build) for place, sheet in enumerate(build.sheets, start=1)),
        total=_total(build),
        pieces=tuple(_pieces(build)),
        piece_map=_piece_map(build),
        ties=sum(len(sheet.ties) for sheet in build.sheets),
        slip=_slip(build),
        proof=build.proof,
        pins=bool(build.stack.panel.pins),
        spacers=any(sheet.kind == "spacer" for sheet in build.sheets),
        first=build.sheets[0].name if build.sheets else "",
        colours=COLOURS,
    )


@cache
def _template() -> Template:
    text = (files("layercut.views") / "traveller.html").read_text(encoding="utf-8")
    environment = Environment(autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True)
    return environment.from_string(text)


def _job_sentence(build: Build) -> str:
    panel, material = build.stack.panel, build.job.material
    count = len(build.sheets) or len(build.stack.layers)
    sheets = sum(sheet.copies for sheet in build.sheets) or count
    return (
        f"A panel of {_mm(panel.width_mm)} × {_mm(panel.height_mm)} mm from {sheets} "  # noqa: RUF001
        f"{'sheet' if sheets == 1 else 'sheets'} of {material.name}, {_mm(material.thickness)} mm thick, "
        f"with a frame of {_mm(panel.frame_mm)} mm; made for a kerf of {_mm(material.kerf)} mm."
    )


def _reasons(build: Build) -> str:
    """Why nothing was cut, counted: `2 islands` would need plurals of every code, so the codes' meanings serve."""
    errors = [finding for finding in build.findings if finding.severity == "error"]
    count = "one thing" if len(errors) == 1 else f"{len(errors)} things"
    meanings = dict.fromkeys(CODES[finding.code][1] for finding in errors)
    return f"{count} must change first: {'; '.join(meanings)}" if errors else "the drawing gave no sheets"


def _picture_text(build: Build) -> str:
    names = ", ".join(layer.name for layer in build.stack.layers)
    if build.makeable:
        return f"The finished stack seen from the front, light from the top left. From back to front: {names}."
    return (
        "The stack as it is drawn. Blue hatching marks wood that would fall out; "
        f"each numbered ring marks a place to change. From back to front: {names}."
    )


def _groups(build: Build, severity: Severity) -> Iterator[_NoteGroup]:
    rings = {id(finding): ring for ring, finding in numbered_errors(build)}
    found = sorted(
        (f for f in ordered_findings(build) if f.severity == severity), key=lambda f: list(CODES).index(f.code)
    )
    for code, findings in groupby(found, key=lambda f: f.code):
        notes = tuple(_Note(rings.get(id(f), 0), f.message, _where(f)) for f in findings)
        # Every error has its number in the picture, so none is left out; the rest must not bury the sheets.
        shown = len(notes) if severity == "error" else NOTES_PER_CODE
        yield _NoteGroup(code, CODES[code][1], notes[:shown], max(len(notes) - shown, 0))


def _where(finding: Finding) -> str:
    """Layer, element, place and size, as far as known and not said already."""
    element = "" if finding.element in finding.message else finding.element
    parts = [f"layer {finding.layer}" if finding.layer else "", element]
    if finding.at_mm is not None:
        parts.append(f"{finding.at_mm[0]:.1f} mm from the left, {finding.at_mm[1]:.1f} mm from the top")
    if finding.size_mm:
        parts.append(" × ".join(f"{size:.2f}" for size in finding.size_mm) + " mm")  # noqa: RUF001
    return " · ".join(part for part in parts if part)


def _row(place: int, sheet: Sheet, build: Build) -> _Row:
    return _Row(
        place=place,
        name=sheet.name,
        kind=sheet.kind,
        file=sheet.file,
        copies=sheet.copies,
        cut=_metres(sheet.cut_mm),
        mark=_metres(sheet.mark_mm),
        minutes=_minutes(sheet.seconds),
        wood=f"{sheet.wood.area / 100:.1f} cm²",
        thumbnail=_thumbnail(sheet, build),
    )


def _loose(build: Build) -> list[tuple[Sheet, LoosePiece]]:
    """Every loose piece with its sheet, from the back forwards: the order in which they are glued."""
    return [(sheet, piece) for sheet in build.sheets for piece in sheet.loose]


def _pieces(build: Build) -> Iterator[_Piece]:
    for place, (sheet, piece) in enumerate(_loose(build), start=1):
        width, height = box_size(piece.region)
        yield _Piece(
            number=place,
            name=piece.id,
            sheet=sheet.name,
            size=f"{width:.1f} × {height:.1f} mm",  # noqa: RUF001
            rests_on=piece.rests_on,
            glue=f"{piece.contact_mm2:.0f} mm²",
            riser=piece.riser,
        )


def _piece_map(build: Build) -> str:
    """The panel with every loose piece in its place and its number beside it; empty where there is none."""
    pieces = _loose(build)
    if not pieces:
        return ""
    panel = build.stack.panel
    size = max(panel.width_mm, panel.height_mm)
    shapes, numbers = [], []
    for place, (_, piece) in enumerate(pieces, start=1):
        outline = as_region(shapely.simplify(piece.region, size / THUMBNAIL_STEPS, preserve_topology=False))
        fill = "none" if piece.riser else PLYWOOD
        dashes = f' stroke-dasharray="{number(size / 100)}"' if piece.riser else ""
        shapes.append(f'<path fill="{fill}"{dashes} d="{region_path(outline)}"/>')
        x, y = piece.at_mm
        numbers.append(f'<text x="{number(x)}" y="{number(y)}" dy=".35em">{place}</text>')
    frame = region_path(panel.frame)
    return (
        f'<svg viewBox="0 0 {number(panel.width_mm)} {number(panel.height_mm)}" role="img" '
        'aria-label="Where the loose pieces go; their numbers are those of the list">'
        f'<g stroke="{EDGE}" stroke-width="{number(size / 500)}" fill-rule="evenodd">'
        f'<path fill="{PLYWOOD}" d="{frame}"/>{"".join(shapes)}</g>'
        f'<g font-size="{number(size / 45)}" text-anchor="middle" fill="{COLOURS["ink"]}" stroke="{COLOURS["card"]}" '
        f'stroke-width="{number(size / 250)}" paint-order="stroke">{"".join(numbers)}</g></svg>'
    )


def _slip(build: Build) -> str:
    """How exactly the sheets must lie on each other, in words; empty where nothing wrong can show."""
    slips = [(sheet.slip_mm, sheet.name) for sheet in build.sheets if math.isfinite(sheet.slip_mm)]
    if not slips:
        return ""
    least, name = min(slips)
    if least < SLIP_EXACT_MM:
        return f"edges of {name} and of the sheets in front meet exactly, so any slip shows a thread of bare wood"
    return f"a sheet may slip by {least:.1f} mm before a wrong edge shows; {name} is the first to show one"


def _total(build: Build) -> str:
    seconds = sum(sheet.seconds * sheet.copies for sheet in build.sheets)
    cut = sum(sheet.cut_mm * sheet.copies for sheet in build.sheets)
    return f"{_metres(cut)} of cut and about {_minutes(seconds)} at the machine (an estimate)"


def _thumbnail(sheet: Sheet, build: Build) -> str:
    panel = build.stack.panel
    size = max(panel.width_mm, panel.height_mm)
    wood = as_region(shapely.simplify(sheet.wood, size / THUMBNAIL_STEPS, preserve_topology=False))
    return (
        f'<svg viewBox="0 0 {number(panel.width_mm)} {number(panel.height_mm)}" aria-hidden="true">'
        f'<path fill="{PLYWOOD}" stroke="{EDGE}" stroke-width="{number(size / 200)}" fill-rule="evenodd" '
        f'd="{region_path(wood)}"/></svg>'
    )


def _mm(value: float) -> str:
    return number(round(value, 2))


def _metres(length_mm: float) -> str:
    return f"{length_mm / 1000:.2f} m"


def _minutes(seconds: float) -> str:
    """Rounded up to a whole minute, because an estimate on the short side makes somebody leave too late."""
    minutes = math.ceil(seconds / 60)
    return f"{minutes} min" if minutes < 120 else f"{minutes // 60} h {minutes % 60:02d} min"
