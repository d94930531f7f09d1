"""Weight and hanging: what the picture weighs, what must bear it, and where hangers and hook go.

Enters: a finished build. Leaves: one section of HTML for the traveller. Holds: what `sections/__init__.py` says.
"""

from layercut.colour.bare import PLYWOOD
from layercut.model import Made, Panel, spacer_woods
from layercut.units import Units
from layercut.views.pages.map_notes import INK
from layercut.views.pages.sections.filling import Picture, filled
from layercut.views.pages.sections.strip_maps import strip_pictures
from layercut.views.svg_text import number, region_path
from layercut.workplan import HIGHEST, HOOK_ROOM_MM, LOWEST, Hangers, Workplan

GRAMS_PER_NEWTON = 1000 / 9.80665
"""What weighs a newton, g, by standard gravity."""

BACK_FILL = "#f0e2c6"
"""The picture's back behind its spacers, in the view from behind: lighter than their wood."""

MOST_RISE = 0.5
"""No wire is drawn higher above the picture than this part of its height."""

USUAL = {HIGHEST: "a quarter", LOWEST: "a third"}
"""Where rings usually are, in words."""

BESIDE_MM = 1.0
"""A centre of gravity nearer to the rings' middle than this hangs level to the eye (own choice)."""


def hanging_section(build: Made) -> str:
    """The section."""
    hanging, units = build.work.hanging, build.job.units
    return filled(
        "hanging",
        job=build.job,
        hanging=hanging,
        hangers=hanging.hangers,
        units=units,
        weight=_weight(build.work, units),
        spacer_words=_spacer_words(build),
        rows=_hanger_rows(build),
        view=_back_view(build),
        strips=tuple(strip_pictures(build)),
    )


def _weight(work: Workplan, units: Units) -> dict[str, str]:
    hanging = work.hanging
    return {
        "mass": units.mass(hanging.mass_g),
        "newton": _load(hanging.weight_n, units, 2),
        "tension": "" if hanging.tension_n is None else _load(hanging.tension_n, units, 2),
        "load": _load(hanging.load_n, units),
        "wire_load": "" if hanging.wire_load_n is None else _load(hanging.wire_load_n, units),
    }


def _load(newton: float, units: Units, digits: int = 1) -> str:
    return f"{newton:.{digits}f} N, the weight of {units.mass(newton * GRAMS_PER_NEWTON)}"


def _spacer_words(build: Made) -> str:
    """Why there are so many spacer frames, how wide they are, and what to cut."""
    hanging, units = build.work.hanging, build.job.units
    thickness = units.length(build.job.material.thickness)
    sheets = f"{hanging.behind} {'sheet' if hanging.behind == 1 else 'sheets'} of the picture"
    if build.job.hanging.spacers is not None:
        words = "as <code>hanging.spacers</code> says"
    elif hanging.screw_mm is None:
        return (
            "say <code>hanging.screw</code>, the length of the hanger's screws, and layercut makes as many as they "
            "need; or <code>hanging.spacers</code>, how many you want"
        )
    else:
        words = (
            f"the fewest b with (b + {hanging.behind}) × {thickness} ≥ {units.length(hanging.screw_mm)} screw + "  # noqa: RUF001
            f"{units.length(hanging.guard_mm)} guard, since a screw surely finds wood in {sheets}"
        )
    if not hanging.spacers:
        return words
    files = [sheet for sheet in build.sheets if sheet.kind == "spacer"]
    times = f" {files[0].copies} times" if files[0].copies > 1 else ""
    if files[0].strips:
        times = ", and glue them from the strips"
    return (
        f"{words}; {units.length(hanging.spacer_width_mm)} wide, for a plate of "
        f"{units.length(build.job.hanging.plate)}; cut "
        + ", ".join(f"<code>{sheet.file}</code>" for sheet in files)
        + times
    )


def _hanger_rows(build: Made) -> tuple[tuple[str, str, str], ...]:
    """What to do with hanger, wire and hook: a name, a figure, and where it comes from."""
    hangers, units, panel = build.work.hanging.hangers, build.job.units, build.stack.panel
    rows = [_one_row(hangers, units, panel)] if hangers.kind == "one" else _wire_rows(build)
    if hangers.top_mm is None:
        rows.append(
            (
                "Hook in the wall",
                f"{units.length(hangers.hook_mm[1], 0)} below the picture's top edge",
                "say how high the top edge is to hang (<code>hanging.top</code>), and its height above the floor "
                "stands here",
            )
        )
    elif hangers.hook_height_mm is not None:
        rows.append(
            (
                "Hook in the wall",
                f"{units.length(hangers.hook_height_mm, 0)} above the floor",
                f"the top edge at {units.length(hangers.top_mm)} (<code>hanging.top</code>), less "
                f"{units.length(hangers.hook_mm[1], 0)}; where the hook holds, not where its nail is",
            )
        )
    return tuple(rows)


def _one_row(hangers: Hangers, units: Units, panel: Panel) -> tuple[str, str, str]:
    (x, y) = hangers.hook_mm
    words = f"seen from behind {units.length(panel.width_mm - x, 0)} from the left edge, above the centre of gravity"
    return "Hanger", f"{units.length(y, 0)} below the top edge", words + _off_wood(hangers)


def _wire_rows(build: Made) -> list[tuple[str, str, str]]:
    hangers, units, panel = build.work.hanging.hangers, build.job.units, build.stack.panel
    (left, y), (right, _) = hangers.rings_mm
    share = y / panel.height_mm
    ends = units.length((hangers.cut_mm - hangers.wire_mm) / 2, 0)
    usual = f"usual is {USUAL[HIGHEST]} to {USUAL[LOWEST]} of the height (common practice)"
    why = "" if share <= LOWEST + 1e-9 else "; lower here, so that the hook stays hidden"
    place = (
        f"seen from behind, their middles {units.length(panel.width_mm - right, 0)} from the left edge and "
        f"{units.length(left, 0)} from the right; both as high, and above the centre of gravity, or it would tip "
        f"forward; {usual}{why}{_off_wood(hangers)}"
    )
    return [
        (
            "Two rings",
            f"{units.length(y, 0)} below the top edge, {units.length(hangers.spacing_mm, 0)} apart",
            place,
        ),
        (
            "Wire to cut",
            units.length(hangers.cut_mm, 0),
            f"{units.length(hangers.wire_mm, 0)} between the rings, and {ends} at each end to "
            "pass twice through the ring and wind around itself (common practice)",
        ),
        ("Wire under load", *_sag_words(hangers, units)),
    ]


def _sag_words(hangers: Hangers, units: Units) -> tuple[str, str]:
    """How high the hook lifts the wire, and whether it shows."""
    lift = f"the hook lifts it {units.length(hangers.sag_mm, 0)} above the rings: half their distance × tan a"  # noqa: RUF001
    if abs(hangers.beside_mm) >= BESIDE_MM:
        side = "left" if hangers.beside_mm > 0 else "right"  # seen from behind
        lift += (
            f"; the centre of gravity lies {units.length(abs(hangers.beside_mm), 1)} {side} of the rings' middle, "
            "seen from behind: wind the wire once around the hook there, or take two hooks, so that it can't slide"
        )
    if hangers.hook_mm[1] >= HOOK_ROOM_MM - 1e-9:
        return f"{units.length(hangers.hook_mm[1], 0)} below the top edge, hidden", lift
    hides = (
        f"set <code>hanging.wire_angle</code> to {hangers.hides_deg:.0f}° or less, and it is hidden"
        if hangers.hides_deg
        else "take one hanger (<code>hanging.hanger</code>)"
    )
    if hangers.hidden:
        return f"{units.length(hangers.hook_mm[1], 0)} below the top edge: the hook may show", f"{lift}; {hides}"
    return f"{units.length(-hangers.hook_mm[1], 0)} above the top edge: the hook shows", f"{lift}; {hides}"


def _off_wood(hangers: Hangers) -> str:
    return "" if hangers.on_wood else "; <strong>there the plate doesn't lie on wood: take a narrower hanger</strong>"


def _back_view(build: Made) -> Picture:
    """The picture from behind, mirrored: its frame's wood, hangers, wire, hook and centre of gravity."""
    panel, hanging, hangers = build.stack.panel, build.work.hanging, build.work.hanging.hangers
    size = max(panel.width_mm, panel.height_mm)
    line = size / 300
    wide = panel.width_mm
    top = min(-0.03 * size, max(hangers.hook_mm[1], -MOST_RISE * panel.height_mm) - 0.05 * size)
    box = (-0.03 * size, top, wide + 0.06 * size, panel.height_mm + 0.03 * size - top)
    hook = (wide - hangers.hook_mm[0], max(hangers.hook_mm[1], -MOST_RISE * panel.height_mm))
    rings = [(wide - x, y) for x, y in hangers.rings_mm]
    wire = f'<path d="M{_at(rings[0])}L{_at(hook)}L{_at(rings[-1])}"/>' if len(rings) > 1 else ""
    plates = "".join(_dot(ring, build.job.hanging.plate / 2) for ring in rings)
    centre = (wide - hanging.centre_mm[0], hanging.centre_mm[1])
    words = f"Seen from behind, so left and right are the other way round: {_back_words(hangers)}"
    svg = (
        f'<svg viewBox="{" ".join(map(number, box))}" role="img" aria-label="{words}">'
        f'<g stroke="{INK}" stroke-width="{number(line)}" fill-rule="evenodd">{_back_wood(build)}'
        f'<g fill="none" stroke-width="{number(2 * line)}">{wire}{_cross(centre, 0.02 * size)}</g>'
        f'<g fill="#ffffff">{plates}</g>{_hook(hook, 0.02 * size)}</g></svg>'
    )
    return Picture(svg, words)


def _back_words(hangers: Hangers) -> str:
    what = "one hanger" if hangers.kind == "one" else "the two rings (circles), the wire"
    return f"{what}, the hook (triangle) and the centre of gravity (cross)."


def _back_wood(build: Made) -> str:
    panel = build.stack.panel
    turned = f'<g transform="translate({number(panel.width_mm)} 0) scale(-1 1)">'
    spacers = spacer_woods(build.sheets)
    outline = f'<path fill="{BACK_FILL if spacers else PLYWOOD}" d="{region_path(panel.outline)}"/>'
    if spacers:
        outline += f'<path fill="{PLYWOOD}" d="{region_path(spacers[-1])}"/>'
    return f"{turned}{outline}</g>"


def _dot(at: tuple[float, float], radius: float) -> str:
    return f'<circle cx="{number(at[0])}" cy="{number(at[1])}" r="{number(radius)}"/>'


def _cross(at: tuple[float, float], arm: float) -> str:
    (x, y) = at
    across = f"M{_at((x - arm, y))}L{_at((x + arm, y))}M{_at((x, y - arm))}L{_at((x, y + arm))}"
    return f'<path d="{across}"/>'


def _hook(at: tuple[float, float], size: float) -> str:
    (x, y) = at
    points = " ".join(_at(point) for point in ((x, y), (x - size / 2, y - size), (x + size / 2, y - size)))
    return f'<polygon fill="{INK}" points="{points}"/>'


def _at(place: tuple[float, float]) -> str:
    return f"{number(place[0])} {number(place[1])}"
