"""The commented job file of a new drawing.

Enters: a `StartPlan`. Leaves: the TOML text, which says where each number comes from.
"""

from layercut.job import Job
from layercut.setup.measures import Measure, said_feet
from layercut.setup.start import StartPlan
from layercut.units import said_mm, said_number

_TEXT = """# The job of {name}.svg: every choice that isn't in the drawing.
# A line that begins with # says nothing to layercut. Lengths take a unit: {units}.
# A key that a table doesn't have is refused, with those that it has.
#
# How the drawing's size was found:
{story}

[panel]
width = "{width}"{width_in}
height = "{height}"{height_in}
frame = "{frame}"  # the ring that every sheet keeps
# corner = "{corner}"  # radius of the rim's corners
# pins = true  # three holes in the frame to line the sheets up

[material]
name = "{material}"
thickness = "{thickness}"  # measure it: sheets differ from what they are sold as
kerf = "{kerf}"  # what the beam removes; 'layercut coupon' finds it for your wood and machine
# density = "{density}"  # for the weight

[limits]
neck = "{neck}"  # narrowest wood that may carry something
setback = "{setback}"  # how far hidden wood keeps away from an opening

[islands]
policy = "auto"  # of wood that would fall out: auto (what is seen least), tie, loose, behind, or refuse (show it)
# [islands.layers.{layer}]  # another policy for one layer
# policy = "loose"

# Never cut PVC or any material whose make-up you don't know: its fumes can hold hydrogen chloride.
# Never leave a running laser alone; extract the fumes and keep a fire watch.
"""


def job_text(plan: StartPlan) -> str:
    """The text of the job file, which `load_job` accepts as it stands."""
    job = Job.model_validate({})
    width, height = plan.panel_mm
    typed, imperial = plan.units.typed, plan.units.imperial
    return _TEXT.format(
        name=_comment(plan.name),
        story="\n".join(f"#   {_comment(line)}" for line in size_story(plan)),
        units='"0.25in", "6 1/2in"' if imperial else '"3mm", "0.25in"',
        width=typed(width),
        width_in="" if imperial else _inches(width),
        height=typed(height),
        height_in="" if imperial else _inches(height),
        frame=typed(plan.frame_mm),
        corner="1/8in" if imperial else "3mm",
        material=job.material.name,
        # What is to be measured, and limits that nobody measures, in round numbers.
        thickness=typed(job.material.thickness, 3),
        kerf=typed(job.material.kerf, 3),
        density="42lb/ft3" if imperial else "680kg/m3",
        neck=typed(job.limits.neck, 3),
        setback=typed(job.limits.setback, 3),
        layer=_key(plan.layers[min(1, len(plan.layers) - 1)]),
    )


def size_story(plan: StartPlan) -> tuple[str, ...]:
    """Where the size on the panel comes from, a line for each number."""
    house, fit = plan.house, plan.fit
    lines = [
        f"width of the house: {_sure(house.width)}",
        f"{house.storeys} x {_sure(house.storey_height)} storey, {_sure(house.foundation)} foundation, "
        f"{_sure(house.roof)} roof: {_sure(house.height)} high",
    ]
    if house.assumed:
        lines.append(f"not measured, but assumed: {'; '.join(house.assumed)}")
    pm = f" +- {said_number(fit.plus_minus_mm, '.1f')}" if fit.plus_minus_mm else ""
    kind = f", {fit.scale.kind}" if fit.scale.kind else ""
    size = f"{said_number(fit.width_mm, '.1f')}{pm} x {said_mm(fit.height_mm, '.1f')}"
    lines.append(f"scale {fit.scale.name}{kind}: {size} on the panel")
    lines.append(f"the panel would be filled at 1:{plan.filling.ratio:.1f}")
    return tuple(map(plan.units.told, lines))


def _sure(value: Measure) -> str:
    return said_feet(value.mm) + (f" +- {said_feet(value.plus_minus_mm)}" if value.plus_minus_mm else "")


def _inches(mm: float) -> str:
    return "  # " + f"{mm / 25.4:.3f}".rstrip("0").rstrip(".") + " in"


def _key(name: str) -> str:
    """A layer's name as a TOML key."""
    plain = name.isascii() and name.replace("-", "").replace("_", "").isalnum()
    return name if plain else '"' + name.replace("\\", "\\\\").replace('"', '\\"') + '"'


def _comment(text: str) -> str:
    """Text that stays within its comment line."""
    return "".join(char if char.isprintable() else "?" for char in text)
