"""A build in the page's words: plain JSON values and pictures.

Enters: a `Build`. Leaves: dicts that the page's script reads. Holds: numbers are mm on the panel; nothing is decided
here that isn't in the build.
"""

import re
from collections.abc import Sequence
from typing import Any

from layercut.colour.bare import PLYWOOD
from layercut.geometry.regions import Region, as_region, box_size, point_on
from layercut.geometry.thinning import thinned
from layercut.model import Build, Choice, Price, Sheet, Stack
from layercut.views.durations import in_words, sheet_seconds
from layercut.views.manifest import ordered_findings
from layercut.views.scene import BURNT, EDGE, MARK_MM, numbered_errors
from layercut.views.svg_text import lines_path, number, region_path

OUTLINE_STEPS = 1500
"""Outlines of islands and sheets leave out detail finer than this part of the panel."""

SHOWN_FINDINGS = 200
"""So many findings are listed; the rest are counted."""

_VIEW_BOX = re.compile(r'viewBox="([-\d.]+) ([-\d.]+) ([-\d.]+) ([-\d.]+)"')


def picture_box(svg: str) -> list[float]:
    """Left, top, width and height of a picture in panel mm: its `viewBox`.

    Raises ValueError for a text without one.
    """
    match = _VIEW_BOX.search(svg)
    if match is None:
        raise ValueError("a picture without a viewBox")
    return [float(part) for part in match.groups()]


def show_stack(build: Build, picture: str) -> dict[str, Any]:
    """What is known once the stack is settled: the picture with ties, the findings and the islands."""
    return {
        "svg": picture,
        "box": picture_box(picture),
        **_found(build),
        "islands": show_islands(build, build.stack),
        "island_policy": build.job.islands.policy,
        "outcome": _outcome(build),
    }


def show_sheets(build: Build, picture: str) -> dict[str, Any]:
    """What is known once the sheets are cut: the finished picture, every sheet, and the findings about them."""
    return {
        "svg": picture,
        "box": picture_box(picture),
        **_found(build),
        "sheets": [_sheet(place, sheet, build) for place, sheet in enumerate(build.sheets, start=1)],
        "outcome": _outcome(build),
    }


def show_islands(build: Build, weighed: Stack) -> list[dict[str, Any]]:
    """Every piece about which something must be done, once, from the back sheet forwards; `weighed` is a stack in
    which the ways out of each were weighed, the build's own where that is one."""
    prices = {choice.id: choice.ways for layer in weighed.layers for choice in layer.choices}
    found: dict[str, dict[str, Any]] = {}
    for layer in build.stack.layers:
        for choice in layer.choices:
            # What a cut made of one island in several pieces shares its choice.
            if found.keys().isdisjoint(choice.names):
                found[choice.id] = _island(layer.name, choice, prices.get(choice.id, choice.ways), build)
    return list(found.values())


def _island(layer: str, choice: Choice, ways: Sequence[Price], build: Build) -> dict[str, Any]:
    width, height = box_size(choice.region)
    return {
        "id": choice.id,
        "names": list(choice.names),
        "layer": layer,
        "element": choice.name,
        "size": f"{width:.1f} × {height:.1f} mm",  # noqa: RUF001
        "neck": f"{choice.neck_mm:.2f} mm" if choice.neck_mm is not None else "",
        "at": list(point_on(choice.region)),
        "path": region_path(_thin(choice.region, build)),
        "policy": build.job.islands.policy_for(layer, choice.names),
        "own": build.job.islands.choice_for(choice.names) is not None,
        "chosen": choice.chosen or "",
        "ways": [{"policy": way.policy, "price": _mm2(way.mm2), "why": way.why} for way in ways],
    }


def _mm2(value: float | None) -> str:
    return "" if value is None else f"{value:.1f} mm²"


DONE = {"": "left as it is", "tie": "tied", "loose": "cut loose", "behind": "painted behind", "out": "omitted"}
"""What is done about a piece, as the page says it."""


def what_changed(before: Sequence[dict[str, Any]], now: Sequence[dict[str, Any]]) -> list[str]:
    """A sentence for each piece about which something else is done now than before."""
    was: dict[str, str] = {one["id"]: one["chosen"] for one in before if "chosen" in one}
    return [
        f"{one['id']} was {DONE[was[one['id']]]} and is {DONE[one['chosen']]} now{_price_of(one)}."
        for one in now
        if one["id"] in was and was[one["id"]] != one["chosen"]
    ]


def _price_of(one: dict[str, Any]) -> str:
    price = next((way["price"] for way in one["ways"] if way["policy"] == one["chosen"]), "")
    return f" ({price})" if price else ""


def _found(build: Build) -> dict[str, Any]:
    rings = {id(finding): ring for ring, finding in numbered_errors(build)}
    findings = ordered_findings(build)
    listed = [
        {
            "code": finding.code,
            "severity": finding.severity,
            "message": finding.message,
            "layer": finding.layer,
            "at": list(finding.at_mm) if finding.at_mm is not None else None,
            "ring": rings.get(id(finding), 0),
        }
        for finding in findings[:SHOWN_FINDINGS]
    ]
    return {"findings": listed, "more_findings": max(len(findings) - SHOWN_FINDINGS, 0)}


def _outcome(build: Build) -> str:
    if not build.makeable:
        count = sum(finding.severity == "error" for finding in build.findings)
        return f"It can't be made as drawn: {'one thing' if count == 1 else f'{count} things'} must change first."
    if not build.sheets:
        return ""
    sheets = sum(sheet.copies for sheet in build.sheets)
    return f"It can be made: {sheets} {'sheet' if sheets == 1 else 'sheets'}."


def _sheet(place: int, sheet: Sheet, build: Build) -> dict[str, Any]:
    return {
        "name": sheet.name,
        "kind": sheet.kind,
        "place": place,
        "copies": sheet.copies,
        "openings": len(sheet.openings),
        "facts": f"{sheet.cut_mm / 1000:.2f} m to cut, {sheet.mark_mm / 1000:.2f} m to mark, "
        f"about {in_words(sheet_seconds(sheet.times))}",
        "ties": len(sheet.ties),
        "loose": sum(not piece.riser for piece in sheet.loose),
        "svg": _sheet_svg(sheet, build),
    }


def _sheet_svg(sheet: Sheet, build: Build) -> str:
    """The wood that is left of a sheet, with what is engraved on it."""
    panel = build.stack.panel
    size = max(panel.width_mm, panel.height_mm)
    edge, pen = number(size / 500), number(max(MARK_MM, size / 700))
    areas = "".join(region_path(_thin(area, build)) for area in sheet.mark_areas)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{number(-size / 50)} {number(-size / 50)} '
        f'{number(panel.width_mm + size / 25)} {number(panel.height_mm + size / 25)}">'
        f'<path fill="{PLYWOOD}" stroke="{EDGE}" stroke-width="{edge}" fill-rule="evenodd" '
        f'd="{region_path(_thin(sheet.wood, build))}"/>'
        f'<path fill="{BURNT}" fill-opacity=".5" fill-rule="evenodd" d="{areas}"/>'
        f'<path fill="none" stroke="{BURNT}" stroke-opacity=".7" stroke-width="{pen}" '
        f'd="{lines_path(sheet.mark_lines)}"/></svg>'
    )


def _thin(region: Region, build: Build) -> Region:
    panel = build.stack.panel
    tolerance = max(panel.width_mm, panel.height_mm) / OUTLINE_STEPS
    return as_region(thinned(region, tolerance))
