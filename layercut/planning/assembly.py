"""Assembly: the order of gluing, from the back forwards, and what lies on what.

Enters: the stack, the sheets, and the contact that the paint plan found. Leaves: steps. How long to clamp and dry,
the glue's label says.
"""

from collections.abc import Sequence

import numpy as np
import shapely
from shapely import STRtree

from layercut.model import LoosePiece, Sheet, Stack, spacer_woods, strip_name
from layercut.workplan import Placed, SheetPaint, Step


def plan_assembly(
    stack: Stack, sheets: Sequence[Sheet], paint: Sequence[SheetPaint], *, label: bool = False
) -> tuple[Step, ...]:
    """The steps in order: lay the back sheet, glue each sheet on, its loose pieces right after it, then the spacers,
    the outer edges, the hanger, and the label for the back where there is one.

    The spacers come last, because the picture lies on its back while it is glued, and is turned over once.
    """
    layers = [sheet for sheet in sheets if sheet.kind == "layer"]
    if not layers:
        return ()
    steps = [Step("lay", layers[0].name)]
    steps += _piece_step(layers[0], stack, 0)
    for place in range(1, len(layers)):
        sheet, behind = layers[place], layers[place - 1]
        steps.append(Step("sheet", sheet.name, behind.name, _framed_contact(sheet, paint[place - 1])))
        steps += _piece_step(sheet, stack, place)
    on = layers[0].name
    woods = spacer_woods(sheets)
    for place, wood in enumerate(woods, start=1):
        name = f"spacer {place}" if len(woods) > 1 else "spacer"
        under = f"the back of {on}" if place == 1 else on
        steps.append(Step("spacer", name, under, float(wood.area), _strips_of(sheets, place, under)))
        on = name
    # Sanded flush, the edges of all sheets are one surface, and stain would not let glue hold.
    steps += [Step("edges", "outer edges"), Step("hanger", "hanger", on)]
    return (*steps, Step("label", "label", f"the back of {layers[0].name}")) if label else tuple(steps)


def _strips_of(sheets: Sequence[Sheet], spacer: int, under: str) -> tuple[Placed, ...]:
    """The strips of one spacer in the order of their numbers; none where it is one ring."""
    strips = sorted((one for sheet in sheets for one in sheet.strips if one.spacer == spacer), key=lambda s: s.number)
    return tuple(
        Placed(strip_name(strip.number), under, float(strip.placed.area), locator=False, riser=False)
        for strip in strips
    )


def _framed_contact(sheet: Sheet, behind: SheetPaint) -> float:
    """The contact of the sheet itself, without that of its loose pieces, mm2."""
    return max(behind.contact_mm2 - sum(piece.contact_mm2 for piece in sheet.loose), 0.0)


def _piece_step(sheet: Sheet, stack: Stack, place: int) -> list[Step]:
    """The step for a sheet's loose pieces and risers; none where it has none."""
    if not sheet.loose:
        return []
    marked = _marked(sheet.loose, stack, place)
    pieces = tuple(
        Placed(piece.id, piece.rests_on, piece.contact_mm2, mark, piece.riser)
        for piece, mark in zip(sheet.loose, marked, strict=True)
    )
    return [Step("pieces", sheet.name, pieces=pieces)]


def _marked(pieces: Sequence[LoosePiece], stack: Stack, place: int) -> list[bool]:
    """For each piece whether a locator on the sheet behind lies under it."""
    locators = stack.layers[place - 1].locators if place else ()
    if not locators:
        return [False] * len(pieces)
    regions = np.array([piece.region for piece in pieces], dtype=object)
    middles = shapely.line_interpolate_point(np.array(locators, dtype=object), 0.5, normalized=True)
    _, covered = STRtree(regions).query(middles, predicate="within")
    found = set(covered.tolist())
    return [index in found for index in range(len(pieces))]
