"""The wood: how much stays, and where spares fit.

Enters: a finished build. Leaves: one section of HTML for the traveller. Holds: what `sections/__init__.py` says.
"""

from layercut.colour.bare import PLYWOOD
from layercut.model import Made
from layercut.views.pages.map_notes import INK
from layercut.views.pages.sections.filling import Picture, cm2, filled, share
from layercut.views.pages.traveller_order import wood_svg
from layercut.views.svg_text import number, region_path
from layercut.workplan import Workplan


def wood_section(build: Made) -> str:
    """The section."""
    material = build.work.material
    all_mm2 = material.wood_mm2 + material.waste_mm2
    return filled(
        "wood",
        job=build.job,
        material=material,
        used=cm2(_wood_shown(build)),
        left=cm2(all_mm2 - _wood_shown(build)),
        share=share(material.wood_mm2, all_mm2),
        on_boards=build.boards is not None,
        tight=build.boards is None and material.bed is not None,
        spares=_spare_map(build, build.work),
    )


def _spare_map(build: Made, work: Workplan) -> tuple[Picture, ...]:
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
        maps.append(Picture(svg, f"In the waste of {name}: {listed}."))
    return tuple(maps)


def _wood_shown(build: Made) -> float:
    """The wood of all sheets and copies, mm2, of the rounded areas that the table of sheets shows."""
    return sum(100 * round(float(sheet.wood.area) / 100, 1) * sheet.copies for sheet in build.sheets)
