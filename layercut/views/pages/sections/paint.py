"""The paint plan: every colour with its shades, and each sheet's map.

Enters: a finished build. Leaves: one section of HTML for the traveller. Holds: what `sections/__init__.py` says.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from layercut.model import Made
from layercut.views.pages.map_notes import INK, glue_notes, reach_notes, seen_notes
from layercut.views.pages.pot_words import merged_words, mix_words
from layercut.views.pages.sections.filling import Picture, cm2, filled
from layercut.views.pages.way_notes import made_of, part_words, stop_words
from layercut.views.paint_svg import Definitions
from layercut.views.svg_text import number, region_path
from layercut.workplan import Colour, OwnMatch, PaintPlan

MAP_STEPS = 800
"""A map on the page leaves out detail finer than this part of the panel."""

MOST_COLOURS = 150
"""Colours in the page's table; the rest are in manifest.json."""


@dataclass(frozen=True, slots=True)
class _Row:
    """A colour as the table shows it."""

    number: int
    swatches: str
    shades: str
    finish: str
    seen: str
    painted: str
    sheets: str
    blend: str
    ways: tuple[str, ...]
    own: tuple[str, ...]


def paint_section(build: Made, page: str) -> str:
    """The section; gradients that `page` defines already aren't defined again."""
    plan = build.work.paint
    return filled(
        "paint",
        job=build.job,
        plan=plan,
        rows=tuple(_row(colour, build, plan) for colour in plan.colours[:MOST_COLOURS]),
        more_colours=max(len(plan.colours) - MOST_COLOURS, 0),
        maps=_maps(build, plan, page),
        frame=cm2(sum(sheet.frame_mm2 for sheet in plan.sheets)),
        edge=cm2(plan.edge_mm2),
        far=sum(1 for colour in plan.colours for match in colour.matches if _is_far(match, plan)),
    )


def _row(colour: Colour, build: Made, plan: PaintPlan) -> _Row:
    shades = colour.shades
    three = (("base", shades.base), ("middle", shades.middle), ("light", shades.light))
    plain = colour.finish == "stain" or len({shade for _, shade in three}) == 1
    names = zip(build.stack.layers, plan.sheets, strict=True)
    coats = "1 coat" if colour.coats == 1 else f"{colour.coats} coats"
    return _Row(
        number=colour.number,
        swatches=_swatches((shades.middle,) if plain else (shades.base, shades.middle, shades.light)),
        shades=shades.middle if plain else ", ".join(f"{name} {shade}" for name, shade in three),
        finish=f"{colour.finish}, {coats}",
        seen=cm2(colour.visible_mm2),
        painted=cm2(colour.painted_mm2),
        sheets=", ".join(
            layer.name for layer, sheet in names if any(part.number == colour.number for part in sheet.parts)
        ),
        blend=_blend_words(colour, plan),
        ways=tuple(_way_words(colour, build, plan)),
        own=tuple(_own_words(colour, plan)),
    )


def _blend_words(colour: Colour, plan: PaintPlan) -> str:
    """What a paint is besides a colour: a blend with its stops, blends over each other, a glaze, and for which drawn
    colours it stands too."""
    stops = ", ".join(f"{stop_words(stop)} at {100 * stop.offset:.0f} %" for stop in colour.blend)
    told = (stops and f"a blend of {stops}", made_of(colour, plan), merged_words(colour))
    return "; ".join(filter(None, told))


def _way_words(colour: Colour, build: Made, plan: PaintPlan) -> Iterator[str]:
    """Where a blend runs, sheet by sheet."""
    for layer, sheet in zip(build.stack.layers, plan.sheets, strict=True):
        for part in sheet.parts:
            if part.number == colour.number:
                yield from (f"{layer.name}: {words}" for words in part_words(part, plan, build.stack.panel))


def _own_words(colour: Colour, plan: PaintPlan) -> Iterator[str]:
    for name, match in zip(("base", "middle", "light"), colour.matches, strict=False):
        yield f"{name}: {_match_words(match, plan)}"
    for stop in colour.blend:
        if stop.match:
            yield f"at {100 * stop.offset:.0f} %: {_match_words(stop.match, plan)}"


def _match_words(match: OwnMatch, plan: PaintPlan) -> str:
    far = ", far" if _is_far(match, plan) else ""
    nearest = f"{match.name} {match.colour} (differs by {match.difference:.1f}{far})"
    return "; ".join(filter(None, (nearest, mix_words(match))))


def _is_far(match: OwnMatch, plan: PaintPlan) -> bool:
    return match.difference > plan.own_limit


def _swatches(colours: tuple[str, ...]) -> str:
    boxes = "".join(
        f'<rect x="{0.5 + 16 * k}" y=".5" width="16" height="18" fill="{colour}" stroke="{INK}"/>'
        for k, colour in enumerate(colours)
    )
    width = 16 * len(colours) + 1
    return f'<svg viewBox="0 0 {width} 19" width="{width}" height="19" aria-hidden="true">{boxes}</svg>'


def _maps(build: Made, plan: PaintPlan, page: str) -> list[Picture]:
    """Each sheet's map. The last one holds the gradients that the page hasn't already."""
    blends, maps = Definitions(), []
    panel = build.stack.panel
    exact = max(panel.width_mm, panel.height_mm) / MAP_STEPS
    for place, (layer, sheet) in enumerate(zip(build.stack.layers, plan.sheets, strict=True), start=1):
        frame = panel.face if place == len(plan.sheets) else panel.frame
        parts = (
            reach_notes(plan, sheet, blends, exact),
            glue_notes(sheet, f"glue-{place}", exact),
            f'<path fill="none" stroke="{INK}" stroke-width=".2" d="{region_path(frame)}"/>',
            seen_notes(plan, sheet, panel, blends, exact),
        )
        words = f"Sheet {place}, {layer.name}: "
        words += f"{len(sheet.parts)} {'colour' if len(sheet.parts) == 1 else 'colours'}."
        if sheet.glue_mm2:
            words += (
                f" The next sheet touches {cm2(sheet.contact_mm2)}; leave the {cm2(sheet.glue_mm2)} that are "
                "hatched bare for glue."
            )
        missing = "".join(blends.missing_from(page)) if place == len(plan.sheets) else ""
        defined = f"<defs>{missing}</defs>" if missing else ""
        svg = (
            f'<svg viewBox="0 0 {number(panel.width_mm)} {number(panel.height_mm)}" role="img" '
            f'aria-label="Paint map of sheet {place}; its numbers are those of the table">'
            f"{defined}{''.join(parts)}</svg>"
        )
        maps.append(Picture(svg, words))
    return maps
