"""A compiled folder as it lies on the disk.

Enters: a folder. Leaves: the texts of its sheets and boards, the `Plan` that its manifest and paint maps tell, and
what is missing, replaced or too many. Only the outside contract is known: nothing of the run that wrote the folder.
"""

import hashlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from layercut.errors import DrawingError
from layercut.proof.boards import PlannedBoard, PlannedBoards, PlannedPart
from layercut.proof.failures import ProofFailure
from layercut.proof.ledger import NAME, Manifest, check_manifest, map_name, read_manifest
from layercut.proof.maps import ReadPaint, read_paint
from layercut.proof.picture import visible_parts
from layercut.proof.plan import (
    NO_MARKS,
    TOLERANCES,
    Plan,
    PlannedGuest,
    PlannedMarks,
    PlannedMerge,
    PlannedPiece,
    PlannedSheet,
    PlannedStrip,
    PlannedTie,
    deeper_parts,
    strip_pieces,
    unpainted_mm2,
)
from layercut.proof.regions import EMPTY, both, grown, polygons, union, without
from layercut.reading import TooLargeError, read_plain
from layercut.units import Units, said_mm, said_mm2, said_number

FILE_LIMIT = 200_000_000
"""A file larger than this many bytes is none that layercut wrote."""

SNAP_MM = 0.001
"""Regions of a paint map are written to this digit, so that neighbours may lie apart by it, mm."""

SEEN_MM2 = 0.1
"""A paint of which so much is seen, mm2, is on a map; less may be lost in its digits."""

AREA_MM2 = 0.05
"""By this much, mm2, and by a digit along their outlines, a map's marked areas may differ from the manifest."""


@dataclass(frozen=True, slots=True)
class Folder:
    """What a folder holds: the texts of sheets and boards by their names, what is planned for them, what is wrong
    besides, the units of whoever reads it, and the hash of the drawing that it was made from."""

    texts: dict[str, str]
    plan: Plan
    board_texts: dict[str, str]
    boards: PlannedBoards
    failures: tuple[ProofFailure, ...]
    units: Units
    drawing_sha256: str


def read_folder(folder: Path, name: str = "") -> Folder:
    """Read a compiled folder; messages call it `name`, or else by its path. Raises DrawingError when it isn't one, or
    can't be read."""
    manifest = _open_manifest(folder, name or str(folder))
    files = [sheet.file for sheet in manifest.sheets]
    failures = [] if files else [ProofFailure("no-sheets", "has no sheet: the drawing can't be made as drawn.")]
    failures += check_manifest(manifest)
    failures += _strangers(folder, files, manifest.layers, [board.file for board in manifest.boards])
    failures += _replaced(folder, manifest)
    maps, unread = _read_maps(folder, manifest.layers)
    failures += unread
    plan = _make_plan(manifest, maps)
    failures += _map_problems(plan, manifest.layers, maps)
    failures += _marks_told_otherwise(manifest, maps)
    failures += _paints_told_otherwise(manifest, maps)
    failures += _frame_told_otherwise(manifest, plan)
    texts = {file: text for file in files if (text := _read_text(folder, file)) is not None}
    boards = _planned_boards(manifest)
    board_texts = {one.file: text for one in boards.boards if (text := _read_text(folder, one.file)) is not None}
    return Folder(
        texts, plan, board_texts, boards, tuple(failures), Units(manifest.page.units), manifest.drawing.sha256
    )


def _planned_boards(manifest: Manifest) -> PlannedBoards:
    known = {sheet.file: sheet.copies for sheet in manifest.sheets}
    boards = tuple(
        PlannedBoard(
            board.file,
            board.width_mm,
            board.height_mm,
            tuple(
                PlannedPart(part.part, part.sheet, part.piece, part.at_mm, part.turned_deg)
                for part in board.parts
                if part.sheet in known
            ),
        )
        for board in manifest.boards
    )
    return PlannedBoards(boards, known, manifest.board_plan.gap_mm if manifest.board_plan else 0.0)


def _open_manifest(folder: Path, name: str) -> Manifest:
    hint = "Give the folder that 'layercut compile' wrote."
    if not folder.is_dir():
        raise DrawingError("folder-unreadable", "is not a folder.", hint, file=name)
    text = _read_text(folder, NAME)
    if text is None:
        raise DrawingError("folder-unreadable", f"holds no {NAME}, so layercut didn't write it.", hint, file=name)
    return read_manifest(text, name)


def _read_bytes(folder: Path, file: str) -> bytes | None:
    """A file's content; None where there is no such file."""
    path = folder / file
    try:
        if not path.is_file():
            return None
        return read_plain(path, FILE_LIMIT)
    except TooLargeError:
        raise DrawingError("folder-unreadable", "is too large.", "Compile it again.", file=str(path)) from None
    except OSError as error:
        reason = error.strerror or type(error).__name__
        raise DrawingError("folder-unreadable", f"can't be read ({reason}).", file=str(path)) from None


def _read_text(folder: Path, file: str) -> str | None:
    """A file's text, bytes that are none replaced; None where there is no such file."""
    content = _read_bytes(folder, file)
    return None if content is None else content.decode("utf-8", "replace")


def _strangers(
    folder: Path, files: Sequence[str], layers: Sequence[str], boards: Sequence[str]
) -> list[ProofFailure]:
    """Sheets, boards and paint maps that the manifest doesn't name: someone would cut them."""
    known = {*files, *boards, *map(map_name, layers)}
    found = [
        f"{inner}/{path.name}"
        for inner in ("sheets", "boards", "paint")
        if (folder / inner).is_dir()
        for path in sorted((folder / inner).iterdir())
        if path.suffix.lower() == ".svg"
    ]
    strangers = [name for name in found if name not in known]
    return [ProofFailure("sheet-unknown", "is not named by the manifest.", name) for name in strangers]


def _replaced(folder: Path, manifest: Manifest) -> Iterator[ProofFailure]:
    """The files that aren't those that were written: each has its hash in the manifest."""
    told = {sheet.file for sheet in manifest.sheets} | set(map(map_name, manifest.layers))
    told |= {board.file for board in manifest.boards}
    for one in manifest.files:
        content = _read_bytes(folder, one.file)
        if content is None and one.file not in told:  # a missing sheet, board or map is told where it is read
            yield ProofFailure("file-missing", "is not there.", one.file)
        elif content is not None and hashlib.sha256(content).hexdigest() != one.sha256:
            message = "is not the file that was written: its SHA-256 isn't the manifest's."
            yield ProofFailure("file-changed", message, one.file)


def _read_maps(folder: Path, layers: Sequence[str]) -> tuple[dict[str, ReadPaint], list[ProofFailure]]:
    maps: dict[str, ReadPaint] = {}
    failures = []
    for file in layers:
        name = map_name(file)
        text = _read_text(folder, name)
        if text is None:
            failures.append(
                ProofFailure("paint-missing", "is not there, so nothing says what its sheet should show.", name)
            )
            continue
        try:
            maps[file] = read_paint(text, name)
        except DrawingError as error:
            failures.append(ProofFailure("paint-damaged", error.text, name))
    return maps, failures


def _make_plan(manifest: Manifest, maps: dict[str, ReadPaint]) -> Plan:
    shown = [_joined(maps[sheet.file].shown) if sheet.file in maps else EMPTY for sheet in manifest.sheets]
    first = next(iter(maps.values()), None)
    frame = first.frame if first else EMPTY
    planned = tuple(
        PlannedSheet(
            sheet.file,
            part,
            deeper if sheet.kind == "layer" else EMPTY,
            (*(PlannedPiece(one.id, one.centre_mm, one.area_mm2) for one in sheet.loose), *strip_pieces(strips)),
            tuple(PlannedTie(tie.at_mm, tie.width_mm) for tie in sheet.ties),
            sheet.cut_mm,
            sheet.mark_mm,
            _planned_marks(sheet.file, sheet.kind, maps),
            _guests(maps[sheet.file]) if sheet.file in maps else (),
            pinned=sheet.file not in maps or maps[sheet.file].frame.equals(frame),
            strips=strips,
        )
        for sheet, part, deeper in zip(manifest.sheets, shown, deeper_parts(shown), strict=True)
        for strips in [tuple(PlannedStrip(**one.model_dump()) for one in sheet.strips)]
    )
    panel = manifest.panel
    tolerance = TOLERANCES * first.tolerance_mm if first else 0.0
    kerf = manifest.material.kerf_mm
    size, paint = (panel.width_mm, panel.height_mm), manifest.work.paint if manifest.work else None
    spacer = manifest.work.hanging.spacer_width_mm if manifest.work else None
    merges = tuple(
        PlannedMerge(one.colour, colour.colour, one.difference)
        for colour in (paint.colours if paint else ())
        for one in colour.merged
    )
    return Plan(
        *size,
        kerf,
        tolerance,
        frame,
        planned,
        manifest.colours,
        spacer,
        merges,
        paint.merge if paint else 0.0,
        paint.most if paint else None,
    )


def _planned_marks(file: str, kind: str, maps: dict[str, ReadPaint]) -> PlannedMarks | None:
    if kind == "spacer":
        return NO_MARKS
    return maps[file].marks if file in maps else None


def _guests(read: ReadPaint) -> tuple[PlannedGuest, ...]:
    return tuple(
        PlannedGuest(name, region, unpainted_mm2(region, [read.painted]), marked)
        for name, region, marked in read.guests
    )


def _joined(shown: BaseGeometry) -> BaseGeometry:
    """A map's regions without the cracks that rounding leaves between them."""
    return grown(shapely.buffer(shown, SNAP_MM, join_style="mitre"), -SNAP_MM)


def _map_problems(plan: Plan, layers: Sequence[str], maps: dict[str, ReadPaint]) -> list[ProofFailure]:
    """Whether the maps are of one panel, and together are one picture, without gaps and nothing twice."""
    size = (plan.width_mm, plan.height_mm)
    failures = []
    for file, read in maps.items():
        # The front sheet may have no pin holes.
        frames = [plan.frame, plan.whole_frame] if file == layers[-1] else [plan.frame]
        same = (read.width_mm, read.height_mm) == size and any(read.frame.equals(frame) for frame in frames)
        if not same or plan.outline.bounds != (0, 0, *size):
            failures.append(ProofFailure("paint-damaged", "is of another panel than the manifest.", map_name(file)))
    if len(maps) < len(layers) or failures or not maps:
        return failures
    window = union([Polygon(hole) for part in polygons(plan.frame) for hole in part.interiors])
    seen = [sheet.shown for sheet in plan.sheets]
    wrong = [("leave {} unsaid", without(without(window, plan.pins), union(seen)))]
    wrong += [("say {} twice", both(sheet.shown, sheet.deeper)) for sheet in plan.sheets]
    for what, region in wrong:
        for part in visible_parts(region, plan)[:1]:
            at = shapely.point_on_surface(part)
            message = what.format(said_mm2(part.area, ".2f", "mm2")) + " of the picture."
            failures.append(
                ProofFailure("paint-damaged", message, "paint", (round(at.x, 2), round(at.y, 2)), part.area)
            )
    return failures


def _marks_told_otherwise(manifest: Manifest, maps: dict[str, ReadPaint]) -> Iterator[ProofFailure]:
    """Whether the maps' marked areas are as large as the manifest says; lines are measured on the sheets."""
    for sheet in manifest.sheets:
        areas = maps[sheet.file].marks.areas if sheet.file in maps else ()
        off = abs(sum(area.area for area in areas) - sheet.mark_mm2)
        if sheet.file in maps and off > AREA_MM2 + SNAP_MM * sum(area.length for area in areas):
            planned, by = said_mm2(sheet.mark_mm2, "g", "mm2"), said_mm2(off, ".2f", "mm2")
            message = f"shows marked areas that differ from the {planned} of the manifest by {by}."
            yield ProofFailure("paint-damaged", message, map_name(sheet.file), size=round(off, 3))


def _paints_told_otherwise(manifest: Manifest, maps: dict[str, ReadPaint]) -> Iterator[ProofFailure]:
    """Whether the maps show the paints of the manifest and no others."""
    if manifest.work is None:
        return
    known = {colour.colour for colour in manifest.work.paint.colours}
    for file, read in maps.items():
        for paint in sorted(read.paints - known)[:1]:
            yield ProofFailure("paint-damaged", f"shows paint {paint}, which the manifest has not.", map_name(file))
    shown = {paint for read in maps.values() for paint in read.paints}
    wanted = {colour.colour for colour in manifest.work.paint.colours if colour.visible_mm2 >= SEEN_MM2}
    if len(maps) == len(manifest.layers) and (unseen := sorted(wanted - shown)):
        yield ProofFailure("manifest-differs", f"has paint {unseen[0]}, which no paint map shows.", NAME)


def _frame_told_otherwise(manifest: Manifest, plan: Plan) -> Iterator[ProofFailure]:
    """Whether the maps' frame is as wide as the manifest says."""
    if plan.frame.is_empty:
        return
    window = max((Polygon(hole).bounds for part in polygons(plan.frame) for hole in part.interiors), key=_extent)
    told, found = manifest.panel.frame_mm, float(window[0])
    if abs(told - found) > SNAP_MM:
        message = f"says a frame {said_mm(told, 'g')} wide, where the paint maps show {said_number(found, 'g')}."
        yield ProofFailure("manifest-differs", message, NAME)


def _extent(bounds: tuple[float, ...]) -> float:
    return bounds[2] - bounds[0]
