"""The cutting order of each sheet, as passes that the traveller draws one after the other.

Enters: a `Sheet`. Leaves: its SVG: its wood, and every mark and contour in burning order, bundled into passes.
Holds: no more passes than one cares to watch, whatever the drawing has; without a script all of them show, upon the
finished sheet.
"""

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from layercut.colour.bare import PLYWOOD
from layercut.model import Panel, Sheet
from layercut.views.picture.stack_svg import EDGE
from layercut.views.svg_text import curve_paths, curves_path, number, plain, region_path

ORDER_STEPS = 1600
"""A step of the order's drawings, as a part of the panel: half a pixel on a wide screen; pens are a few of them
wide."""

MOST_PASSES = {"areas": 6, "lines": 10, "openings": 24}
"""Marks and contours are bundled into so many passes at most."""


@dataclass(frozen=True, slots=True)
class Pass:
    """A bundle of what is burnt: its kind, what to say of it, its path data."""

    kind: str
    words: str
    path: str


def order_svg(place: int, sheet: Sheet, panel: Panel) -> str:
    """The sheet with its passes; `place` is its number, from 1, whose wood the page's picture holds."""
    step = max(panel.width_mm, panel.height_mm) / ORDER_STEPS
    passes = "".join(
        f'<path class="pass {part.kind}" pathLength="1" data-words="{plain(part.words)}" d="{part.path}"/>'
        for part in passes_of(sheet)
    )
    margin = 6 * step
    box = (-margin, -margin, panel.width_mm + 2 * margin, panel.height_mm + 2 * margin)
    return (
        f'<svg class="order" viewBox="{" ".join(map(number, box))}" role="img" '
        f'aria-label="{plain(_described(sheet))}">'
        f"{_board(sheet, panel)}"
        f'<g class="wood" fill="{PLYWOOD}" stroke="{EDGE}" stroke-width="{number(2 * step)}">'
        f"{wood_svg(place, sheet)}</g>"
        f'<g fill="none" stroke-width="{number(3 * step)}" stroke-linejoin="round">{passes}</g></svg>'
    )


def _board(sheet: Sheet, panel: Panel) -> str:
    """What the sheet is cut out of: the panel, or for strips a board as large."""
    if not sheet.strips:
        return f'<use href="#panel" class="board" fill="{PLYWOOD}"/>'
    size = f'width="{number(panel.width_mm)}" height="{number(panel.height_mm)}"'
    return f'<rect class="board" fill="{PLYWOOD}" {size}/>'


def passes_of(sheet: Sheet) -> Iterator[Pass]:
    """What is burnt, in order, as the curves that are written: areas, lines, openings, the rim."""
    curves = sheet.curves
    for kind, name, paths in (
        ("areas", "Marked areas", [curves_path(area) for area in curves.mark_areas]),
        ("lines", "Marked lines", curve_paths(curves.mark_lines)),
        ("openings", "Openings", curve_paths(curves.openings[: sheet.inner_count])),
    ):
        for first, bundle in _bundles(paths, MOST_PASSES[kind]):
            last = first + len(bundle) - 1
            which = f"{first}" if first == last else f"{first} to {last}"
            yield Pass(kind, f"{name}: {which} of {len(paths)}", "".join(bundle))
    rims = "Strip by strip, last of all" if sheet.strips else "The rim, last of all"
    yield Pass("rim", rims, curves_path(sheet.rim_curves))


def _bundles(paths: Sequence[str], most: int) -> Iterator[tuple[int, Sequence[str]]]:
    """Bundles of about the same number, each with the number of its first path, from 1."""
    edges = np.linspace(0, len(paths), min(len(paths), most) + 1).astype(int).tolist()
    for first, end in itertools.pairwise(edges):
        yield first + 1, paths[first:end]


def wood_svg(place: int, sheet: Sheet) -> str:
    """The sheet's wood; that of layers is in the page's picture already, that of spacers isn't."""
    if sheet.kind == "layer":
        return f'<use href="#wood-{place}"/>'
    return f'<path fill-rule="evenodd" d="{region_path(sheet.wood)}"/>'


def order_words(sheet: Sheet) -> str:
    """What is burnt on a sheet, in order, as one sentence."""
    parts = _counted(sheet)
    inner = " from the inside out" if sheet.inner_count > 1 and not sheet.strips else ""
    rim = f"{len(sheet.strips)} strips" if sheet.strips else "the rim"
    words = f"{', then '.join(parts)}{inner}, and {rim} last." if parts else f"{rim[0].upper()}{rim[1:]} only."
    return words[0].upper() + words[1:]


def _described(sheet: Sheet) -> str:
    rim = "strips" if sheet.strips else "rim"
    return f"Sheet {sheet.name} with its {', '.join((*_counted(sheet), rim))}"


def _counted(sheet: Sheet) -> list[str]:
    counts = (
        (len(sheet.mark_areas), "marked area", "marked areas"),
        (len(sheet.mark_lines), "marked line", "marked lines"),
        (sheet.inner_count, "opening", "openings"),
    )
    return [f"{count} {one if count == 1 else many}" for count, one, many in counts if count]
