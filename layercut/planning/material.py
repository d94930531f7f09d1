"""Material: how much wood goes into the sheets, what is left, and how the sheets lie on bed and boards.

Enters: the panel, the sheets and the job. Leaves: a `MaterialPlan`, and a finding where the bed is tight.
"""

from collections.abc import Sequence

import shapely
from shapely import MultiPolygon, Polygon, STRtree

from layercut.findings import Finding
from layercut.geometry.regions import polygons_of
from layercut.job_tables import MachineJob, MaterialJob
from layercut.model import Panel, Sheet
from layercut.planning.nesting import MOST_OPENINGS, Opening, Spare, lay_out, nest_parts
from layercut.units import said_size
from layercut.workplan import Layout, MaterialPlan

LEAST_WASTE_MM2 = 25.0
"""Waste smaller than this is a crumb nobody lays a part on, mm2."""


def plan_material(panel: Panel, sheets: Sequence[Sheet], material: MaterialJob, machine: MachineJob) -> MaterialPlan:
    """Wood used and left over all sheets and copies, layouts, and spares of the loose pieces laid into the waste."""
    size, gap = _cut_size(panel, material.kerf), material.gap
    copies = sum(sheet.copies for sheet in sheets)
    wood = sum(float(sheet.wood.area) * sheet.copies for sheet in sheets)
    parts = [
        Spare(piece.id if material.spares == 1 else f"{piece.id}, spare {spare + 1}", piece.region)
        for sheet in sheets
        for piece in sheet.loose
        for spare in range(material.spares)
        if not piece.riser
    ]
    nested, unplaced = nest_parts(parts, _openings(sheets), material.gap) if parts else ((), ())
    return MaterialPlan(
        panels=copies,
        wood_mm2=wood,
        waste_mm2=max(float(panel.outline.area) * copies - wood, 0.0),
        bed=_layout(size, (machine.bed_width, machine.bed_height), gap, copies, edge_mm=0.0),
        stock=_layout(
            size, (material.stock_width, material.stock_height), material.gap, copies, edge_mm=material.gap
        ),
        nested=nested,
        unplaced=unplaced,
    )


def bed_findings(panel: Panel, machine: MachineJob, kerf_mm: float) -> list[Finding]:
    """A word where the rim's cut line leaves the bed, though the panel itself fits, or where it fits turned only."""
    wide, high = machine.bed_width, machine.bed_height
    if wide is None or high is None:
        return []
    width, height = _cut_size(panel, kerf_mm)
    rim, bed = said_size(width, height, ".2f"), said_size(wide, high, "g")
    size = f"the rim is cut at {rim}, kerf included, and the bed is {bed}"
    if width <= wide and height <= high:
        return []
    if height <= wide and width <= high:
        message = f"{size}: lay the board, and the sheets, a quarter turn round."
        return [Finding("bed-tight", "warning", message, element="the panel")]
    message = (
        f"{size}: the machine can't reach all of it. Make the panel smaller with 'panel.width' and 'panel.height'."
    )
    return [Finding("bed-tight", "warning", message, element="the panel")]


def _cut_size(panel: Panel, kerf_mm: float) -> tuple[float, float]:
    """Width and height of the rim's centre line, mm."""
    return panel.width_mm + kerf_mm, panel.height_mm + kerf_mm


def _layout(
    size: tuple[float, float], board: tuple[float | None, float | None], gap_mm: float, copies: int, edge_mm: float
) -> Layout | None:
    """Panels on a board with a gap between them and a margin at its edge; None where its size isn't known."""
    wide, high = board
    if wide is None or high is None:
        return None
    return lay_out(size, (wide, high), gap_mm, edge_mm, copies)


def _openings(sheets: Sequence[Sheet]) -> list[Opening]:
    """The waste that falls out of each sheet, its loose pieces left out: the largest pieces, one copy of each
    sheet."""
    waste = [
        Opening(sheet.name, piece) for sheet in sheets for piece in _waste_of(sheet) if piece.area >= LEAST_WASTE_MM2
    ]
    return sorted(waste, key=lambda opening: -float(opening.waste.area))[:MOST_OPENINGS]


def _waste_of(sheet: Sheet) -> list[Polygon]:
    """What falls out of a sheet: the holes of its framed wood, less the pieces of wood that lie within them."""
    pieces = polygons_of(sheet.wood)
    holes = [Polygon(ring) for piece in pieces for ring in piece.interiors]
    holes = sorted(holes, key=lambda hole: -hole.area)[:MOST_OPENINGS]
    if len(pieces) == 1 or not holes:
        return holes
    tree = STRtree(pieces)
    rest = []
    for hole in holes:
        inside = [pieces[k] for k in sorted(tree.query(hole, predicate="contains"))]
        whole = shapely.difference(hole, MultiPolygon(inside)) if inside else hole
        rest += polygons_of(whole)
    return rest
