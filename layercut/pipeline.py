"""The job from top to bottom: one drawing in, everything about its sheets out.

Enters: a drawing's path and a `Job`. Leaves: a `Planned`, then a `Cut`, then a `Made`. Each line is a stage; each
stage is one function with frozen values in and out. Where the order matters, a comment says why.
"""

from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

import shapely

from layercut.drawing import CurveCache, read_drawing
from layercut.drawing.depth import depth_findings
from layercut.errors import told_in
from layercut.findings import Finding, in_order
from layercut.geometry.parallel import each
from layercut.geometry.processes import both_apart, each_apart
from layercut.geometry.regions import EMPTY
from layercut.job import Job
from layercut.model import Boards, Build, Cut, Drawing, Made, OrderedSheet, Panel, Planned, Stack, StackLayer
from layercut.planning.boards.plan import plan_boards, require_boards
from layercut.planning.cost import plan_cost
from layercut.planning.hands import hand_findings
from layercut.planning.hanging import count_spacers, spacer_ring, spacer_width_mm, spacer_wood
from layercut.planning.own_paints import OwnPaints
from layercut.planning.spacer_strips import SpacerRing, strip_boards
from layercut.planning.stain import stain_findings, stained_wood
from layercut.planning.work import find_own, plan_work
from layercut.proof.boards import check_boards, planned_boards
from layercut.proof.check import check_sheets
from layercut.proof.outcome import require_proof, unparted_pieces
from layercut.proof.plan import plan_from_stack
from layercut.sheets.boards import write_boards
from layercut.sheets.kerf import find_cut_lines, kerf_findings
from layercut.sheets.marks import Marks, drawn_marks, find_marks, mark_findings
from layercut.sheets.smoothing import smooth_sheets
from layercut.sheets.svg_out import write_sheets
from layercut.sheets.toolpath import order_board, order_sheet
from layercut.stack.assemble import assemble_stack
from layercut.stack.cells import map_cells
from layercut.stack.decide import decide
from layercut.stack.faces import find_face
from layercut.stack.fewer_pots import share_pots
from layercut.stack.naming import find_shared_names
from layercut.stack.painting import paint_sheets
from layercut.stack.panel import make_panel

Progress = Callable[[str], None]


def _quiet(_stage: str) -> None:
    """No progress is wanted."""


def run(
    path: Path, job: Job, progress: Progress = _quiet, cache: CurveCache | None = None
) -> Iterator[Drawing | Planned]:
    """All stages on one drawing. Yields what is known as soon as it is: the `Drawing`, the `Planned`, its `Cut`, and
    last the `Made`. A drawing that can't be made ends with a `Planned` whose findings say why.

    `cache` keeps the drawing's curves for whoever runs it again after a save.
    Raises LayercutError when the drawing can't be read, the job doesn't go with it, or the proof fails; its
    sentence is told in the job's units.
    """
    with told_in(job.units):
        progress("reading the drawing")
        drawing = read_drawing(path, job, cache)
        own = find_own(path.parent, job.paint.own)
        yield drawing
        planned = plan_drawing(drawing, job, progress)
        yield planned
        if not planned.makeable:
            # A drawing with islands has no sheets: half a stack would be cut by someone in a hurry.
            return
        cut = cut_stack(planned, progress)
        yield cut
        progress("planning the work and proving the sheets")
        yield conclude(cut, own)


def compile_drawing(path: Path, job: Job, progress: Progress = _quiet) -> Build:
    """Everything from one drawing, in memory: regions, sheets, findings and the proof.

    A drawing that can't be made as drawn gives a `Planned`, without sheets, whose findings say why.
    Raises LayercutError as `run` does.
    """
    *_, build = run(path, job, progress)
    assert isinstance(build, Planned)
    return build


def check_drawing(path: Path, job: Job) -> tuple[Finding, ...]:
    """All that is wrong or doubtful about a drawing, errors first; empty when there is nothing to say.

    Raises LayercutError as `run` does.
    """
    return compile_drawing(path, job).findings


def plan_drawing(drawing: Drawing, job: Job, progress: Progress = _quiet) -> Planned:
    """The first half of a run: the stack and what is wrong or doubtful so far, without sheets."""
    stack = plan_stack(drawing, job, progress)
    require_boards(stack.panel, job)
    named = (*stain_findings(drawing, job.paint.stain), *hand_findings(drawing, job.paint.hands))
    told = (*drawing.findings, *depth_findings(drawing), *stack.findings, *named)
    return Planned(drawing, job, stack, in_order(told, drawing.layer_names))


def cut_stack(planned: Planned, progress: Progress = _quiet) -> Cut:
    """The second half, but for the work and the proof: the sheets, and the text of each."""
    drawing, stack, job = planned.drawing, planned.stack, planned.job
    ordered, findings = order_sheets(drawing, stack, job, progress)
    progress("writing the sheets")
    sheets = smooth_sheets((*ordered, *order_spacers(stack, job)), job)
    told = in_order((*planned.findings, *findings), drawing.layer_names)
    return Cut(drawing, job, stack, told, sheets, write_sheets(sheets, stack.panel, job))


def conclude(cut: Cut, own: OwnPaints | None) -> Build:
    """The work at the bench and the proof, which don't need each other. Where a piece turns out too fine to be cut
    free, the plan with a finding for each. Raises InternalError when the proof fails."""
    drawing, stack, job, names = cut.drawing, cut.stack, cut.job, cut.drawing.layer_names
    plan = plan_from_stack(stack, cut.sheets, job)
    (work, boards), verdict = both_apart(
        lambda: (plan_work(drawing, stack, cut.sheets, job, own), make_boards(cut)),
        lambda: check_sheets(cut.written, plan),
    )
    told = (*cut.findings, *work.findings)
    if unparted := unparted_pieces(verdict, {sheet.file: sheet.name for sheet in cut.sheets}):
        return Planned(drawing, job, stack, in_order((*told, *unparted), names))
    require_proof(verdict, drawing.file)
    # The cost comes last of the work: it needs to know how many boards there are.
    plans = replace(work.plan, cost=plan_cost(job, boards, work.plan.times))
    made = Made(drawing, job, stack, in_order(told, names), cut.sheets, cut.written, plans, verdict.proof, boards)
    if boards is not None:
        # Last, for they are held against the sheets, which are proved by now.
        planned = planned_boards(boards.plan, cut.sheets, job)
        found = check_boards(boards.written, cut.written, planned, plan)
        require_proof(replace(verdict, failures=found), drawing.file)
    return made


def make_boards(cut: Cut) -> Boards | None:
    """All parts laid on boards, and each board's text; None where the job knows no size of boards or bed."""
    plan = plan_boards(cut.sheets, cut.job)
    return None if plan is None else Boards(plan, *write_boards(plan.boards, cut.job))


def plan_stack(drawing: Drawing, job: Job, progress: Progress = _quiet) -> Stack:
    """From the layers as drawn to what each sheet is made of."""
    panel = make_panel(drawing.width_mm, drawing.height_mm, job)
    progress("finding the faces")
    faces = each(find_face, drawing.layers)
    progress("mapping the cells")
    # All faces at once: sheets that meet then share their edges to the last digit.
    cell_map = map_cells([face.region for face in faces], panel)
    progress("looking for islands")
    # From front to back: a visible tie covers what lies behind it, and a loose piece needs something to rest on.
    # A piece is named by what only it is called in the whole drawing, so all layers come before any of them.
    layers = find_shared_names(drawing.layers)
    decided = decide(layers, faces, cell_map, panel, job)
    progress("composing the paint")
    # Paint changes no wood, but what shows where is known only once the islands are resolved.
    painted = paint_sheets(panel, layers, faces, decided.sheets)
    # What no eye tells apart is one paint from here on: for ties, marks, maps, pictures and the plan of the paint.
    seen = [one.sheet.visible for one in decided.sheets]
    stained = [stained_wood(layer, job.paint.stain) for layer in layers]
    painted = share_pots(painted, seen, stained, job.paint.merge, job.paint.colours)
    progress("putting the stack together")
    return assemble_stack(panel, layers, faces, decided, painted, job)


def order_sheets(
    drawing: Drawing, stack: Stack, job: Job, progress: Progress = _quiet
) -> tuple[tuple[OrderedSheet, ...], tuple[Finding, ...]]:
    """From what each sheet is made of to what is burnt, in order."""
    progress("cutting the sheets")
    drawn, kerf_mm = drawn_marks(drawing.layers, stack.layers), job.material.kerf

    def cut(index: int) -> tuple[OrderedSheet, list[Finding]]:
        planned, name = stack.layers[index], drawing.layers[index].name
        marks = find_marks(drawn[index], planned, job.marks, stack.bare if index == 0 else EMPTY)
        lines = find_cut_lines(planned.wood, kerf_mm, job.curves)
        # Order comes last: it needs to know every mark and cut of the sheet.
        sheet = order_sheet(index + 1, planned, marks, lines, count=len(stack.layers))
        return sheet, [*mark_findings(name, marks), *kerf_findings(name, lines, kerf_mm)]

    done = each_apart(cut, range(len(stack.layers)), lambda index: _vertices(stack.layers[index]))
    return tuple(sheet for sheet, _ in done), tuple(finding for _, findings in done for finding in findings)


def _vertices(layer: StackLayer) -> int:
    """How many vertices a layer's colours have: most of the work on a sheet are the marks between these."""
    return sum(shapely.get_num_coordinates(part.region) for part in layer.coloured)


def order_spacers(stack: Stack, job: Job) -> tuple[OrderedSheet, ...]:
    """The spacer frames as one sheet with its copies, or boards of their strips; none where the job needs none."""
    copies = count_spacers(stack.panel, len(stack.layers), job.hanging, job.material.thickness)
    if not copies:
        return ()
    # Pins that no sheet of the picture has line up nothing.
    unpinned = stack.panel.blind and len(stack.layers) == 1
    panel = replace(stack.panel, pins=()) if unpinned else stack.panel
    if job.hanging.spacer_from == "strips":
        return _order_strips(panel, copies, job)
    wood = spacer_wood(panel, job)
    frame = StackLayer("spacer", wood, EMPTY, EMPTY, EMPTY, wood, ())
    sheet = order_sheet(0, frame, Marks((), ()), find_cut_lines(wood, job.material.kerf, job.curves))
    return (replace(sheet, kind="spacer", file="sheets/spacer.svg", copies=copies),)


def _order_strips(panel: Panel, spacers: int, job: Job) -> tuple[OrderedSheet, ...]:
    """The boards of strips of which the spacers are glued."""
    ring = SpacerRing(panel, spacer_ring(panel, job), spacer_width_mm(panel, job.hanging))
    boards = strip_boards(ring, spacers, job)
    sheets = []
    for number, strips in enumerate(boards, start=1):
        lines = [find_cut_lines(strip.laid, job.material.kerf, job.curves) for strip in strips]
        stem = "strips" if len(boards) == 1 else f"strips-{number}"
        sheets.append(order_board(stem, strips, lines))
    return tuple(sheets)
