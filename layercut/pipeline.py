"""The job from top to bottom: one drawing in, everything about its sheets out.

Enters: a drawing's path and a `Job`. Leaves: a `Build`, and the files it is written as. Each line is a stage; each
stage is one function with frozen values in and out. Where the order matters, a comment says why.
"""

from collections.abc import Callable
from pathlib import Path

from layercut.drawing import read_drawing
from layercut.errors import InternalError
from layercut.findings import SEVERITIES, Finding
from layercut.geometry.regions import union
from layercut.job import Job
from layercut.model import Build, Drawing, Proof, Sheet, Stack
from layercut.proof.reader import read_sheet
from layercut.proof.simulate import prove
from layercut.sheets.cut import order_sheet
from layercut.sheets.kerf import find_cut_lines, kerf_findings
from layercut.sheets.marks import find_marks, mark_findings
from layercut.sheets.svg_out import write_sheet
from layercut.stack.assemble import assemble_stack
from layercut.stack.cells import map_cells
from layercut.stack.faces import find_face
from layercut.stack.panel import make_panel
from layercut.stack.settle import settle_stack

Progress = Callable[[str], None]

PROOF_TOLERANCES = 1.5
"""What the proof lets pass, in curve tolerances: one for the cut line, half of one for the plan's own flattening."""


def _quiet(_stage: str) -> None:
    """No progress is wanted."""


def compile_drawing(path: Path, job: Job, progress: Progress = _quiet) -> Build:
    """Everything from one drawing, in memory: regions, sheets, findings and the proof.

    A drawing that can't be made as drawn gives a Build without sheets whose findings say why.
    Raises LayercutError when the drawing can't be read or the job doesn't go with it.
    """
    progress("reading the drawing")
    drawing = read_drawing(path, job)
    stack = plan_stack(drawing, job, progress)
    if any(finding.severity == "error" for finding in stack.findings):
        # A drawing with islands has no sheets: half a stack would be cut by someone in a hurry.
        return Build(drawing, job, stack, (), _sorted((*drawing.findings, *stack.findings)))
    sheets, findings = cut_sheets(drawing, stack, job, progress)
    progress("proving the sheets")
    proof = prove_sheets(sheets, stack, job)
    _check_proof(proof, drawing)
    return Build(drawing, job, stack, sheets, _sorted((*drawing.findings, *stack.findings, *findings)), proof)


def check_drawing(path: Path, job: Job) -> tuple[Finding, ...]:
    """All that is wrong or doubtful about a drawing, errors first; empty when there is nothing to say.

    Raises LayercutError as `compile_drawing` does.
    """
    return compile_drawing(path, job).findings


def plan_stack(drawing: Drawing, job: Job, progress: Progress = _quiet) -> Stack:
    """From the layers as drawn to what each sheet is made of."""
    panel = make_panel(drawing.width_mm, drawing.height_mm, job)
    progress("finding the faces")
    faces = [find_face(layer) for layer in drawing.layers]
    progress("mapping the cells")
    # All faces at once: sheets that meet then share their edges to the last digit.
    cell_map = map_cells([face.region for face in faces], panel)
    progress("looking for islands")
    # From front to back: a visible tie covers what lies behind it, and a loose piece needs something to rest on.
    settled = settle_stack(drawing.layers, cell_map, panel, job)
    return assemble_stack(panel, drawing.layers, faces, settled, job)


def cut_sheets(
    drawing: Drawing, stack: Stack, job: Job, progress: Progress = _quiet
) -> tuple[tuple[Sheet, ...], tuple[Finding, ...]]:
    """From what each sheet is made of to what the machine does."""
    sheets: list[Sheet] = []
    findings: list[Finding] = []
    for number, (layer, planned) in enumerate(zip(drawing.layers, stack.layers, strict=True), start=1):
        progress(f"cutting sheet {number}, {layer.name}")
        marks = find_marks(layer, planned, job)
        lines = find_cut_lines(planned.wood, job)
        # Order comes last: it needs to know every mark and cut of the sheet.
        sheets.append(order_sheet(number, planned, marks, lines, job))
        findings += mark_findings(layer.name, marks)
        findings += kerf_findings(layer.name, lines, job)
    return tuple(sheets), tuple(findings)


def prove_sheets(sheets: tuple[Sheet, ...], stack: Stack, job: Job) -> Proof:
    """Read the written sheets back and see what they make."""
    written = [read_sheet(write_sheet(sheet, stack.panel, job), sheet.file) for sheet in sheets]
    back, *front = stack.layers
    # Where nothing is drawn, the back sheet's bare wood closes the picture.
    shown = [union((back.visible, stack.bare)), *(layer.visible for layer in front)]
    pieces = sum(1 + len(layer.islands) + len(layer.loose) for layer in stack.layers)
    return prove(written, shown, pieces, job.material.kerf, PROOF_TOLERANCES * job.curves.tolerance)


def _check_proof(proof: Proof, drawing: Drawing) -> None:
    """The law that every run checks: what the files make is what was planned."""
    if proof.pieces_found != proof.pieces_planned or proof.stack_mismatch_mm2 > 0:
        raise InternalError(
            "proof-failed",
            f"the written sheets would make {proof.pieces_found} pieces where {proof.pieces_planned} are planned, "
            f"and {proof.stack_mismatch_mm2:g} mm2 of the picture would differ, so nothing was written.",
            "Please report it with the drawing.",
            file=drawing.file,
        )


def sheet_files(build: Build) -> dict[str, str]:
    """The sheets as files: relative name to SVG text. Empty when the drawing can't be made."""
    return {sheet.file: write_sheet(sheet, build.stack.panel, build.job) for sheet in build.sheets}


def _sorted(findings: tuple[Finding, ...]) -> tuple[Finding, ...]:
    """Errors first; within a severity in the order in which the stages found them."""
    return tuple(sorted(findings, key=lambda finding: SEVERITIES.index(finding.severity)))
