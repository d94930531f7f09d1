"""The pages of the job around the cut: paint, time, wood, hanging and assembly.

Enters: a finished `Build`. Leaves: a fragment of HTML for the traveller: sections, with no script, no style and no
request. Holds: every name of the drawing and of the own paints is escaped; each figure says where it comes from;
text is in the page's own colours.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from jinja2 import Environment, StrictUndefined, Template

from layercut.colour.bare import PLYWOOD
from layercut.model import Made
from layercut.views.durations import clock, parts_of, sheet_seconds, total_parts
from layercut.views.pages.map_notes import INK, glue_notes, reach_notes, seen_notes
from layercut.views.pages.traveller_order import wood_svg
from layercut.views.pages.way_notes import made_of, part_words, stop_words
from layercut.views.paint_svg import Definitions
from layercut.views.svg_text import number, region_path
from layercut.workplan import Colour, Layout, OwnMatch, PaintPlan, Step, Workplan

MAP_STEPS = 800
"""A map on the page leaves out detail finer than this part of the panel."""

MOST_COLOURS = 150
"""Colours in the page's table; the rest are in manifest.json."""

MOST_PIECES = 60
"""Loose pieces that a step names one by one."""

NEWTONS_PER_KGF = 9.80665
"""Standard gravity: what a kilogram weighs, N."""


SECTIONS = (
    ("paint", "Paint plan"),
    ("times", "Time on the machine"),
    ("wood", "Wood"),
    ("hanging", "Weight and hanging"),
    ("assembly", "Assembly"),
)
"""The sections in order: anchor and name, for the page's contents."""

TIME_HEADS = ("Marked areas", "Marked lines", "Openings", "Rim", "Travel", "All")
"""The columns of the table of times."""

FRAME_LAST = (
    "When the glue has dried, that of spacers too, sand the outer edges flush along the grain: outdoors or with "
    "extraction, a dust mask and eye protection on. Wipe off the dust, then stain the outer edges and the frame's "
    "face in front, and let them dry as the stain's label says."
)
"""When the frame gets its colour: the one place that says it."""


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


@dataclass(frozen=True, slots=True)
class _Map:
    """A sheet's map with its words."""

    svg: str
    caption: str


@dataclass(frozen=True, slots=True)
class _TimeRow:
    """A line of the table of times."""

    name: str
    cells: tuple[str, ...]


def work_pages_html(build: Made, page: str = "") -> str:
    """The sections about the work around the cut, as HTML for the traveller.

    `page` is what the page holds already: gradients that it defines aren't defined again.
    """
    work = build.work
    job = build.job
    return _template().render(
        job=job,
        work=work,
        hanging=work.hanging,
        material=work.material,
        rows=tuple(_row(colour, build, work.paint) for colour in work.paint.colours[:MOST_COLOURS]),
        more_colours=max(len(work.paint.colours) - MOST_COLOURS, 0),
        maps=_maps(build, work.paint, page),
        frame=_cm2(sum(sheet.frame_mm2 for sheet in work.paint.sheets)),
        edge=_cm2(work.paint.edge_mm2),
        far=sum(1 for colour in work.paint.colours for match in colour.matches if _is_far(match, work.paint)),
        times=tuple(_time_rows(work)),
        time_heads=TIME_HEADS,
        used=_cm2(_wood_shown(build)),
        left=_cm2(work.material.wood_mm2 + work.material.waste_mm2 - _wood_shown(build)),
        share=_share(work.material.wood_mm2, work.material.wood_mm2 + work.material.waste_mm2),
        boards=tuple(_boards(build, work)),
        spares=_spare_map(build, work),
        weight=_weight(work),
        steps=tuple(_step_words(step, build) for step in work.steps),
    )


@cache
def _template() -> Template:
    text = (files("layercut.views.pages") / "work_pages.html").read_text(encoding="utf-8")
    environment = Environment(autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True)
    environment.filters["mm"] = lambda value: number(round(float(value), 2))
    return environment.from_string(text)


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
        seen=_cm2(colour.visible_mm2),
        painted=_cm2(colour.painted_mm2),
        sheets=", ".join(
            layer.name for layer, sheet in names if any(part.number == colour.number for part in sheet.parts)
        ),
        blend=_blend_words(colour, plan),
        ways=tuple(_way_words(colour, build, plan)),
        own=tuple(_own_words(colour, plan)),
    )


def _blend_words(colour: Colour, plan: PaintPlan) -> str:
    """What a paint is besides a colour: a blend with its stops, blends over each other, a glaze."""
    stops = ", ".join(f"{stop_words(stop)} at {100 * stop.offset:.0f} %" for stop in colour.blend)
    return "; ".join(filter(None, (stops and f"a blend of {stops}", made_of(colour, plan))))


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
    return f"{match.name} {match.colour} (differs by {match.difference:.1f}{far})"


def _is_far(match: OwnMatch, plan: PaintPlan) -> bool:
    return match.difference > plan.own_limit


def _swatches(colours: tuple[str, ...]) -> str:
    boxes = "".join(
        f'<rect x="{0.5 + 16 * k}" y=".5" width="16" height="18" fill="{colour}" stroke="{INK}"/>'
        for k, colour in enumerate(colours)
    )
    width = 16 * len(colours) + 1
    return f'<svg viewBox="0 0 {width} 19" width="{width}" height="19" aria-hidden="true">{boxes}</svg>'


def _maps(build: Made, plan: PaintPlan, page: str) -> list[_Map]:
    """Each sheet's map. The last one holds the gradients that the page hasn't already."""
    blends, maps = Definitions(), []
    panel = build.stack.panel
    exact = max(panel.width_mm, panel.height_mm) / MAP_STEPS
    for place, (layer, sheet) in enumerate(zip(build.stack.layers, plan.sheets, strict=True), start=1):
        parts = (
            reach_notes(plan, sheet, blends, exact),
            glue_notes(sheet, f"glue-{place}", exact),
            f'<path fill="none" stroke="{INK}" stroke-width=".2" d="{region_path(panel.frame)}"/>',
            seen_notes(plan, sheet, panel, blends, exact),
        )
        words = f"Sheet {place}, {layer.name}: "
        words += f"{len(sheet.parts)} {'colour' if len(sheet.parts) == 1 else 'colours'}."
        if sheet.glue_mm2:
            words += (
                f" The next sheet touches {_cm2(sheet.contact_mm2)}; leave the {_cm2(sheet.glue_mm2)} that are "
                "hatched bare for glue."
            )
        missing = "".join(blends.missing_from(page)) if place == len(plan.sheets) else ""
        defined = f"<defs>{missing}</defs>" if missing else ""
        svg = (
            f'<svg viewBox="0 0 {number(panel.width_mm)} {number(panel.height_mm)}" role="img" '
            f'aria-label="Paint map of sheet {place}; its numbers are those of the table">'
            f"{defined}{''.join(parts)}</svg>"
        )
        maps.append(_Map(svg, words))
    return maps


def _time_rows(work: Workplan) -> Iterator[_TimeRow]:
    for sheet in work.times.sheets:
        name = f"{sheet.name}, each of {sheet.copies}" if sheet.copies > 1 else sheet.name
        yield _TimeRow(name, (*map(clock, parts_of(sheet.times)), clock(sheet_seconds(sheet.times))))
    total = total_parts((sheet.times, sheet.copies) for sheet in work.times.sheets)
    whole = sum(total)
    yield _TimeRow("all together", (*map(clock, total), clock(whole)))
    yield _TimeRow("share", (*(_share(value, whole) for value in total), "100 %"))


def _boards(build: Made, work: Workplan) -> Iterator[_Map]:
    for what, layout in (("the bed", work.material.bed), ("a board", work.material.stock)):
        if layout is None:
            continue
        size = f"{number(layout.width_mm)} × {number(layout.height_mm)} mm"  # noqa: RUF001
        if not layout.each:
            yield _Map("", f"On {what} of {size} not one sheet fits.")
            continue
        some = "1 sheet fits" if layout.each == 1 else f"{layout.each} sheets fit"
        loads = ("board" if what == "a board" else "load") + ("" if layout.boards == 1 else "s")
        words = f"On {what} of {size} {some}: {layout.boards} {loads} for all {work.material.panels}."
        yield _Map(_board_map(layout, build, words), words)


def _board_map(layout: Layout, build: Made, words: str) -> str:
    panel, kerf = build.stack.panel, build.job.material.kerf
    wide, high = panel.width_mm + kerf, panel.height_mm + kerf
    line = number(max(layout.width_mm, layout.height_mm) / 400)
    boxes = "".join(
        f'<rect x="{number(x)}" y="{number(y)}" width="{number(high if turned else wide)}" '
        f'height="{number(wide if turned else high)}"/>'
        for x, y, turned in layout.spots
    )
    return (
        f'<svg viewBox="0 0 {number(layout.width_mm)} {number(layout.height_mm)}" role="img" aria-label="{words}">'
        f'<g fill="none" stroke="{INK}" stroke-width="{line}"><rect width="{number(layout.width_mm)}" '
        f'height="{number(layout.height_mm)}" stroke-dasharray="{number(4 * float(line))}"/>{boxes}</g></svg>'
    )


def _spare_map(build: Made, work: Workplan) -> tuple[_Map, ...]:
    """Each sheet that takes spares in its waste, with them in their places."""
    panel = build.stack.panel
    places = {sheet.name: place for place, sheet in enumerate(build.sheets, start=1)}
    maps = []
    for name in dict.fromkeys(one.sheet for one in work.material.nested):
        place, spares = places[name], [one for one in work.material.nested if one.sheet == name]
        shapes = "".join(f'<path fill="{PLYWOOD}" d="{region_path(one.outline)}"/>' for one in spares)
        svg = (
            f'<svg viewBox="0 0 {number(panel.width_mm)} {number(panel.height_mm)}" role="img" '
            f'aria-label="Where spares fit into the waste of a sheet"><g stroke="{INK}" stroke-width=".2" '
            f'fill-rule="evenodd"><g fill="#eadfc8">{wood_svg(place, build.sheets[place - 1])}</g>{shapes}</g></svg>'
        )
        listed = "; ".join(
            f"{one.part} at {one.at_mm[0]:g}, {one.at_mm[1]:g} mm"
            + (f", turned {one.turned_deg}°" * bool(one.turned_deg))
            for one in spares
        )
        maps.append(_Map(svg, f"In the waste of {name}: {listed}."))
    return tuple(maps)


def _weight(work: Workplan) -> dict[str, str]:
    hanging = work.hanging
    return {
        "mass": f"{hanging.mass_g:.0f} g",
        "newton": f"{hanging.weight_n:.2f} N",
        "tension": f"{hanging.tension_n:.2f} N",
        "load": _load(hanging.load_n),
        "wire_load": _load(hanging.wire_load_n),
    }


def _load(newton: float) -> str:
    return f"{newton:.1f} N, the weight of {newton / NEWTONS_PER_KGF:.2f} kg"


def _step_words(step: Step, build: Made) -> str:
    """One step of the assembly as a sentence or two."""
    if step.kind == "lay":
        return f"Lay {step.what}, the back sheet, face up on a flat board, on paper that doesn't stick."
    if step.kind == "sheet":
        lined = "pins through the frame's holes" if build.stack.panel.pins else "the frame flush on all sides"
        return (
            f"Glue {step.what} on {step.on}: {_cm2(step.contact_mm2)} of contact, glue on the hatched zones only. "
            f"Line it up with {lined}; clamp and let it dry as the glue's label says."
        )
    if step.kind == "pieces":
        return _pieces_words(step)
    if step.kind == "spacer":
        turned = "Turn the picture over onto something soft. " if step.on.startswith("the back of ") else ""
        return (
            f"{turned}Glue {step.what} on {step.on}: {_cm2(step.contact_mm2)} of contact; clamp and dry by the label."
        )
    if step.kind == "edges":
        return FRAME_LAST
    return f"When all is dry, screw the hanger to {step.on}, in the middle of the frame's wood, not near its edge."


def _pieces_words(step: Step) -> str:
    shown = step.pieces[:MOST_PIECES]
    listed = "; ".join(
        f"{piece.piece} on {piece.rests_on} ({piece.contact_mm2:.0f} mm²"
        + (", a riser: nobody sees it" if piece.riser else "")
        + (", at its mark)" if piece.locator else ")")
        for piece in shown
    )
    more = f"; and {len(step.pieces) - len(shown)} more, in manifest.json" if len(step.pieces) > len(shown) else ""
    return (
        f"Glue on the loose pieces of {step.what}, risers first: {listed}{more}. Let them set before the next sheet."
    )


def _wood_shown(build: Made) -> float:
    """The wood of all sheets and copies, mm2, of the rounded areas that the table of sheets shows."""
    return sum(100 * round(float(sheet.wood.area) / 100, 1) * sheet.copies for sheet in build.sheets)


def _share(part: float, whole: float) -> str:
    return f"{100 * part / whole:.0f} %" if whole else "0 %"


def _cm2(area_mm2: float) -> str:
    return f"{area_mm2 / 100:.1f} cm²"
