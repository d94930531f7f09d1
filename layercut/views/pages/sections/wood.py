"""The wood: how much stays, and where spares fit.

Enters: a finished build. Leaves: one section of HTML for the traveller. Holds: what `sections/__init__.py` says.
"""

from layercut.colour.bare import PLYWOOD
from layercut.model import Made
from layercut.units import MM_PER_INCH
from layercut.views.pages.cost_words import cost_lines
from layercut.views.pages.map_notes import INK
from layercut.views.pages.sections.filling import Picture, filled, share
from layercut.views.pages.traveller_order import wood_svg
from layercut.views.svg_text import number, region_path
from layercut.workplan import Workplan


def wood_section(build: Made) -> str:
    """The section."""
    material, units = build.work.material, build.job.units
    all_mm2 = material.wood_mm2 + material.waste_mm2
    return filled(
        "wood",
        gap=units.length(build.job.material.gap),
        material=material,
        used=units.area(_wood_shown(build)),
        left=units.area(all_mm2 - _wood_shown(build)),
        share=share(material.wood_mm2, all_mm2),
        on_boards=build.boards is not None,
        tight=build.boards is None and material.bed is not None,
        costs=tuple(cost_lines(build)),
        spares=_spare_map(build, build.work),
    )


def _spare_map(build: Made, work: Workplan) -> tuple[Picture, ...]:
    """Each sheet that takes spares in its waste, with them in their places."""
    panel, units = build.stack.panel, build.job.units
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
            f"{one.part} at {units.place(*one.at_mm)}" + (f", turned {one.turned_deg}°" * bool(one.turned_deg))
            for one in spares
        )
        maps.append(Picture(svg, f"In the waste of {name}: {listed}."))
    return tuple(maps)


def _wood_shown(build: Made) -> float:
    """The wood of all sheets and copies, mm2, of the rounded areas that the table of sheets shows."""
    unit, digits = (MM_PER_INCH**2, 2) if build.job.units.imperial else (100.0, 1)
    return sum(unit * round(float(sheet.wood.area) / unit, digits) * sheet.copies for sheet in build.sheets)
