"""The proof itself: written sheets held against what they should make.

Enters: the sheets' texts and the `Plan`. Leaves: a `Verdict`. The last stage of every compile and `layercut verify`
both come here.
"""

from collections.abc import Mapping

from layercut.errors import DrawingError
from layercut.proof.checks import check_marks, check_order, check_size, check_ties, sort_pieces
from layercut.proof.picture import check_frame, check_picture, check_rim
from layercut.proof.plan import Plan, PlannedSheet
from layercut.proof.problems import Problem, SheetVerdict, Verdict
from layercut.proof.reader import ReadSheet, read_sheet
from layercut.proof.simulate import remaining_wood

SEEN = {"picture-differs", "frame-differs", "rim-differs"}
"""The problems whose sizes add up to the mismatch."""


def judge(texts: Mapping[str, str], plan: Plan) -> Verdict:
    """Read each sheet back, cut it in thought, and compare. `texts` has a text for each of the plan's files."""
    sheets: list[SheetVerdict] = []
    problems: list[Problem] = []
    for sheet in plan.sheets:
        if sheet.file not in texts:
            problems.append(Problem("sheet-missing", "is not there.", sheet.file))
            continue
        try:
            read = read_sheet(texts[sheet.file], sheet.file)
        except DrawingError as error:
            problems.append(Problem("sheet-damaged", error.message, sheet.file))
            continue
        verdict, found = judge_sheet(read, sheet, plan)
        sheets.append(verdict)
        problems += found
    mismatch = sum(problem.size or 0.0 for problem in problems if problem.code in SEEN)
    planned = sum(1 + len(sheet.pieces) for sheet in plan.sheets)
    return Verdict(tuple(sheets), tuple(problems), mismatch, planned)


def judge_sheet(read: ReadSheet, sheet: PlannedSheet, plan: Plan) -> tuple[SheetVerdict, list[Problem]]:
    """Everything about one sheet: what holds, what comes loose, and what is wrong."""
    wood = remaining_wood(read, plan.kerf_mm)
    verdict, problems = sort_pieces(read, sheet, wood, plan)
    problems = [
        *check_size(read, sheet, plan),
        *check_order(read, sheet.file),
        *check_rim(read, sheet.file, plan),
        *check_frame(wood, sheet.file, plan),
        *problems,
        *check_ties(sheet, wood, plan),
        *check_picture(sheet, wood, plan),
        *check_marks(read, wood, sheet.file, plan),
    ]
    return verdict, problems
