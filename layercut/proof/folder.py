"""A compiled folder as it lies on the disk.

Enters: a folder. Leaves: its sheets' texts, the `Plan` that its manifest and paint maps tell, and what is missing or
too many. Only the outside contract is known: nothing of the run that wrote the folder.
"""

import json
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated

import shapely
from pydantic import BaseModel, Field, ValidationError
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from layercut.errors import DrawingError
from layercut.proof.picture import visible_parts
from layercut.proof.plan import (
    TOLERANCES,
    Plan,
    PlannedGuest,
    PlannedPiece,
    PlannedSheet,
    PlannedTie,
    deeper_parts,
    unpainted_mm2,
)
from layercut.proof.problems import Problem
from layercut.proof.reader import ReadPaint, read_paint
from layercut.proof.regions import EMPTY, both, grown, polygons, union, without

FORMAT = 1
"""The version of the manifest that is read here."""

FILE_LIMIT = 200_000_000
"""A file larger than this many bytes is none that layercut wrote."""

SNAP_MM = 0.001
"""Regions of a paint map are written to this digit, so that neighbours may lie apart by it, mm."""

Place = tuple[float, float]
Size = Annotated[float, Field(ge=0, le=1e6, allow_inf_nan=False)]


class _Tie(BaseModel):
    at_mm: Place
    width_mm: Size


class _Piece(BaseModel):
    id: str
    area_mm2: Size
    centre_mm: Place


class _Sheet(BaseModel):
    kind: str
    file: Annotated[str, Field(pattern=r"^sheets/[^/\\]+\.svg$")]
    cut_mm: Size
    mark_mm: Size
    ties: tuple[_Tie, ...]
    loose: tuple[_Piece, ...]


class _Panel(BaseModel):
    width_mm: Size
    height_mm: Size


class _Material(BaseModel):
    kerf_mm: Size


class _Manifest(BaseModel):
    format: int
    panel: _Panel
    material: _Material
    sheets: tuple[_Sheet, ...]


@dataclass(frozen=True, slots=True)
class Folder:
    """What a folder holds: sheets' texts by their name, the plan, and what is wrong besides the sheets themselves."""

    texts: dict[str, str]
    plan: Plan
    problems: tuple[Problem, ...]


def read_folder(folder: Path) -> Folder:
    """Read a compiled folder. Raises DrawingError when it isn't one, or can't be read."""
    manifest = _read_manifest(folder)
    files = [sheet.file for sheet in manifest.sheets]
    layers = [sheet.file for sheet in manifest.sheets if sheet.kind == "layer"]
    problems = [] if files else [Problem("no-sheets", "has no sheet: the drawing can't be made as drawn.")]
    problems += _strangers(folder, files, layers)
    maps, unread = _read_maps(folder, layers)
    problems += unread
    plan = _make_plan(manifest, maps)
    problems += _map_problems(plan, layers, maps)
    texts = {file: text for file in files if (text := _read_text(folder, file)) is not None}
    return Folder(texts, plan, tuple(problems))


def _read_manifest(folder: Path) -> _Manifest:
    name = str(folder)
    hint = "Give the folder that 'layercut compile' wrote."
    if not folder.is_dir():
        raise DrawingError("folder-unreadable", "is not a folder.", hint, file=name)
    text = _read_text(folder, "manifest.json")
    if text is None:
        raise DrawingError(
            "folder-unreadable", "holds no manifest.json, so layercut didn't write it.", hint, file=name
        )
    try:
        manifest = _Manifest.model_validate(json.loads(text))
    except (ValueError, RecursionError) as error:
        where = ".".join(str(part) for part in error.errors()[0]["loc"]) if isinstance(error, ValidationError) else ""
        what = f"a manifest whose '{where}' can't be" if where else "a manifest.json that isn't one"
        raise DrawingError("folder-unreadable", f"holds {what}.", "Compile it again.", file=name) from None
    if manifest.format != FORMAT:
        raise DrawingError(
            "folder-unreadable",
            f"is of format {manifest.format}; this version of layercut reads format {FORMAT}.",
            "Compile it again.",
            file=name,
        )
    return manifest


def _read_text(folder: Path, file: str) -> str | None:
    """A file's text, bytes that are none replaced; None where there is no such file."""
    path = folder / file
    try:
        if not path.is_file():
            return None
        if path.stat().st_size > FILE_LIMIT:
            raise DrawingError("folder-unreadable", "is too large.", "Compile it again.", file=str(path))
        return path.read_bytes().decode("utf-8", "replace")
    except OSError as error:
        reason = error.strerror or type(error).__name__
        raise DrawingError("folder-unreadable", f"can't be read ({reason}).", file=str(path)) from None


def _strangers(folder: Path, files: Sequence[str], layers: Sequence[str]) -> list[Problem]:
    """Sheets and paint maps that the manifest doesn't name: someone would cut them."""
    known = {*files, *map(_map_name, layers)}
    found = [
        f"{inner}/{path.name}"
        for inner in ("sheets", "paint")
        if (folder / inner).is_dir()
        for path in sorted((folder / inner).iterdir())
        if path.suffix.lower() == ".svg"
    ]
    strangers = [name for name in found if name not in known]
    return [Problem("sheet-unknown", "is not named by the manifest.", name) for name in strangers]


def _map_name(sheet_file: str) -> str:
    return f"paint/{sheet_file.rpartition('/')[2]}"


def _read_maps(folder: Path, layers: Sequence[str]) -> tuple[dict[str, ReadPaint], list[Problem]]:
    maps: dict[str, ReadPaint] = {}
    problems = []
    for file in layers:
        name = _map_name(file)
        text = _read_text(folder, name)
        if text is None:
            problems.append(
                Problem("paint-missing", "is not there, so nothing says what its sheet should show.", name)
            )
            continue
        try:
            maps[file] = read_paint(text, name)
        except DrawingError as error:
            problems.append(Problem("paint-damaged", error.message, name))
    return maps, problems


def _make_plan(manifest: _Manifest, maps: dict[str, ReadPaint]) -> Plan:
    shown = [_joined(maps[sheet.file].shown) if sheet.file in maps else EMPTY for sheet in manifest.sheets]
    first = next(iter(maps.values()), None)
    planned = tuple(
        PlannedSheet(
            sheet.file,
            part,
            deeper if sheet.kind == "layer" else EMPTY,
            tuple(PlannedPiece(piece.id, piece.centre_mm, piece.area_mm2) for piece in sheet.loose),
            tuple(PlannedTie(tie.at_mm, tie.width_mm) for tie in sheet.ties),
            sheet.cut_mm,
            sheet.mark_mm,
            _guests(maps[sheet.file]) if sheet.file in maps else (),
        )
        for sheet, part, deeper in zip(manifest.sheets, shown, deeper_parts(shown), strict=True)
    )
    panel = manifest.panel
    frame = first.frame if first else EMPTY
    tolerance = TOLERANCES * first.tolerance_mm if first else 0.0
    return Plan(panel.width_mm, panel.height_mm, manifest.material.kerf_mm, tolerance, frame, planned)


def _guests(read: ReadPaint) -> tuple[PlannedGuest, ...]:
    return tuple(
        PlannedGuest(name, region, unpainted_mm2(region, [read.painted]), marked)
        for name, region, marked in read.guests
    )


def _joined(shown: BaseGeometry) -> BaseGeometry:
    """A map's regions without the cracks that rounding leaves between them."""
    return grown(shapely.buffer(shown, SNAP_MM, join_style="mitre"), -SNAP_MM)


def _map_problems(plan: Plan, layers: Sequence[str], maps: dict[str, ReadPaint]) -> list[Problem]:
    """Whether the maps are of one panel, and together are one picture, without gaps and nothing twice."""
    size = (plan.width_mm, plan.height_mm)
    problems = []
    for file, read in maps.items():
        same = (read.width_mm, read.height_mm) == size and read.frame.equals(plan.frame)
        if not same or plan.outline.bounds != (0, 0, *size):
            problems.append(Problem("paint-damaged", "is of another panel than the manifest.", _map_name(file)))
    if len(maps) < len(layers) or problems or not maps:
        return problems
    window = union([Polygon(hole) for part in polygons(plan.frame) for hole in part.interiors])
    seen = [sheet.shown for sheet in plan.sheets]
    wrong = [("leave {} mm2 unsaid", without(without(window, plan.pins), union(seen)))]
    wrong += [("say {} mm2 twice", both(sheet.shown, sheet.deeper)) for sheet in plan.sheets]
    for what, region in wrong:
        for part in visible_parts(region, plan)[:1]:
            at = shapely.point_on_surface(part)
            message = what.format(f"{part.area:.2f}") + " of the picture."
            problems.append(Problem("paint-damaged", message, "paint", (round(at.x, 2), round(at.y, 2)), part.area))
    return problems
