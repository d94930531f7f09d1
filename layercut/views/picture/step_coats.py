"""One sheet after its base, its middle and its light, in bands of pixels.

Enters: the paint plan, where the shades lie, and bare wood. Leaves: colours of shape (3, rows, width), 0 to 255.
Holds: base and bare wood are exact to the part of a pixel; middle and light lie where the plan has them; a colour is
one of the plan's shades, and of what is drawn as a blend the blend's own.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from layercut.colour.sampling import sample_over
from layercut.geometry.coverage import Pixels, region_edges
from layercut.views.picture.scene import rgb
from layercut.workplan import CoatSteps, PaintPlan, SheetPaint

Shade = Literal["middle", "light"]
SHADES: tuple[Shade, ...] = ("middle", "light")
"""What is laid on after the base, in order."""

LIFTED = 0.35
"""How far the light lifts a blend towards white, where it isn't worked in wet (own choice: no one shade is light on
all of a blend)."""


@dataclass(frozen=True, slots=True, eq=False)
class Coats:
    """Where the shades lie, and their colours: of middle and light by the number of the region, (3, regions + 1).

    `graded` says which regions are drawn as blends; these have the colour of each pixel in `blends`, (3, height,
    width), None where there are none.
    """

    steps: CoatSteps
    middle: Pixels
    light: Pixels
    graded: NDArray[np.bool_]
    blends: NDArray[np.uint8] | None


def mixed(plan: PaintPlan, steps: CoatSteps) -> Coats:
    """The shades with their colours."""
    paints = [plan.colour(one.number) for one in steps.regions]
    graded = np.array([False, *(bool(paint.blend or paint.laid) for paint in paints)])
    return Coats(
        steps,
        _table([paint.shades.middle for paint in paints]),
        _table([paint.shades.light for paint in paints]),
        graded,
        _blends(plan, steps) if graded.any() else None,
    )


def base_bands(sheet: SheetPaint, plan: PaintPlan, steps: CoatSteps) -> Iterator[tuple[Pixels, Pixels]]:
    """How much of each pixel the base coats cover, which go on under the sheet in front, and the sums of their
    colours; a band at a time."""
    edges = region_edges([region for part in sheet.parts for region in (part.visible, part.reach)], steps.window)
    bases = [rgb(plan.colour(part.number).shades.base) for part in sheet.parts for _ in range(2)]
    values = np.array(bases, dtype=float).reshape(-1, 3)
    channels = [edges.bands(values[:, channel]) for channel in range(3)]
    for covered, *sums in zip(edges.bands(), *channels, strict=True):
        # Thinned strips may lie on each other by a hair: what is more than all of a pixel is shared.
        most = np.maximum(covered, 1)
        yield covered / most, np.stack(sums) / most


def lay_coat(picture: Pixels, shade: Shade, place: int, rows: slice, coats: Coats) -> None:
    """Lay the middle or the light on some rows of the sheet at this place from the back, in place."""
    steps = coats.steps
    labels, cover = steps.labels[rows], (steps.middle if shade == "middle" else steps.light)[rows]
    there = np.nonzero(steps.of_sheet(place)[labels] & (cover > 0))
    label, strength = labels[there], cover[there] * np.float32(1 / 255)
    wanted = (coats.middle if shade == "middle" else coats.light)[:, label]
    if coats.blends is not None and (blended := coats.graded[label]).any():
        blend = coats.blends[:, rows][:, there[0][blended], there[1][blended]].astype(np.float32)
        wanted[:, blended] = blend + np.float32(LIFTED if shade == "light" else 0) * (255 - blend)
    for channel in range(3):
        under = picture[channel][there]
        picture[channel][there] = under + strength * (wanted[channel] - under)


def _table(colours: list[str]) -> Pixels:
    return np.array([(0, 0, 0), *map(rgb, colours)], dtype=np.float32).T.copy()


def _blends(plan: PaintPlan, steps: CoatSteps) -> NDArray[np.uint8]:
    """The colours of all blends, where they are seen."""
    colours = np.zeros((3, *steps.labels.shape), dtype=np.uint8)
    runs = [run for sheet in plan.sheets for part in sheet.parts for run in part.runs]
    for run in runs:
        if (box := steps.window.part(run.region)) is None:
            continue
        (rows, columns), within = box
        down, across = np.nonzero(region_edges([run.region], within).covered() > 0)
        middles = within.to_mm(np.column_stack((across, down)).astype(float) + 0.5)
        # Coats of paint let nothing through, so what they lie on doesn't count.
        sampled = sample_over(run.washes, middles, (0.0, 0.0, 0.0)) * 255 + 0.5
        for channel in range(3):
            colours[channel][rows, columns][down, across] = sampled[:, channel]
    return colours
