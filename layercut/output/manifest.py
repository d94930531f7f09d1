"""The manifest: a finished run as data, for tools.

Enters: a `Build`, and the other files of its folder where one is written. Leaves: the dict behind manifest.json and
its text, as docs/manifest.schema.json has it. Keys keep a fixed order; numbers are mm, mm2 and seconds with fixed
decimals, so that the same build gives the same bytes.
"""

import hashlib
import json
import math
from collections.abc import Mapping
from types import MappingProxyType
from typing import Any

import shapely

from layercut.findings import Finding
from layercut.model import BoardLayout, Choice, LoosePiece, Made, Planned, Proof, Sheet, Strip, Tie, sheets_of
from layercut.output.work_document import work_document
from layercut.workplan import BurnTimes

FORMAT = 1
"""Version of the manifest's format; a reader refuses one it doesn't know."""

LENGTH_DECIMALS = 3
"""Digits of lengths (mm) and areas (mm2): those of the written sheets."""

TURN_DECIMALS = 6
"""Digits of how far a strip is turned, degrees: a thousandth of a mm at the end of any panel's strip."""

SHARE_DECIMALS = 4
"""Digits of shares, 0 to 1."""

SECONDS_DECIMALS = 1
"""Digits of times: they are estimates."""


NO_FILES: Mapping[str, bytes] = MappingProxyType({})
"""Of a run that writes no folder."""


def manifest(build: Planned, files: Mapping[str, bytes] = NO_FILES) -> dict[str, Any]:
    """The manifest of a build: plain JSON values. `sheets` is empty and `proof` None where nothing was cut.

    `files` are all the others of the folder: relative name to content. Each is named with its hash, so that a file
    that was replaced can be told.
    """
    panel, material = build.stack.panel, build.job.material
    return {
        "format": FORMAT,
        "drawing": {"file": build.drawing.file, "sha256": build.drawing.sha256},
        "panel": {
            "width_mm": _length(panel.width_mm),
            "height_mm": _length(panel.height_mm),
            "frame_mm": _length(panel.frame_mm),
        },
        "material": {
            "name": material.name,
            "thickness_mm": _length(material.thickness),
            "kerf_mm": _length(material.kerf),
        },
        "page": {"units": build.job.units.name},
        "roles": build.job.roles.model_dump(),
        "sheets": [_sheet(sheet, choices) for sheet, choices in _with_choices(build)],
        "boards": _boards(build),
        "board_plan": _board_plan(build),
        "prices": build.job.prices.model_dump(),
        "findings": [_finding(finding) for finding in build.findings],
        "proof": _proof(build.proof) if isinstance(build, Made) else None,
        "work": work_document(build),
        "files": [_file(name, content) for name, content in sorted(files.items())],
    }


def manifest_text(build: Planned, files: Mapping[str, bytes] = NO_FILES) -> str:
    """The text of manifest.json, with a newline at the end; `files` as `manifest` has them.

    A drawing's file name that isn't text leaves with `?` in it.
    Raises ValueError for a number that isn't finite.
    """
    text = json.dumps(manifest(build, files), indent=2, ensure_ascii=False, allow_nan=False) + "\n"
    return text.encode("utf-8", "replace").decode("utf-8")


def _with_choices(build: Planned) -> list[tuple[Sheet, tuple[Choice, ...]]]:
    """Each sheet with what was chosen for the pieces of its layer; spacers have none."""
    choices = [layer.choices for layer in build.stack.layers]
    return [(sheet, choices[place] if place < len(choices) else ()) for place, sheet in enumerate(sheets_of(build))]


def _sheet(sheet: Sheet, choices: tuple[Choice, ...]) -> dict[str, Any]:
    return {
        "name": sheet.name,
        "kind": sheet.kind,
        "file": sheet.file,
        "copies": sheet.copies,
        "wood_mm2": _length(sheet.wood.area),
        "cut_mm": _length(sheet.cut_mm),
        "mark_mm": _length(sheet.mark_mm),
        "mark_mm2": _length(sum(area.area for area in sheet.mark_areas)),
        "travel_mm": _length(sheet.travel_mm),
        "seconds": round(float(sheet.seconds), SECONDS_DECIMALS) + 0.0,
        "ties": [_tie(tie) for tie in sheet.ties],
        "loose": [_loose(piece) for piece in sheet.loose],
        "choices": [_choice(choice) for choice in choices if choice.chosen is not None],
        "slip_mm": _length(sheet.slip_mm) if math.isfinite(sheet.slip_mm) else None,
        "strips": [_strip(strip) for strip in sheet.strips],
    }


def _strip(strip: Strip) -> dict[str, Any]:
    at = shapely.point_on_surface(strip.laid)
    return {
        "number": strip.number,
        "spacer": strip.spacer,
        "at_mm": _lengths((at.x, at.y)),
        "area_mm2": _length(strip.laid.area),
        "pins": len(strip.laid.interiors),
        "turned_deg": round(strip.turned_deg, TURN_DECIMALS) + 0.0,
        "moved_mm": _lengths(strip.moved_mm),
    }


def _boards(build: Planned) -> list[dict[str, Any]]:
    """The boards; none where the job knows no size of boards or bed."""
    if not isinstance(build, Made) or build.boards is None:
        return []
    return [_board(board, times) for board, times in zip(build.boards.plan.boards, build.boards.times, strict=True)]


def _board_plan(build: Planned) -> dict[str, Any] | None:
    """How the boards were laid, and how good that is; None without boards."""
    if not isinstance(build, Made) or build.boards is None:
        return None
    plan, material = build.boards.plan, build.job.material
    counts = {"nested": len(plan.boards), "unnested": plan.flat, "least": plan.least}
    shares = {
        name: {"boards": count, "waste_share": round(plan.waste_share(count), SHARE_DECIMALS) + 0.0}
        for name, count in counts.items()
    }
    return {"limit": plan.limit, "gap_mm": _length(material.gap), "grain": material.grain, **shares}


def _board(board: BoardLayout, times: BurnTimes) -> dict[str, Any]:
    return {
        "file": board.file,
        "width_mm": _length(board.width_mm),
        "height_mm": _length(board.height_mm),
        "parts": [
            {
                "part": part.name,
                "sheet": part.cut.file,
                "piece": part.piece or None,
                "at_mm": _lengths(part.at_mm),
                "turned_deg": part.turned_deg,
            }
            for part in board.parts
        ],
        "waste_share": round(board.waste_share, SHARE_DECIMALS) + 0.0,
        "seconds": round(float(times.total_s), SECONDS_DECIMALS) + 0.0,
    }


def _tie(tie: Tie) -> dict[str, Any]:
    return {
        "at_mm": _lengths(tie.at_mm),
        "width_mm": _length(tie.width_mm),
        "visible_mm2": _length(tie.visible_mm2),
        "length_mm": _length(tie.length_mm),
        "holds": tie.holds or None,
    }


def _choice(choice: Choice) -> dict[str, Any]:
    """A choice; prices are None where the maker chose for all pieces, so that nothing was weighed."""
    after = choice.runner_up
    return {
        "id": choice.id,
        "name": choice.name,
        "policy": choice.chosen,
        "price_mm2": None if choice.price_mm2 is None else _length(choice.price_mm2),
        "next": None if after is None else {"policy": after.policy, "price_mm2": _length(after.mm2 or 0.0)},
    }


def _loose(piece: LoosePiece) -> dict[str, Any]:
    return {
        "id": piece.id,
        "area_mm2": _length(piece.region.area),
        "centre_mm": _lengths(piece.at_mm),
        "rests_on": piece.rests_on,
        "contact_mm2": _length(piece.contact_mm2),
        "riser": piece.riser,
        "width_mm": _length(piece.width_mm),
    }


def _finding(finding: Finding) -> dict[str, Any]:
    return {
        "code": finding.code,
        "severity": finding.severity,
        "message": finding.message,
        "layer": finding.layer or None,
        "element": finding.element or None,
        "at_mm": _lengths(finding.at_mm),
        "size_mm": _lengths(finding.size_mm),
    }


def _proof(proof: Proof | None) -> dict[str, Any] | None:
    if proof is None:
        return None
    return {
        "stack_mismatch": _length(proof.stack_mismatch_mm2),
        "pieces_planned": proof.pieces_planned,
        "pieces_found": proof.pieces_found,
    }


def _file(name: str, content: bytes) -> dict[str, Any]:
    return {"file": name, "sha256": hashlib.sha256(content).hexdigest()}


def _length(value: float) -> float:
    return round(float(value), LENGTH_DECIMALS) + 0.0  # + 0.0 turns -0.0 into 0.0


def _lengths(values: tuple[float, ...] | None) -> list[float] | None:
    return None if values is None else [_length(value) for value in values]
