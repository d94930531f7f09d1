"""Material: how much wood goes into the sheets, what is left, and how the sheets lie on bed and boards.

Enters: the panel, the sheets and the job. Leaves: a `MaterialPlan`, and a finding where the bed is tight.
"""

from collections.abc import Sequence

from layercut.findings import Finding
from layercut.job_tables import MachineJob, MaterialJob
from layercut.model import Panel, Sheet
from layercut.planning.boards.size import find_board_size
from layercut.planning.boards.spares import propose_spares
from layercut.planning.nesting import lay_out
from layercut.units import said_size
from layercut.workplan import Layout, MaterialPlan


def plan_material(panel: Panel, sheets: Sequence[Sheet], material: MaterialJob, machine: MachineJob) -> MaterialPlan:
    """Wood used and left over all sheets and copies, layouts, and spares of the loose pieces laid into the waste."""
    size, gap = _cut_size(panel, material.kerf), material.gap
    copies = sum(sheet.copies for sheet in sheets)
    wood = sum(float(sheet.wood.area) * sheet.copies for sheet in sheets)
    # On boards the spares are cut with the rest; without them a place is only proposed.
    on_boards = find_board_size(material, machine) is not None
    nested, unplaced = ((), ()) if on_boards else propose_spares(sheets, material)
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
