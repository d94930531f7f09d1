"""What is told of the start of a drawing: where its size comes from, and what fits at which scale.

Enters: a `StartPlan`. Leaves: lines for people, and a document for tools.
"""

from typing import Any

from layercut.setup.measures import Measure
from layercut.setup.scale import Fit
from layercut.setup.start import StartPlan
from layercut.setup.starter_job import size_story
from layercut.units import Units, said_mm, said_size


def plan_lines(plan: StartPlan) -> tuple[str, ...]:
    """The size's story, then a line for each scale that was weighed; the chosen one has an arrow."""
    fits = [*plan.fits] if plan.fit in plan.fits else sorted([*plan.fits, plan.fit], key=lambda fit: fit.scale.ratio)
    return (
        *size_story(plan),
        "what fits inside the frame:",
        *(f"  {'>' if fit == plan.fit else ' '} {_fit_line(fit, plan.units)}" for fit in fits),
    )


def plan_document(plan: StartPlan) -> dict[str, Any]:
    """The same for tools: lengths in mm."""
    house = plan.house
    return {
        "house": {
            "width": _measure(house.width),
            "storeys": house.storeys,
            "storey_height": _measure(house.storey_height),
            "foundation": _measure(house.foundation),
            "roof": _measure(house.roof),
            "height": _measure(house.height),
            "assumed": list(house.assumed),
        },
        "panel": {
            "width_mm": round(plan.panel_mm[0], 3),
            "height_mm": round(plan.panel_mm[1], 3),
            "frame_mm": round(plan.frame_mm, 3),
        },
        "scale": _fit(plan.fit),
        "scales": [_fit(fit) for fit in plan.fits],
        "filling_ratio": round(plan.filling.ratio, 4),
        "ground_mm": round(plan.ground_mm, 3),
        "left_mm": round(plan.left_mm, 3),
        "layers": list(plan.layers),
    }


def _fit_line(fit: Fit, units: Units) -> str:
    size = units.told(said_size(fit.width_mm, fit.height_mm))
    if fit.fits:
        wide, high = said_mm(fit.free_width_mm, ".1f"), said_mm(fit.free_height_mm, ".1f", "")
        rest = f"{fit.unused:.0%} unused, {wide} free in width, {high} in height"
    elif min(fit.free_width_mm, fit.free_height_mm) < 0:
        over = -min(fit.free_width_mm, fit.free_height_mm)
        rest = f"too large by {said_mm(over, '.1f')} in {'width' if fit.free_width_mm == -over else 'height'}"
    else:
        rest = "too large, if the measures are off the wrong way"
    return f"{fit.scale.name:>7}  {size:<{24 if units.imperial else 18}} {units.told(f'{rest} ({fit.scale.kind})')}"


def _fit(fit: Fit) -> dict[str, Any]:
    return {
        "name": fit.scale.name,
        "ratio": round(fit.scale.ratio, 6),
        "kind": fit.scale.kind,
        "width_mm": round(fit.width_mm, 3),
        "plus_minus_mm": round(fit.plus_minus_mm, 3),
        "height_mm": round(fit.height_mm, 3),
        "fits": fit.fits,
        "unused": round(fit.unused, 4),
    }


def _measure(value: Measure) -> dict[str, float]:
    return {"mm": round(value.mm, 2), "plus_minus_mm": round(value.plus_minus_mm, 2)}
