"""A build in the page's words: values of plain numbers and texts, with the pictures as SVG.

Enters: a build. Leaves: the parts of the page's state, frozen; their fields are the keys that page.js reads. Holds:
numbers are mm on the panel, words are in the job's units; nothing is decided here that isn't in the build.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from layercut.colour.bare import PLYWOOD
from layercut.geometry.regions import Region, as_region, box_size, point_on
from layercut.geometry.thinning import thinned
from layercut.model import Choice, Cut, Made, Planned, Price, Proof, Sheet, Stack
from layercut.units import MILLIMETRES, Units, said_mm, said_size
from layercut.views.durations import in_words, sheet_seconds
from layercut.views.picture.scene import BURNT, EDGE, MARK_MM, Box, numbered_errors, stack_box, stack_pieces
from layercut.views.picture.stack_svg import compose_svg
from layercut.views.svg_text import curves_path, number, region_path

OUTLINE_STEPS = 1500
"""Outlines of islands leave out detail finer than this part of the panel."""

SHOWN_FINDINGS = 200
"""So many findings are listed; the rest are counted."""

DONE = {"": "left as it is", "tie": "tied", "loose": "cut loose", "behind": "painted behind", "out": "omitted"}
"""What is done about a piece, as the page says it."""


@dataclass(frozen=True, slots=True)
class PictureView:
    """A picture, and what it shows: left, top, width and height, mm on the panel."""

    svg: str
    box: Box


@dataclass(frozen=True, slots=True)
class FindingView:
    """A finding; `at` is its place, mm, `place` the same in words, `ring` its number in the picture, 0 for none."""

    code: str
    severity: str
    message: str
    layer: str
    at: tuple[float, float] | None
    ring: int
    place: str = ""


@dataclass(frozen=True, slots=True)
class FindingsView:
    """The findings that are listed, and how many more there are."""

    listed: tuple[FindingView, ...]
    more: int


@dataclass(frozen=True, slots=True)
class WayView:
    """One way out of a piece: its price, or why it can't be."""

    policy: str
    price: str
    why: str


@dataclass(frozen=True, slots=True)
class IslandView:
    """A piece about which something must be done, what is done about it, and its ways out.

    `policy` is what the job says; `own` that it says so for this piece by name.
    """

    id: str
    names: tuple[str, ...]
    layer: str
    element: str
    size: str
    neck: str
    at: tuple[float, float]
    path: str
    policy: str
    own: bool
    chosen: str
    ways: tuple[WayView, ...]


@dataclass(frozen=True, slots=True)
class SheetView:
    """A sheet: its picture, what is cut and marked in words. `svg` is the picture's text, on the page its address."""

    name: str
    kind: str
    place: int
    copies: int
    openings: int
    facts: str
    ties: int
    loose: int
    svg: str


def view_picture(build: Planned) -> PictureView:
    """The stack as it will hang on the wall."""
    return PictureView(compose_svg(build), stack_box(build, stack_pieces(build)))


def view_findings(build: Planned) -> FindingsView:
    """The findings in their order, with their rings in the picture."""
    rings = {id(finding): ring for ring, finding in numbered_errors(build)}
    units = build.job.units
    listed = tuple(
        FindingView(
            finding.code,
            finding.severity,
            units.told(finding.text),
            finding.layer,
            finding.at_mm,
            rings.get(id(finding), 0),
            units.place(*finding.at_mm) if finding.at_mm else "",
        )
        for finding in build.findings[:SHOWN_FINDINGS]
    )
    return FindingsView(listed, max(len(build.findings) - SHOWN_FINDINGS, 0))


def view_sheets(build: Cut) -> tuple[SheetView, ...]:
    """Every sheet as it is cut, from the back."""
    return tuple(_sheet(place, sheet, build) for place, sheet in enumerate(build.sheets, start=1))


def view_islands(build: Planned, weighed: Stack) -> tuple[IslandView, ...]:
    """Every piece about which something must be done, once, from the back sheet forwards; `weighed` is a stack in
    which the ways out of each were weighed, the build's own where that is one."""
    prices = {choice.id: choice.ways for layer in weighed.layers for choice in layer.choices}
    return tuple(
        _island(layer, choice, prices.get(choice.id, choice.ways), build) for layer, choice in _pieces(build.stack)
    )


def _pieces(stack: Stack) -> Iterator[tuple[str, Choice]]:
    """Each piece with its layer's name, once: what a cut made of one island in several pieces shares its choice."""
    seen: set[str] = set()
    for layer in stack.layers:
        for choice in layer.choices:
            if seen.isdisjoint(choice.names) and choice.id not in seen:
                seen.add(choice.id)
                yield layer.name, choice


def _island(layer: str, choice: Choice, ways: Sequence[Price], build: Planned) -> IslandView:
    width, height = box_size(choice.region)
    units = build.job.units
    return IslandView(
        id=choice.id,
        names=choice.names,
        layer=layer,
        element=choice.name,
        size=units.told(said_size(width, height, sign="×")),  # noqa: RUF001
        neck=units.told(said_mm(choice.neck_mm, ".2f")) if choice.neck_mm is not None else "",
        at=point_on(choice.region),
        path=region_path(_thin(choice.region, build)),
        policy=build.job.islands.policy_for(layer, choice.names),
        own=build.job.islands.choice_for(choice.names) is not None,
        chosen=choice.chosen or "",
        ways=tuple(WayView(way.policy, _price(way.mm2, units), units.told(way.why)) for way in ways),
    )


def _price(mm2: float | None, units: Units) -> str:
    return "" if mm2 is None else units.small_area(mm2, 1)


def what_changed(before: Sequence[IslandView], now: Sequence[IslandView]) -> tuple[str, ...]:
    """A sentence for each piece about which something else is done now than before."""
    was = {one.id: one.chosen for one in before}
    return tuple(
        f"{one.id} was {DONE[was[one.id]]} and is {DONE[one.chosen]} now{_price_of(one)}."
        for one in now
        if one.id in was and was[one.id] != one.chosen
    )


def _price_of(one: IslandView) -> str:
    price = next((way.price for way in one.ways if way.policy == one.chosen), "")
    return f" ({price})" if price else ""


def outcome_words(build: Planned) -> str:
    """What came of a run, in a sentence; empty where nothing is decided yet."""
    if not build.makeable:
        count = sum(finding.severity == "error" for finding in build.findings)
        return f"It can't be made as drawn: {'one thing' if count == 1 else f'{count} things'} must change first."
    if not isinstance(build, Made):
        return ""
    sheets = sum(sheet.copies for sheet in build.sheets)
    return f"It can be made: {sheets} {'sheet' if sheets == 1 else 'sheets'}."


def proof_words(proof: Proof, units: Units = MILLIMETRES) -> str:
    """What the proof found: as the traveller says it, for a proof that fails makes nothing."""
    wrong = units.small_area(proof.stack_mismatch_mm2, 2)
    return (
        f"Proof: the sheets, read back and cut in thought, make the drawing; {proof.pieces_found} of "
        f"{proof.pieces_planned} planned pieces come off the bed, and {wrong} of the "
        "picture differ from the plan."
    )


def _sheet(place: int, sheet: Sheet, build: Cut) -> SheetView:
    units = build.job.units
    return SheetView(
        name=sheet.name,
        kind=sheet.kind,
        place=place,
        copies=sheet.copies,
        openings=len(sheet.openings),
        facts=f"{units.run(sheet.cut_mm)} to cut, {units.run(sheet.mark_mm)} to mark, "
        f"about {in_words(sheet_seconds(sheet.times))}",
        ties=len(sheet.ties),
        loose=sum(not piece.riser for piece in sheet.loose),
        svg=_sheet_svg(sheet, build),
    )


def _sheet_svg(sheet: Sheet, build: Cut) -> str:
    """What the cuts leave of a sheet, with what is engraved on it: the very curves that are written."""
    panel, curves = build.stack.panel, sheet.curves
    size = max(panel.width_mm, panel.height_mm)
    edge, pen = number(size / 500), number(max(MARK_MM, size / 700))
    cuts = curves_path([*curves.openings, curves.outline])
    areas = curves_path([ring for area in curves.mark_areas for ring in area])
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{number(-size / 50)} {number(-size / 50)} '
        f'{number(panel.width_mm + size / 25)} {number(panel.height_mm + size / 25)}">'
        f'<path fill="{PLYWOOD}" stroke="{EDGE}" stroke-width="{edge}" fill-rule="evenodd" d="{cuts}"/>'
        f'<path fill="{BURNT}" fill-opacity=".5" fill-rule="evenodd" d="{areas}"/>'
        f'<path fill="none" stroke="{BURNT}" stroke-opacity=".7" stroke-width="{pen}" '
        f'd="{curves_path(curves.mark_lines)}"/></svg>'
    )


def _thin(region: Region, build: Planned) -> Region:
    panel = build.stack.panel
    tolerance = max(panel.width_mm, panel.height_mm) / OUTLINE_STEPS
    return as_region(thinned(region, tolerance))
