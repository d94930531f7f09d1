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
from layercut.stack.choice_findings import choice_findings, small_findings
from layercut.stack.decide import Decided
from layercut.stack.faces import Face
from layercut.stack.misregistration import allowed_misregistrations
from layercut.stack.painting import PaintedSheets
from layercut.stack.report import (
    connectivity_findings,
    misregistration_findings,
    reach_findings,
    speck_findings,
    unseen_findings,
    unsupported_findings,
)
from layercut.stack.resolve_islands import ResolvedSheet
from layercut.stack.supports import NOTHING_SUPPORTED, SupportPlan
from layercut.stack.tie_paint import paint_ties
from layercut.stack.unmatched import unmatched_findings
from layercut.stack.visible_paint import VisiblePaint
from layercut.stack.wood import bare_ground


def assemble_stack(  # noqa: PLR0917 - what each step found, in their order
    panel: Panel,
    layers: Sequence[Layer],
    faces: Sequence[Face],
    decided: Decided,
    painted: PaintedSheets,
    job: Job,
) -> Stack:
    """Put the sheets' regions together, from back to front, and say what was found on the way."""
    resolved = decided.sheets
    # Behind the back sheet there is nothing, and nothing of it can be loose.
    behind = [NOTHING_SUPPORTED, *(one.support_plan for one in resolved)]
    if any(one.ties for one in resolved):
        resolved = paint_ties(resolved, VisiblePaint(layers, painted.regions), panel, job.prices)
    paints = zip(painted.regions, painted.own, strict=True)
    parts = tuple(_stack_layer(*part) for part in zip(layers, paints, resolved, behind, strict=False))
    stack = Stack(panel, parts, bare_ground(panel, [part.visible for part in parts]), painted.merged)
    misregistrations = allowed_misregistrations(stack)
    findings: list[Finding] = [*unmatched_findings(layers, [one.found for one in resolved], job), *painted.told]
    every = zip(
        layers, faces, resolved, parts, behind, decided.choices, misregistrations, painted.findings, strict=False
    )
    for layer, face, one, part, plan, choices, allowed, of_paint in every:
        findings += reach_findings(layer, face, panel)
        findings += unseen_findings(layer, one)
        findings += connectivity_findings(layer, one, job)
        findings += speck_findings(layer, (*face.specks, *one.specks))
        findings += unsupported_findings(layer, plan)
        findings += misregistration_findings(layer, allowed, job.limits.setback)
        findings += small_findings(layer.name, part.loose, choices, job.limits.piece)
        findings += of_paint
    placed = tuple(
        replace(part, slip_mm=allowed.distance_mm, choices=choices)
        for part, allowed, choices in zip(parts, misregistrations, decided.choices, strict=True)
    )
    findings += choice_findings(placed, decided.mm2, decided.bound_mm2)
    return replace(stack, layers=placed, findings=tuple(findings))


def _stack_layer(
    layer: Layer,
    paints: tuple[tuple[PaintedRegion, ...], tuple[PaintedRegion, ...]],
    resolved: ResolvedSheet,
    behind: SupportPlan,
) -> StackLayer:
    ties = _painted_ties(resolved)
    shown, own = ((*parts, *ties) if ties else parts for parts in paints)
    sheet = resolved.sheet
    return StackLayer(
        name=layer.name,
        face=sheet.face,
        visible=sheet.visible,
        opening=sheet.opening,
        hidden=sheet.hidden,
        wood=resolved.connectivity.wood,
        painted=shown,
        islands=resolved.refused,
        ties=resolved.ties,
        loose=_loose_pieces(resolved, behind),
        locators=resolved.support_plan.locators,
        given=resolved.given,
        guests=resolved.guests,
        # A glaze makes no border that is burnt: its own edge would show through it as a dark line.
        coloured=own,
    )


def _loose_pieces(resolved: ResolvedSheet, behind: SupportPlan) -> tuple[LoosePiece, ...]:
    """The sheet's loose pieces and risers, with what of the sheet behind they rest on."""
    supports = {support.piece: support for support in behind.supports}
    names = {island.id: island.names for island in resolved.loose}
    return tuple(
        LoosePiece(
            id=piece.id,
            region=piece.region,
            at_mm=point_on(piece.region),
            rests_on=supports[piece.id].rests_on,
            contact_mm2=supports[piece.id].contact_mm2,
            riser=piece.riser,
            names=names.get(piece.id, ()),
            width_mm=widest_mm(piece.region),
        )
        for piece in resolved.glued
        if piece.id in supports
    )


def _painted_ties(resolved: ResolvedSheet) -> list[PaintedRegion]:
    """Each tie that is seen, in its paint."""
    seen = [tie for tie in resolved.ties if tie.paint is not None]
    if not seen:
        return []
    face = QuadtreeRegion(resolved.sheet.face)
    bare = shapely.difference([tie.region for tie in seen], [face.around(tie.region.bounds) for tie in seen])
    return [PaintedRegion(tie.paint, as_region(region)) for tie, region in zip(seen, bare, strict=True) if tie.paint]
