"""The job from top to bottom: one drawing in, everything about its sheets out.

Enters: a drawing's path and a `Job`. Leaves: a `Build`, and the files it is written as. Each line is a stage; each
stage is one function with frozen values in and out. Where the order matters, a comment says why.
"""

from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path

import shapely

from layercut.drawing import read_drawing
from layercut.drawing.depth import depth_findings
from layercut.errors import InternalError
from layercut.findings import SEVERITIES, Finding
from layercut.geometry.processes import both_apart, each_apart
from layercut.geometry.regions import EMPTY
from layercut.geometry.threads import each
from layercut.job import Job
from layercut.model import Build, Drawing, Sheet, Stack, StackLayer
from layercut.proof.judge import judge
from layercut.proof.plan import plan_from_stack
from layercut.proof.problems import Problem, Verdict
from layercut.sheets.cut import order_sheet
from layercut.sheets.kerf import find_cut_lines, kerf_findings
from layercut.sheets.marks import Marks, drawn_marks, find_marks, mark_findings
from layercut.sheets.smoothing import measured, smooth_sheets
from layercut.sheets.svg_out import write_smooth
from layercut.stack.assemble import assemble_stack
from layercut.stack.cells import map_cells
from layercut.stack.decide import decide
from layercut.stack.faces import find_face
from layercut.stack.naming import tell_apart
from layercut.stack.painting import paint_sheets
from layercut.stack.panel import make_panel
from layercut.workshop.hanging import count_spacers, spacer_wood
from layercut.workshop.own_paints import OwnPaints
from layercut.workshop.paint import plan_paint
from layercut.workshop.stain import stain_findings
from layercut.workshop.work import find_own, plan_work

Progress = Callable[[str], None]


def _quiet(_stage: str) -> None:
    """No progress is wanted."""


def compile_drawing(path: Path, job: Job, progress: Progress = _quiet) -> Build:
    """Everything from one drawing, in memory: regions, sheets, findings and the proof.

    A drawing that can't be made as drawn gives a Build without sheets whose findings say why.
    Raises LayercutError when the drawing can't be read or the job doesn't go with it.
    """
    progress("reading the drawing")
    drawing = read_drawing(path, job)
    own = find_own(path.parent, job)
    planned = plan_build(drawing, job, progress)
    if not planned.makeable:
        # A drawing with islands has no sheets: half a stack would be cut by someone in a hurry.
        return planned
    build = cut_build(planned, own, progress)
    progress("proving the sheets")
    verdict = judge_build(build)
    if unparted := _unparted(verdict, build):
        return replace(planned, findings=_sorted((*planned.findings, *unparted)))
    _check_proof(verdict, drawing)
    return replace(build, proof=verdict.proof)


def check_drawing(path: Path, job: Job) -> tuple[Finding, ...]:
    """All that is wrong or doubtful about a drawing, errors first; empty when there is nothing to say.

    Raises LayercutError as `compile_drawing` does.
    """
    return compile_drawing(path, job).findings


def plan_build(drawing: Drawing, job: Job, progress: Progress = _quiet) -> Build:
    """The first half of a run: the stack and what is wrong or doubtful so far, without sheets."""
    stack = plan_stack(drawing, job, progress)
    told = (*drawing.findings, *depth_findings(drawing), *stack.findings, *stain_findings(drawing, job))
    return Build(drawing, job, stack, (), _sorted(told))


def cut_build(planned: Build, own: OwnPaints | None, progress: Progress = _quiet) -> Build:
    """The second half, but for the proof: the sheets as written, and the work at the bench and the wall."""
    drawing, stack, job = planned.drawing, planned.stack, planned.job
    sheets, findings = cut_sheets(drawing, stack, job, progress)
    sheets = (*sheets, *cut_spacers(stack, job))
    progress("writing the sheets and planning the work")
    # Paint doesn't need the sheets as written. The other work does: where their curves begin decides how long the
    # machine takes.
    copies = sum(sheet.copies for sheet in sheets)
    paint, (sheets, written) = both_apart(
        lambda: plan_paint(drawing, stack, copies, job, own), lambda: write_sheets(sheets, stack, job)
    )
    work = plan_work(stack, sheets, job, paint)
    told = _sorted((*planned.findings, *findings, *work.findings))
    return replace(planned, sheets=sheets, findings=told, written=tuple(written.items()), work=work.work)


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
    layers = tell_apart(drawing.layers)
    decided = decide(layers, faces, cell_map, panel, job)
    progress("composing the paint")
    # Paint changes no wood, but what shows where is known only once the sheets are settled.
    painted = paint_sheets(panel, layers, faces, decided.settled)
    progress("putting the stack together")
    return assemble_stack(panel, layers, faces, decided, painted, job)


def cut_sheets(
    drawing: Drawing, stack: Stack, job: Job, progress: Progress = _quiet
) -> tuple[tuple[Sheet, ...], tuple[Finding, ...]]:
    """From what each sheet is made of to what the machine does."""
    progress("cutting the sheets")
    drawn = drawn_marks(drawing.layers, stack.layers)

    def cut(index: int) -> tuple[Sheet, list[Finding]]:
        planned, name = stack.layers[index], drawing.layers[index].name
        marks = find_marks(drawn[index], planned, job, stack.bare if index == 0 else EMPTY)
        lines = find_cut_lines(planned.wood, job)
        # Order comes last: it needs to know every mark and cut of the sheet.
        sheet = order_sheet(index + 1, planned, marks, lines, job, count=len(stack.layers))
        return sheet, [*mark_findings(name, marks), *kerf_findings(name, lines, job)]

    done = each_apart(cut, range(len(stack.layers)), lambda index: _vertices(stack.layers[index]))
    return tuple(sheet for sheet, _ in done), tuple(finding for _, findings in done for finding in findings)


def _vertices(layer: StackLayer) -> int:
    """How many vertices a layer's colours have: most of the work on a sheet are the marks between these."""
    return sum(shapely.get_num_coordinates(part.region) for part in layer.coloured)


def cut_spacers(stack: Stack, job: Job) -> tuple[Sheet, ...]:
    """The spacer frames as one sheet with its copies; none where the job needs none."""
    copies = count_spacers(stack.panel, len(stack.layers), job)
    if not copies:
        return ()
    wood = spacer_wood(stack.panel, job)
    frame = StackLayer("spacer", wood, EMPTY, EMPTY, EMPTY, wood, ())
    sheet = order_sheet(0, frame, Marks((), ()), find_cut_lines(wood, job), job)
    return (replace(sheet, kind="spacer", file="sheets/spacer.svg", copies=copies),)


def write_sheets(sheets: Sequence[Sheet], stack: Stack, job: Job) -> tuple[tuple[Sheet, ...], dict[str, str]]:
    """The sheets with the lengths of their curves, and each one's SVG by its file."""
    smooth = smooth_sheets(sheets, job)
    as_written = tuple(measured(sheet, curves, job) for sheet, curves in zip(sheets, smooth, strict=True))
    return as_written, write_smooth(sheets, smooth, stack.panel, job)


def judge_build(build: Build) -> Verdict:
    """Read the written sheets back and hold what they make against what was planned."""
    return judge(dict(build.written), plan_from_stack(build.stack, build.sheets, build.job))


def judge_sheets(sheets: Sequence[Sheet], stack: Stack, job: Job) -> Verdict:
    """The same for sheets that aren't a build's own, whatever was done to them."""
    sheets, written = write_sheets(sheets, stack, job)
    return judge(written, plan_from_stack(stack, sheets, job))


BLEMISH_MM2 = 1.0
"""So much of the picture may show wrong at one place, mm2, before nothing is written: a scratch, not a fault of the
piece. It is told all the same, in the manifest, on the traveller and by `layercut verify`."""


DUST_MM2 = 0.1
"""A piece smaller than this that comes loose is dust, not wood that falls out, mm2."""


FINE_MM2 = 0.25
"""A loose piece smaller than this, mm2, may be too fine for the beam: what it lies in closes up around it."""


def _unparted(verdict: Verdict, build: Build) -> tuple[Finding, ...]:
    """A finding for each piece that was to be cut free and is too fine for that; only the proof can tell."""
    names = {sheet.file: sheet.name for sheet in build.sheets}
    return tuple(
        Finding(
            "island",
            "error",
            f"a piece of {problem.size:.2f} mm² can't be cut free: the gaps around it are narrower than the beam. "
            "Draw it larger, tie it, or leave it out.",
            names[problem.file],
            at_mm=problem.at_mm,
        )
        for problem in verdict.problems
        if problem.code == "piece-missing" and problem.size is not None and problem.size < FINE_MM2
    )


def _is_blemish(problem: Problem) -> bool:
    limits = {"picture-differs": BLEMISH_MM2, "piece-loose": DUST_MM2}
    return problem.code in limits and (problem.size or 0.0) <= limits[problem.code]


def _check_proof(verdict: Verdict, drawing: Drawing) -> None:
    """The law that every run checks: what the files make is what was planned."""
    problems = [problem for problem in verdict.problems if not _is_blemish(problem)]
    if not problems:
        return
    first, *rest = problems
    place = f" at {first.at_mm[0]:g}, {first.at_mm[1]:g} mm" if first.at_mm else ""
    more = f" ({len(rest)} more like it)" if rest else ""
    raise InternalError(
        "proof-failed",
        f"nothing was written, because {first.file}{place} {first.message.rstrip('.')}{more}.",
        "Please report it with the drawing.",
        file=drawing.file,
    )


def sheet_files(build: Build) -> dict[str, str]:
    """The sheets as files: relative name to SVG text. Empty when the drawing can't be made."""
    return dict(build.written)


def _sorted(findings: tuple[Finding, ...]) -> tuple[Finding, ...]:
    """Errors first; within a severity in the order in which the stages found them."""
    return tuple(sorted(findings, key=lambda finding: SEVERITIES.index(finding.severity)))
