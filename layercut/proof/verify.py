"""Verify a compiled folder: what its files would make, and whether that is what they say.

Enters: a folder. Leaves: a `Verdict`. Holds: nothing of the run that wrote the folder is used, only its files.
"""

import json
from dataclasses import asdict, replace
from pathlib import Path
from typing import Any

from layercut.proof.boards import check_boards
from layercut.proof.check import check_sheets
from layercut.proof.failures import FAILURES, FoundPiece, ProofFailure, SheetVerdict, Verdict
from layercut.proof.folder import read_folder

FORMAT = 1
"""Version of the JSON document that tells a verdict."""

__all__ = ["FAILURES", "FoundPiece", "ProofFailure", "SheetVerdict", "Verdict", "verdict_text", "verify_folder"]


def verify_folder(folder: Path) -> Verdict:
    """Read a folder's manifest, sheets, boards and paint maps, cut sheets and boards in thought, and report.

    Raises DrawingError when the folder isn't one that layercut wrote, or can't be read.
    """
    found = read_folder(folder)
    verdict = check_sheets(found.texts, found.plan)
    boards = check_boards(found.board_texts, found.texts, found.boards, found.plan)
    return replace(verdict, failures=(*found.failures, *verdict.failures, *boards), units=found.units)


def verdict_text(verdict: Verdict, folder: str) -> str:
    """A verdict as one JSON document, with a newline at the end."""
    document = {
        "format": FORMAT,
        "folder": folder,
        "holds": verdict.holds,
        "sheets": [asdict(sheet) for sheet in verdict.sheets],
        "problems": [_problem(problem) for problem in verdict.failures],
    }
    return json.dumps(document, indent=2, ensure_ascii=False, allow_nan=False) + "\n"


def _problem(problem: ProofFailure) -> dict[str, Any]:
    return {
        "code": problem.code,
        "message": problem.message,
        "file": problem.file,
        "at_mm": problem.at_mm,
        "size": problem.size,
    }
