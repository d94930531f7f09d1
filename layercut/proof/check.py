"""The proof itself: written sheets held against what they should make.

Enters: the sheets' texts and the `Plan`. Leaves: a `Verdict`. The last stage of every compile and `layercut verify`
both come here.
"""

from collections.abc import Mapping

import shapely

from layercut.errors import DrawingError
from layercut.geometry.parallel import each
from layercut.proof.checks import check_order, check_size, check_ties, sort_pieces
from layercut.proof.failures import ProofFailure, SheetVerdict, Verdict
from layercut.proof.guests import check_guests
from layercut.proof.marks import check_marks, check_marks_on_wood
from layercut.proof.picture import check_frame, check_picture, check_rim
from layercut.proof.plan import Plan, PlannedSheet
from layercut.proof.pots import check_pots
from layercut.proof.reader import ReadSheet, read_sheet
from layercut.proof.simulate import remaining_wood
from layercut.proof.strips import Glued, check_board, check_rings

SEEN = {"picture-differs", "frame-differs", "rim-differs"}
"""The problems whose sizes add up to the mismatch."""


def check_sheets(texts: Mapping[str, str], plan: Plan) -> Verdict:
    """Read each sheet back, cut it in thought, and compare. `texts` has a text for each of the plan's files."""
    checked = each(lambda sheet: _check_text(texts.get(sheet.file), sheet, plan), plan.sheets)
    sheets = tuple(verdict for verdict, _, _ in checked if verdict is not None)
    glued = {number: strip for _, _, strips in checked for number, strip in strips.items()}
    on_sheets = [failure for _, found, _ in checked for failure in found]
    failures = (*on_sheets, *check_rings(glued, plan), *check_pots(plan))
    mismatch = sum(failure.size or 0.0 for failure in failures if failure.code in SEEN)
    planned = sum((not sheet.strips) + len(sheet.pieces) for sheet in plan.sheets)
    return Verdict(sheets, failures, mismatch, planned)


def _check_text(
    text: str | None, sheet: PlannedSheet, plan: Plan
) -> tuple[SheetVerdict | None, list[ProofFailure], Glued]:
    if text is None:
        return None, [ProofFailure("sheet-missing", "is not there.", sheet.file)], {}
    try:
        read = read_sheet(text, sheet.file, plan.colours)
    except DrawingError as error:
        code = "role-differs" if error.code == "sheet-miscoloured" else "sheet-damaged"
        return None, [ProofFailure(code, error.text, sheet.file)], {}
    return check_board(read, sheet, plan) if sheet.strips else (*check_sheet(read, sheet, plan), {})


def check_sheet(read: ReadSheet, sheet: PlannedSheet, plan: Plan) -> tuple[SheetVerdict, list[ProofFailure]]:
    """Everything about one sheet: what holds, what comes loose, and what is wrong."""
    wood = remaining_wood(read, plan.kerf_mm)
    shapely.prepare(wood)  # most checks only ask whether it covers something
    verdict, problems = sort_pieces(read, sheet, wood, plan)
    problems = [
        *check_size(read, sheet, plan),
        *check_order(read, sheet.file),
        *check_rim(read, sheet.file, plan),
        *check_frame(wood, sheet.file, plan, pinned=sheet.pinned),
        *problems,
        *check_ties(sheet, wood, plan),
        *check_picture(sheet, wood, plan),
        *check_marks(read, sheet, plan),
        *check_marks_on_wood(read, wood, sheet.file, plan),
        *check_guests(read, sheet, plan),
    ]
    return verdict, problems
