"""Builds from their parts, for tests that need one without a drawing's file, or whose sheets were changed by hand."""

from collections.abc import Sequence

from layercut.findings import Finding, in_order
from layercut.job import Job
from layercut.model import Build, Cut, Drawing, Made, OrderedSheet, Proof, Sheet, Stack
from layercut.pipeline import make_boards, order_sheets, order_spacers
from layercut.planning.own_paints import OwnPaints
from layercut.planning.work import plan_work
from layercut.proof.check import check_sheets
from layercut.proof.failures import Verdict
from layercut.proof.plan import plan_from_stack
from layercut.sheets.smoothing import smooth_sheets
from layercut.sheets.svg_out import write_sheets

HELD = Proof(0.0, 0, 0)
"""Stands for what a proof found, where that doesn't matter."""


def made_of(build: Build) -> Made:
    """A build of a drawing that can be made."""
    assert isinstance(build, Made), [finding.code for finding in build.findings]
    return build


def sheets_made(drawing: Drawing, stack: Stack, job: Job) -> tuple[Sheet, ...]:
    """The sheets of a stack, islands or not, without spacers."""
    return smooth_sheets(order_sheets(drawing, stack, job)[0], job)


def spacers_made(stack: Stack, job: Job) -> tuple[Sheet, ...]:
    """The spacers of a stack as one sheet, or none."""
    return smooth_sheets(order_spacers(stack, job), job)


def build_made(
    drawing: Drawing,
    stack: Stack,
    sheets: Sequence[Sheet],
    job: Job,
    findings: Sequence[Finding] = (),
    *,
    proof: Proof = HELD,
    own: OwnPaints | None = None,
) -> Made:
    """All of a run whose sheets are these."""
    work = plan_work(drawing, stack, sheets, job, own)
    told = in_order(findings, drawing.layer_names)
    cut = Cut(drawing, job, stack, told, tuple(sheets), write_sheets(sheets, stack.panel, job))
    return Made(drawing, job, stack, told, cut.sheets, cut.written, work.plan, proof, make_boards(cut))


def checked(sheets: Sequence[OrderedSheet], stack: Stack, job: Job) -> Verdict:
    """The proof of sheets whatever was done to their polylines: their curves are made anew."""
    smooth = smooth_sheets(sheets, job)
    return check_sheets(write_sheets(smooth, stack.panel, job), plan_from_stack(stack, smooth, job))
