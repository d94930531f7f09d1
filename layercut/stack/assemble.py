"""The stack as one value, and what is wrong or doubtful about it.

Enters: what the earlier steps found for each layer. Leaves: a `Stack` with its findings.
"""

from collections.abc import Sequence
from dataclasses import replace

import shapely

from layercut.findings import Finding
from layercut.geometry.quadtree import QuadtreeRegion
from layercut.geometry.regions import as_region, point_on, widest_mm
from layercut.job import Job
from layercut.model import Layer, LoosePiece, PaintedRegion, Panel, Stack, StackLayer
from layercut.stack.decide import Decided
from layercut.stack.faces import Face
from layercut.stack.loose import NOTHING_CARRIED, Carried
from layercut.stack.painting import Painted
from layercut.stack.report import (
    hold_findings,
    reach_findings,
    slip_findings,
    speck_findings,
    unheld_findings,
    unseen_findings,
)
from layercut.stack.seen import Picture
from layercut.stack.settle import Settled
from layercut.stack.slip import allowed_slips
from layercut.stack.tie_paint import paint_ties
from layercut.stack.told import choice_findings, small_findings
from layercut.stack.unmatched import unmatched_findings
from layercut.stack.wood import bare_ground


def assemble_stack(  # noqa: PLR0917 - what each step found, in their order
    panel: Panel,
    layers: Sequence[Layer],
    faces: Sequence[Face],
    decided: Decided,
    painted: Painted,
    job: Job,
) -> Stack:
    """Put the sheets' regions together, from back to front, and say what was found on the way."""
    settled = decided.settled
    # Behind the back sheet there is nothing, and nothing of it can be loose.
    behind = [NOTHING_CARRIED, *(one.carried for one in settled)]
    if any(one.ties for one in settled):
        settled = paint_ties(settled, Picture(layers, painted.regions), panel, job)
    paints = zip(painted.regions, painted.own, strict=True)
    parts = tuple(_stack_layer(*part) for part in zip(layers, paints, settled, behind, strict=False))
    stack = Stack(panel, parts, bare_ground(panel, [part.visible for part in parts]))
    slips = allowed_slips(stack)
    findings: list[Finding] = [*unmatched_findings(layers, [one.found for one in settled], job)]
    told = zip(layers, faces, settled, parts, behind, decided.choices, slips, painted.findings, strict=False)
    for layer, face, one, part, carried, choices, slip, of_paint in told:
        findings += reach_findings(layer, face, panel)
        findings += unseen_findings(layer, one)
        findings += hold_findings(layer, one, job)
        findings += speck_findings(layer, (*face.specks, *one.specks))
        findings += unheld_findings(layer, carried)
        findings += slip_findings(layer, slip, job)
        findings += small_findings(layer.name, part.loose, choices, job)
        findings += of_paint
    placed = tuple(
        replace(part, slip_mm=slip.distance_mm, choices=choices)
        for part, slip, choices in zip(parts, slips, decided.choices, strict=True)
    )
    findings += choice_findings(placed, decided.mm2, decided.bound_mm2)
    return replace(stack, layers=placed, findings=tuple(findings))


def _stack_layer(
    layer: Layer,
    paints: tuple[tuple[PaintedRegion, ...], tuple[PaintedRegion, ...]],
    settled: Settled,
    behind: Carried,
) -> StackLayer:
    ties = _painted_ties(settled)
    shown, own = ((*parts, *ties) if ties else parts for parts in paints)
    sheet = settled.sheet
    return StackLayer(
        name=layer.name,
        face=sheet.face,
        visible=sheet.visible,
        opening=sheet.opening,
        hidden=sheet.hidden,
        wood=settled.hold.wood,
        painted=shown,
        islands=settled.refused,
        ties=settled.ties,
        loose=_loose_pieces(settled, behind),
        locators=settled.carried.locators,
        given=settled.given,
        guests=settled.guests,
        # A glaze makes no border that is burnt: its own edge would show through it as a dark line.
        coloured=own,
    )


def _loose_pieces(settled: Settled, behind: Carried) -> tuple[LoosePiece, ...]:
    """The sheet's loose pieces and risers, with what the sheet behind offers them."""
    rests = {rest.load: rest for rest in behind.rests}
    names = {island.id: island.names for island in settled.loose}
    return tuple(
        LoosePiece(
            id=load.id,
            region=load.region,
            at_mm=point_on(load.region),
            rests_on=rests[load.id].rests_on,
            contact_mm2=rests[load.id].contact_mm2,
            riser=load.id not in names,
            names=names.get(load.id, ()),
            width_mm=widest_mm(load.region),
        )
        for load in settled.loads
        if load.id in rests
    )


def _painted_ties(settled: Settled) -> list[PaintedRegion]:
    """Each tie that is seen, in its paint."""
    seen = [tie for tie in settled.ties if tie.paint is not None]
    if not seen:
        return []
    face = QuadtreeRegion(settled.sheet.face)
    bare = shapely.difference([tie.region for tie in seen], [face.around(tie.region.bounds) for tie in seen])
    return [PaintedRegion(tie.paint, as_region(region)) for tie, region in zip(seen, bare, strict=True) if tie.paint]
