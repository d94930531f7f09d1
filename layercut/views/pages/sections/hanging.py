"""Weight and hanging: what the picture weighs and what must bear it.

Enters: a finished build. Leaves: one section of HTML for the traveller. Holds: what `sections/__init__.py` says.
"""

from layercut.model import Made
from layercut.views.pages.sections.filling import filled
from layercut.workplan import Workplan

NEWTONS_PER_KGF = 9.80665
"""Standard gravity: what a kilogram weighs, N."""


def hanging_section(build: Made) -> str:
    """The section."""
    return filled("hanging", job=build.job, hanging=build.work.hanging, weight=_weight(build.work))


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
