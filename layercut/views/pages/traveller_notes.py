"""The findings as the traveller tells them: grouped, in words, and marked on the drawing where they are.

Enters: a `Build`. Leaves: groups of notes, and the map that bears their numbers. Holds: a number stands for the same
finding in the picture, on the map and in the list; every error is listed.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby

from layercut.findings import CODES, Finding, Severity
from layercut.model import Planned
from layercut.units import Units, said_mm, said_number
from layercut.views.picture.stack_svg import RING, numbered_errors, ring_svg
from layercut.views.svg_text import number

NOTES_PER_CODE = 8
"""Warnings, or remarks, of one code that the page shows."""

QUIET_RING = "#7a4a1e"
"""Rings at warnings and remarks, the page's accent."""

HEADINGS: dict[Severity, str] = {
    "error": "Must be changed before anything is cut",
    "warning": "Worth a look",
    "info": "Good to know",
}


@dataclass(frozen=True, slots=True)
class Note:
    """A finding as the page shows it; `ring` is its number on the drawing, 0 for none."""

    ring: int
    message: str
    where: str


@dataclass(frozen=True, slots=True)
class NoteGroup:
    """The findings of one code and severity; `more` counts those that are left to the manifest."""

    code: str
    meaning: str
    notes: tuple[Note, ...]
    more: int


def note_groups(build: Planned) -> dict[Severity, tuple[NoteGroup, ...]]:
    """The findings by severity, errors first, and within it by code."""
    rings = {id(finding): ring for ring, finding in numbered_findings(build)}
    return {severity: tuple(_groups(build, severity, rings)) for severity in HEADINGS}


def numbered_findings(build: Planned) -> tuple[tuple[int, Finding], ...]:
    """The findings that have a place and are listed, with their numbers: errors as in the picture, then the rest."""
    errors = [finding for _, finding in numbered_errors(build)]
    others = [
        finding
        for severity in HEADINGS
        if severity != "error"
        for _, findings in _by_code(build, severity)
        for finding in findings[:NOTES_PER_CODE]
        if finding.at_mm is not None
    ]
    return tuple(enumerate((*errors, *others), start=1))


def notes_map(build: Planned) -> str:
    """The flat stack with every number of the list where it belongs; empty where the picture has them all."""
    numbered = numbered_findings(build)
    if all(finding.severity == "error" for _, finding in numbered):
        return ""
    panel = build.stack.panel
    size = max(panel.width_mm, panel.height_mm)
    scale = size / (200 if len(numbered) <= 12 else 250)
    rings = "".join(
        ring_svg(place, finding, scale, build.job.units, RING if finding.severity == "error" else QUIET_RING)
        for place, finding in numbered
    )
    margin = size / 25
    box = (-margin, -margin, panel.width_mm + 2 * margin, panel.height_mm + 2 * margin)
    return (
        f'<svg viewBox="{" ".join(map(number, box))}" role="img" '
        f'aria-label="The drawing with a numbered ring at each place of the list">'
        f"{faded_stack(build)}{rings}</svg>"
    )


def faded_stack(build: Planned) -> str:
    """The flat stack, faded, for maps to lie upon; the page's picture holds the sheets."""
    sheets = "".join(
        f'<use href="#sheet-{place}" clip-path="url(#on-{place})"/>'
        for place in range(1, len(build.stack.layers) + 1)
    )
    return f'<g opacity=".45">{sheets}</g>'


def _by_code(build: Planned, severity: Severity) -> Iterator[tuple[str, list[Finding]]]:
    order = list(CODES)
    found = sorted(
        (finding for finding in build.findings if finding.severity == severity),
        key=lambda finding: order.index(finding.code),
    )
    for code, findings in groupby(found, key=lambda finding: finding.code):
        yield code, list(findings)


def _groups(build: Planned, severity: Severity, rings: dict[int, int]) -> Iterator[NoteGroup]:
    units = build.job.units
    for code, findings in _by_code(build, severity):
        # Every error has its number in the picture, so none is left out; the rest must not bury the sheets.
        shown = findings if severity == "error" else findings[:NOTES_PER_CODE]
        notes = tuple(Note(rings.get(id(f), 0), units.told(f.text), _where(f, units)) for f in shown)
        yield NoteGroup(code, CODES[code][1], notes, len(findings) - len(shown))


def _where(finding: Finding, units: Units) -> str:
    """Layer, element, place and size, as far as known and not said already."""
    element = "" if finding.element in finding.message else finding.element
    parts = [f"layer {finding.layer}" if finding.layer else "", element]
    if finding.at_mm is not None:
        left, top = (units.told(said_mm(side, ".1f")) for side in finding.at_mm)
        parts.append(f"{left} from the left, {top} from the top")
    if finding.size_mm:
        *width, last = finding.size_mm
        size = [*(said_number(side, ".2f") for side in width), said_mm(last, ".2f")]
        parts.append(units.told(" × ".join(size)))  # noqa: RUF001
    return " · ".join(part for part in parts if part)
