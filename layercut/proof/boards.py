"""The boards: each cut in thought, its parts held against the sheets.

Enters: the texts of boards and sheets, and what the manifest says lies where. Leaves: problems with places and sizes.
Holds: a part is what its sheet makes, turned and moved, by the wood that is left and the marks upon it; each is found
once. Nothing of how the parts were laid is known here.
"""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString, Point, Polygon, STRtree
from shapely.affinity import affine_transform
from shapely.geometry.base import BaseGeometry

from layercut.errors import DrawingError
from layercut.geometry.parallel import each
from layercut.job import Job
from layercut.model import BoardPlan, Sheet
from layercut.proof.checks import check_order
from layercut.proof.failures import ProofFailure
from layercut.proof.picture import DUST_MM2
from layercut.proof.plan import DIGITS_MM, Plan
from layercut.proof.reader import ReadSheet, read_sheet
from layercut.proof.regions import area_of, grown, lines_of, polygons, spot
from layercut.proof.simulate import APART_MM, remaining_wood
from layercut.units import said_apart, said_mm2, said_size

TURNS = {0: (1, 0, 0, 1), 90: (0, -1, 1, 0), 180: (-1, 0, 0, -1), 270: (0, 1, -1, 0)}
"""What a turn by so many degrees, clockwise as one sees it, makes of x and y: the rows of its matrix."""

MANIFEST = "manifest.json"


@dataclass(frozen=True, slots=True)
class PlannedPart:
    """A part as the manifest tells it: its name, its sheet's file, where that one's origin lies, mm, and how far it
    is turned. `piece` is the loose piece of which it is a spare, or the strip that it is; None for a whole sheet."""

    name: str
    sheet: str
    piece: str | None
    at_mm: tuple[float, float]
    turned_deg: int


@dataclass(frozen=True, slots=True)
class PlannedBoard:
    """A board as the manifest tells it: its file, its size, mm, and its parts."""

    file: str
    width_mm: float
    height_mm: float
    parts: tuple[PlannedPart, ...]


@dataclass(frozen=True, slots=True)
class PlannedBoards:
    """All boards, how often each sheet is to be cut, by its file, and the distance between cut lines, mm."""

    boards: tuple[PlannedBoard, ...]
    copies: Mapping[str, int]
    gap_mm: float


@dataclass(frozen=True, slots=True)
class _Made:
    """What a sheet's file makes: its pieces of wood, its marked areas and lines, on the sheet."""

    pieces: tuple[Polygon, ...]
    areas: tuple[BaseGeometry, ...]
    lines: tuple[LineString, ...]

    def where(self, part: PlannedPart) -> "_Made":
        """The same where a part lies."""
        a, b, c, d = TURNS[part.turned_deg]
        matrix = [a, b, c, d, *part.at_mm]
        return _Made(*(tuple(affine_transform(one, matrix) for one in some) for some in self._all()))

    def _all(self) -> tuple[tuple[BaseGeometry, ...], ...]:
        return self.pieces, self.areas, self.lines


def planned_boards(plan: BoardPlan, sheets: Sequence[Sheet], job: Job) -> PlannedBoards:
    """What a run's boards should hold."""
    return PlannedBoards(
        tuple(
            PlannedBoard(
                board.file,
                board.width_mm,
                board.height_mm,
                tuple(
                    PlannedPart(part.name, part.cut.file, part.piece or None, part.at_mm, part.turned_deg)
                    for part in board.parts
                ),
            )
            for board in plan.boards
        ),
        {sheet.file: sheet.copies for sheet in sheets},
        job.material.gap,
    )


def check_boards(
    texts: Mapping[str, str], sheet_texts: Mapping[str, str], planned: PlannedBoards, plan: Plan
) -> tuple[ProofFailure, ...]:
    """Everything that is wrong with the boards; a sheet that can't be read is told where sheets are."""
    if not planned.boards:
        return ()
    files = sorted({part.sheet for board in planned.boards for part in board.parts})
    made = dict(zip(files, each(lambda file: _read_made(sheet_texts.get(file), file, plan), files), strict=True))
    found = each(lambda board: [*_check_board(texts.get(board.file), board, made, planned, plan)], planned.boards)
    return (*_check_counts(planned, plan), *(problem for problems in found for problem in problems))


def _check_counts(planned: PlannedBoards, plan: Plan) -> Iterator[ProofFailure]:
    """Whether each copy of each sheet is on one board, each strip too, and no spare on two."""
    parts = [part for board in planned.boards for part in board.parts]
    strips = {sheet.file: sheet.pieces for sheet in plan.sheets if sheet.strips}
    for file, pieces in strips.items():
        yield from _check_strips(file, [piece.id for piece in pieces], parts)
    for file, copies in planned.copies.items():
        if file in strips:
            continue
        found = sum(part.sheet == file and part.piece is None for part in parts)
        if found != copies:
            code = "part-missing" if found < copies else "part-twice"
            message = f"has {file} {found} times on its boards, where it is to be cut {copies} times."
            yield ProofFailure(code, message, MANIFEST, size=float(abs(found - copies)))
    names = [(part.sheet, part.name) for part in parts]
    for sheet, name in sorted({one for one in names if names.count(one) > 1}):
        yield ProofFailure("part-twice", f"has {name}, of {sheet}, on its boards more than once.", MANIFEST)


def _check_strips(file: str, strips: Sequence[str], parts: Sequence[PlannedPart]) -> Iterator[ProofFailure]:
    """Whether each strip of a sheet is on one board by itself: the sheet is only how they are written one by one."""
    found = Counter(part.piece for part in parts if part.sheet == file)
    if whole := found[None]:
        message = f"has {file} {whole} times on its boards as a whole, where its strips are to be cut one by one."
        yield ProofFailure("part-twice", message, MANIFEST, size=float(whole))
    for strip in strips:
        if found[strip] != 1:
            code = "part-twice" if found[strip] else "part-missing"
            message = f"has {strip}, of {file}, {found[strip]} times on its boards, where it is to be cut once."
            yield ProofFailure(code, message, MANIFEST, size=float(abs(found[strip] - 1)))


def _read(text: str, file: str, plan: Plan) -> ReadSheet | ProofFailure:
    try:
        return read_sheet(text, file, plan.colours)
    except DrawingError as error:
        code = "role-differs" if error.code == "sheet-miscoloured" else "board-damaged"
        return ProofFailure(code, error.text, file)


def _read_made(text: str | None, file: str, plan: Plan) -> _Made | None:
    """What a sheet makes; None for one that is missing or damaged."""
    read = None if text is None else _read(text, file, plan)
    return None if read is None or isinstance(read, ProofFailure) else _made(read, plan)


def _made(read: ReadSheet, plan: Plan) -> _Made:
    pieces = [piece for piece in polygons(remaining_wood(read, plan.kerf_mm)) if piece.area >= DUST_MM2]
    areas = tuple(area_of(path) for path in read.paths.get("mark-area", ()))
    return _Made(tuple(pieces), areas, lines_of(read.contours("mark-line")))


def _check_board(
    text: str | None, board: PlannedBoard, made: Mapping[str, _Made | None], planned: PlannedBoards, plan: Plan
) -> Iterator[ProofFailure]:
    if text is None:
        yield ProofFailure("board-missing", "is not there.", board.file)
        return
    read = _read(text, board.file, plan)
    if isinstance(read, ProofFailure):
        yield read
        return
    if max(abs(read.width_mm - board.width_mm), abs(read.height_mm - board.height_mm)) > DIGITS_MM:
        size = said_size(read.width_mm, read.height_mm, "g")
        planned_size = said_size(board.width_mm, board.height_mm, "g")
        message = f"is {size}, where the manifest says {planned_size}."
        yield ProofFailure("board-damaged", message, board.file)
    yield from check_order(read, board.file)
    known = [(part, source) for part in board.parts if (source := made[part.sheet]) is not None]
    expected = [(part, _cut_of(part, source, plan).where(part)) for part, source in known]
    here = _made(read, plan)
    yield from _compare_pieces(here.pieces, expected, board.file)
    yield from _compare_marks("areas", here.areas, [one for _, part in expected for one in part.areas], board.file)
    yield from _compare_marks("lines", here.lines, [one for _, part in expected for one in part.lines], board.file)
    yield from _check_places(expected, board, planned.gap_mm + plan.kerf_mm, plan)


def _cut_of(part: PlannedPart, source: _Made, plan: Plan) -> _Made:
    """What of its sheet a part is: all of it, or one loose piece or strip with the marks upon it."""
    if part.piece is None:
        return source
    pieces = [piece for sheet in plan.sheets if sheet.file == part.sheet for piece in sheet.pieces]
    at = [Point(piece.at_mm) for piece in pieces if piece.id == part.piece]
    reach = plan.tolerance_mm + APART_MM
    own = next((one for one in source.pieces if at and shapely.dwithin(one, at[0], reach)), None)
    if own is None:
        return _Made((), (), ())
    around = grown(own, plan.kerf_mm / 2 + plan.tolerance_mm)
    return _Made(
        (own,),
        tuple(one for one in source.areas if around.covers(one)),
        tuple(one for one in source.lines if around.covers(one)),
    )


def _compare_pieces(
    found: Sequence[Polygon], expected: Sequence[tuple[PlannedPart, _Made]], file: str
) -> Iterator[ProofFailure]:
    """Whether each piece of each part is there, as large and of the same shape, and nothing else."""
    wanted = [(part, piece) for part, made in expected for piece in made.pieces]
    for part, made in expected:
        if not made.pieces:
            yield ProofFailure("part-missing", f"should hold {part.name}, which no sheet has.", file)
    tree, left = STRtree(found), set(range(len(found)))
    for part, piece in wanted:
        near = [k for k in tree.query(shapely.point_on_surface(piece), predicate="intersects").tolist() if k in left]
        if not near:
            area = said_mm2(piece.area, ".1f", "mm2")
            message = f"doesn't let a piece of {part.name} come loose where it should lie, {area}."
            yield ProofFailure("part-missing", message, file, spot(piece), round(piece.area, 3))
            continue
        left.discard(near[0])
        off = float(shapely.symmetric_difference(piece, found[near[0]]).area)
        if off > DIGITS_MM * piece.length + DUST_MM2:
            message = f"has {part.name} otherwise than its sheet makes it, by {said_mm2(off, '.2f', 'mm2')}."
            yield ProofFailure("part-differs", message, file, spot(piece), round(off, 3))
    for k in sorted(left):
        message = f"lets a piece of {said_mm2(found[k].area, '.2f', 'mm2')} come loose that is of no part."
        yield ProofFailure("part-added", message, file, spot(found[k]), round(float(found[k].area), 3))


def _compare_marks(
    what: str, found: Sequence[BaseGeometry], expected: Sequence[BaseGeometry], file: str
) -> Iterator[ProofFailure]:
    """Whether each mark is there once, and no other: marks are one where their boxes and lengths are."""
    lost, more = _unmatched(_signs(expected), _signs(found))
    for code, marks, words in (
        ("mark-missing", [expected[k] for k in lost], "lacks"),
        ("mark-added", [found[k] for k in more], "has"),
    ):
        if marks:
            x, y = shapely.get_coordinates(marks[0])[0].round(2).tolist()
            message = f"{words} {len(marks)} marked {what} that " + ("its sheets have." if lost else "no sheet has.")
            yield ProofFailure(code, message, file, (x, y), float(len(marks)))


def _signs(marks: Sequence[BaseGeometry]) -> NDArray[np.float64]:
    """What tells a mark: its box, and its middle, of all its length; (n, 6)."""
    shapes = np.array(marks, dtype=object)
    middles = shapely.get_coordinates(shapely.centroid(shapely.boundary(shapes) if _are_areas(shapes) else shapes))
    return np.hstack([shapely.bounds(shapes).reshape(-1, 4), middles.reshape(-1, 2)])


def _are_areas(shapes: NDArray[np.object_]) -> bool:
    return bool(len(shapes)) and int(shapely.get_dimensions(shapes[0])) == 2


def _unmatched(wanted: NDArray[np.float64], found: NDArray[np.float64]) -> tuple[list[int], list[int]]:
    """The signs on either side that the other hasn't, each used once."""
    tree = STRtree(shapely.points(found[:, :2])) if len(found) else None
    left, lost = set(range(len(found))), []
    for k, sign in enumerate(wanted):
        near = [] if tree is None else tree.query(Point(sign[:2]), predicate="dwithin", distance=2 * DIGITS_MM)
        same = [j for j in sorted(near) if j in left and np.abs(found[j] - sign).max() <= 2 * DIGITS_MM]
        if same:
            left.discard(int(same[0]))
        else:
            lost.append(k)
    return lost, sorted(left)


def _check_places(
    expected: Sequence[tuple[PlannedPart, _Made]], board: PlannedBoard, apart_mm: float, plan: Plan
) -> Iterator[ProofFailure]:
    """Whether the parts lie on the board, and far enough from each other."""
    pieces = [(number, piece) for number, (_, made) in enumerate(expected) for piece in made.pieces]
    owners, shapes = [number for number, _ in pieces], np.array([piece for _, piece in pieces], dtype=object)
    slack = plan.kerf_mm / 2 - plan.tolerance_mm
    for number, piece in pieces:
        x0, y0, x1, y1 = piece.bounds
        if min(x0, y0, board.width_mm - x1, board.height_mm - y1) < min(slack, 0.0):
            message = f"has {expected[number][0].name} beyond its edge."
            yield ProofFailure("part-off-board", message, board.file, spot(piece))
    reach = apart_mm - 2 * plan.tolerance_mm
    one, other = STRtree(shapes).query(shapes, predicate="dwithin", distance=max(reach, 0.0))
    close = {tuple(sorted((owners[i], owners[j]))) for i, j in zip(one, other, strict=True) if owners[i] != owners[j]}
    for i, j in sorted(close):
        first, second = (shapely.union_all(np.array(expected[k][1].pieces, dtype=object)) for k in (i, j))
        gap = float(shapely.distance(first, second))
        names = f"{expected[i][0].name} and {expected[j][0].name}"
        between, needed = said_apart(gap, ".2f", apart_mm, ".2f")
        message = f"has {names} {between} apart, wood from wood, where {needed} are needed."
        yield ProofFailure("parts-close", message, board.file, spot(second), round(gap, 3))
