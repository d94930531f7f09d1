"""Verify a compiled folder: what its files would make, and whether that is what they say.

Enters: a folder, or a bundle of one. Leaves: a `Verdict`. Holds: nothing of the run that wrote the folder is used,
only its files.
"""

import json
from dataclasses import asdict, replace
from pathlib import Path
from typing import Any
from zipfile import is_zipfile

from layercut.proof.boards import check_boards
from layercut.proof.bundle import bundle_failures, drawing_failures, unpacked
from layercut.proof.check import check_sheets
from layercut.proof.failures import FAILURES, FoundPiece, ProofFailure, SheetVerdict, Verdict
from layercut.proof.folder import Folder, read_folder

FORMAT = 1
"""Version of the JSON document that tells a verdict."""

__all__ = ["FAILURES", "FoundPiece", "ProofFailure", "SheetVerdict", "Verdict", "verdict_text", "verify_folder"]


def verify_folder(folder: Path) -> Verdict:
    """Read a folder's manifest, sheets, boards and paint maps, or a bundle's, cut sheets and boards in thought, and
    report.

    Raises DrawingError when the folder, or the bundle, isn't one that layercut wrote, or can't be read.
    """
    if folder.is_file() and (folder.suffix.lower() == ".zip" or is_zipfile(folder)):
        return _verify_bundle(folder)
    return _verdict(read_folder(folder))


def _verify_bundle(path: Path) -> Verdict:
    with unpacked(path) as folder:
        found = read_folder(folder, str(path))
        own = (*bundle_failures(folder), *drawing_failures(folder, found.drawing_sha256))
        verdict = _verdict(found)
    return replace(verdict, failures=(*own, *verdict.failures))


def _verdict(found: Folder) -> Verdict:
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
