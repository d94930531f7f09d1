"""Strips in pictures: which lies where on its board, and where it goes in its spacer.

Enters: a build whose spacers are glued from strips. Leaves: pictures with captions, strips numbered in strokes, so
that they need no font. Nothing is engraved on the strips: these numbers are on the page only.
"""

from collections.abc import Iterable, Iterator, Sequence

import shapely
from shapely import Polygon
from shapely.affinity import scale

from layercut.colour.bare import PLYWOOD
from layercut.model import Made, Panel, Strip
from layercut.views.pages.map_notes import INK
from layercut.views.pages.sections.filling import Picture
from layercut.views.svg_text import number, region_path, stroke_digits

DIGITS_OF_WIDTH = 0.55
"""Height of a number, in widths of a strip."""

MOST_RINGS = 2
"""So many rings are drawn: every other one is laid alike."""


def strip_pictures(build: Made) -> Iterator[Picture]:
    """Each sheet of strips, then the first spacers from behind. Empty where spacers are cut whole.

    Where the strips are cut from boards with all else, the boards are shown in a section of their own.
    """
    panel, high = build.stack.panel, DIGITS_OF_WIDTH * build.work.hanging.spacer_width_mm
    boards = [sheet for sheet in build.sheets if sheet.strips]
    for sheet in boards if build.boards is None else ():
        words = f"{sheet.file}: write the number on each strip as it comes off the bed."
        yield _picture([(one, one.laid) for one in sheet.strips], panel, high, words, board=True)
    strips = sorted((one for sheet in boards for one in sheet.strips), key=lambda one: one.number)
    for spacer in sorted({strip.spacer for strip in strips})[:MOST_RINGS]:
        mine = [strip for strip in strips if strip.spacer == spacer]
        words = f"Spacer {spacer} seen from behind, as it is glued on: {numbers_of(mine)}."
        if others := _alike(strips, spacer):
            words = f"{words.removesuffix('.')}; so are {others}."
        yield _picture([(one, _from_behind(one.placed, panel)) for one in mine], panel, high, words)


def numbers_of(strips: Sequence[Strip]) -> str:
    """`strips 5 to 8`."""
    return f"strips {strips[0].number} to {strips[-1].number}"


def _alike(strips: Sequence[Strip], spacer: int) -> str:
    """The later spacers whose joints lie as this one's, with their strips."""
    later = sorted({one.spacer for one in strips if one.spacer > spacer and (one.spacer - spacer) % MOST_RINGS == 0})
    return ", ".join(
        f"spacer {other}, {numbers_of([one for one in strips if one.spacer == other])}" for other in later
    )


def _from_behind(part: Polygon, panel: Panel) -> Polygon:
    return scale(part, -1.0, 1.0, origin=(panel.width_mm / 2, 0))


def number_place(wood: Polygon, high: float) -> tuple[float, float]:
    """Where a number has room: the middle, or for an arc, whose middle isn't wood, the widest place."""
    middle = shapely.centroid(wood)
    if wood.exterior.distance(middle) > high / 2 and wood.contains(middle):
        return float(middle.x), float(middle.y)
    x, y = shapely.maximum_inscribed_circle(wood, tolerance=high / 20).coords[0]
    return float(x), float(y)


def _picture(
    parts: Iterable[tuple[Strip, Polygon]], panel: Panel, high: float, words: str, *, board: bool = False
) -> Picture:
    """Numbered strips; those of a board within its edge."""
    line = max(panel.width_mm, panel.height_mm) / 400
    woods, numbers = [], []
    for strip, wood in parts:
        woods.append(f'<path d="{region_path(wood)}"/>')
        x, y = number_place(wood, high)
        place = f"translate({number(round(x, 2))} {number(round(y, 2))})"
        numbers.append(f'<g transform="{place}">{stroke_digits(strip.number, high)}</g>')
    box = f"{number(-line)} {number(-line)} {number(panel.width_mm + 2 * line)} {number(panel.height_mm + 2 * line)}"
    size = f'width="{number(panel.width_mm)}" height="{number(panel.height_mm)}"'
    edge = f'<rect {size} fill="none" stroke-dasharray="{number(4 * line)}"/>' if board else ""
    svg = (
        f'<svg viewBox="{box}" role="img" aria-label="{words}"><g fill="{PLYWOOD}" fill-rule="evenodd" '
        f'stroke="{INK}" stroke-width="{number(line)}">{edge}{"".join(woods)}</g>'
        f'<g stroke="{INK}">{"".join(numbers)}</g></svg>'
    )
    return Picture(svg, words)
