"""Jobs for boards: sheets of any wood, cut as every sheet is; and random ones."""

import math
import random
from collections.abc import Sequence
from dataclasses import replace
from itertools import combinations

import shapely
from shapely import LineString, Point, Polygon, box
from shapely.affinity import rotate, translate

from layercut.geometry.regions import EMPTY, Region, as_region, polygons_of
from layercut.job import Job, load_job
from layercut.model import BoardPlan, LoosePiece, OrderedSheet, Panel, Sheet, StackLayer
from layercut.proof.boards import check_boards, planned_boards
from layercut.proof.failures import ProofFailure
from layercut.proof.plan import TOLERANCES, Plan, PlannedPiece, PlannedSheet, colours_of
from layercut.sheets.boards import moved, write_boards
from layercut.sheets.kerf import find_cut_lines
from layercut.sheets.marks import Marks
from layercut.sheets.smoothing import smooth_sheets
from layercut.sheets.svg_out import write_sheets
from layercut.sheets.toolpath import order_sheet


def sheets_of(woods: Sequence[tuple[str, Region, int]], job: Job) -> tuple[Sheet, ...]:
    """Sheets of these names, woods and copies: pieces of wood within the largest are loose, and each has a mark."""
    ordered = [
        _ordered(number, name, wood, copies, job) for number, (name, wood, copies) in enumerate(woods, start=1)
    ]
    return smooth_sheets(ordered, job)


def _ordered(number: int, name: str, wood: Region, copies: int, job: Job) -> OrderedSheet:
    first, *others = sorted(polygons_of(wood), key=lambda part: -Polygon(part.exterior).area)
    loose = tuple(
        LoosePiece(f"{name}-{k}", piece, _middle(piece), "", 0.0, names=(f"{name}-{k}",))
        for k, piece in enumerate(others, start=1)
    )
    lines = tuple(_mark(piece) for piece in (first, *others))
    layer = StackLayer(name, wood, EMPTY, EMPTY, EMPTY, wood, (), loose=loose)
    lines_cut = find_cut_lines(wood, job.material.kerf, job.curves)
    sheet = order_sheet(number, layer, Marks((), lines), lines_cut)
    return replace(sheet, kind="spacer" if copies > 1 else "layer", copies=copies)


def _middle(piece: Polygon) -> tuple[float, float]:
    point = shapely.point_on_surface(piece)
    return (float(point.x), float(point.y))


def _mark(piece: Polygon) -> LineString:
    """A line on the wood of a piece, not like itself when it is mirrored or turned."""
    x, y = _middle(piece)
    reach = 0.4 * piece.boundary.distance(Point(x, y))
    return LineString([(x - reach, y), (x + reach, y), (x + reach / 2, y + reach / 3)])


def panel_of(width: float, height: float, frame: float = 6.0) -> Panel:
    outline = box(0, 0, width, height)
    inner = box(frame, frame, width - frame, height - frame)
    return Panel(width, height, frame, outline, inner, outline.difference(inner))


def random_job(seed: int) -> tuple[tuple[Sheet, ...], Job]:
    """Some sheets of one size with openings of any shape and loose pieces in them, spacers and strips, on boards of
    any size that takes a sheet."""
    chance = random.Random(seed)
    wide, high = chance.uniform(60, 160), chance.uniform(60, 160)
    spacers, strips = chance.randint(0, 3), chance.randint(0, 2)
    kerf, gap = chance.choice([0.0, 0.15, 0.3]), chance.choice([0.5, 1.0, 2.0, 5.0])
    settings = [
        f"material.kerf={kerf}mm",
        f"material.gap={gap}mm",
        f"material.spares={chance.randint(0, 2)}",
        f"material.grain={chance.choice(['along', 'any'])}",
    ]
    more = chance.choice([1.12, 1.5, 2.3, 3.1])
    # No smaller than a sheet's cut line with the gap on both sides: such a job is refused before.
    drawn = [(side, side * chance.uniform(1, 1.3) * more + 2) for side in (wide, high)]
    sizes = [f"{max(size, side + kerf + 2 * gap + 0.01):.2f}mm" for side, size in drawn]
    settings += [f"material.stock_width={sizes[0]}", f"material.stock_height={sizes[1]}"]
    job = load_job(None, settings)
    woods = [(f"l{k}", _random_wood(chance, wide, high), 1) for k in range(chance.randint(1, 4))]
    if spacers:
        woods.append(("spacer", box(0, 0, wide, high).difference(box(8, 8, wide - 8, high - 8)), spacers))
    if strips:
        woods.append(("strip", box(0, 0, 0.6 * wide, 7), strips))
    return sheets_of(woods, job), job


def _random_wood(chance: random.Random, wide: float, high: float) -> Region:
    """A framed sheet: openings in a row of cells, some with a loose piece in them."""
    columns, rows = chance.randint(1, 2), chance.randint(1, 2)
    wood: Region = box(0, 0, wide, high)
    for column in range(columns):
        for row in range(rows):
            w, h = (wide - 16) / columns, (high - 16) / rows
            middle = (8 + (column + 0.5) * w, 8 + (row + 0.5) * h)
            hole = _blob(chance, 0.45 * min(w, h), middle)
            wood = as_region(wood.difference(hole))
            if chance.random() < 0.6:
                room = shapely.maximum_inscribed_circle(hole)
                centre, reach = room.coords[0], 0.6 * room.length
                piece = _blob(chance, reach, (centre[0], centre[1]))
                wood = as_region(shapely.union(wood, piece.intersection(hole.buffer(-1))))
    return wood


def _blob(chance: random.Random, reach: float, middle: tuple[float, float]) -> Polygon:
    """A region around a place: smooth, spiked or a bar."""
    kind = chance.randrange(3)
    if kind == 0:
        return Point(middle).buffer(reach * chance.uniform(0.5, 1))
    if kind == 1:
        bar = translate(box(-reach, -reach / 5, reach, reach / 5), *middle)
        return rotate(bar, chance.uniform(0, 180), origin=middle)
    count = chance.randint(5, 9)
    points = []
    for k in range(count):
        far, turn = reach * chance.uniform(0.35, 1), 2 * math.pi * k / count
        points.append((middle[0] + far * math.cos(turn), middle[1] + far * math.sin(turn)))
    return Polygon(points)


def require_apart(plan: BoardPlan, gap_mm: float) -> None:
    """Fail where the cut lines of two parts of a board are nearer than the gap, or leave the board."""
    slack = 0.002  # of written digits
    for board in plan.boards:
        lines = [
            shapely.union_all([moved(ring, part).exterior for ring in (part.cut.outline, *part.cut.openings)])
            for part in board.parts
        ]
        woods = [moved(part.cut.wood, part) for part in board.parts]
        for i, j in combinations(range(len(lines)), 2):
            assert not woods[i].intersects(woods[j]), (board.parts[i].name, board.parts[j].name)
            assert lines[i].distance(lines[j]) >= gap_mm - slack, (board.parts[i].name, board.parts[j].name)
        within = box(0, 0, board.width_mm, board.height_mm).buffer(-gap_mm + slack, join_style="mitre")
        assert all(within.covers(line) for line in lines)


def foliage_job(grain: str = "along") -> tuple[tuple[Sheet, ...], Job]:
    """Twelve sheets with leafy openings and thirty loose leaves, and eight spacers, on boards that take six."""
    chance = random.Random(12)
    job = load_job(None, ["material.stock_width=614mm", "material.stock_height=412mm", f"material.grain={grain}"])
    woods = [(f"leaves {k + 1}", _leafy(chance, 3 if k < 6 else 2), 1) for k in range(12)]
    woods.append(("spacer", box(0, 0, 200, 200).difference(box(12, 12, 188, 188)), 8))
    return sheets_of(woods, job), job


def _leafy(chance: random.Random, loose: int) -> Region:
    """A sheet of 200 by 200 mm with four leafy openings, loose leaves in some."""
    wood: Region = box(0, 0, 200, 200)
    for k, middle in enumerate([(55, 55), (145, 55), (55, 145), (145, 145)]):
        wood = as_region(wood.difference(_leaf(chance, 40, middle)))
        if k < loose:
            wood = as_region(shapely.union(wood, _leaf(chance, chance.uniform(6, 10), middle)))
    return wood


def _leaf(chance: random.Random, reach: float, middle: tuple[float, float]) -> Polygon:
    """A lobed leaf around a place, with some hundred corners."""
    lobes, phase = chance.randint(3, 6), chance.uniform(0, 6)
    far = [reach * (0.8 + 0.2 * math.sin(lobes * k / 20 + phase)) for k in range(120)]
    turns = [2 * math.pi * k / 120 for k in range(120)]
    return Polygon(
        (middle[0] + r * math.cos(a), middle[1] + r * math.sin(a)) for r, a in zip(far, turns, strict=True)
    )


def proved(sheets: Sequence[Sheet], job: Job, plan: BoardPlan) -> tuple[ProofFailure, ...]:
    """What the proof finds wrong with the boards of a job, as they are written."""
    texts, _ = write_boards(plan.boards, job)
    return check_boards(texts, sheet_texts(sheets, job), planned_boards(plan, sheets, job), plan_of(sheets, job))


def sheet_texts(sheets: Sequence[Sheet], job: Job) -> dict[str, str]:
    """The sheets as files."""
    return write_sheets(sheets, panel_of(200, 200), job)


def plan_of(sheets: Sequence[Sheet], job: Job) -> Plan:
    """What the proof of boards needs to know of the sheets: their files and their loose pieces."""
    planned = tuple(
        PlannedSheet(
            sheet.file,
            EMPTY,
            EMPTY,
            tuple(PlannedPiece(piece.id, piece.at_mm, float(piece.region.area)) for piece in sheet.loose),
            (),
            sheet.cut_mm,
            sheet.mark_mm,
        )
        for sheet in sheets
    )
    return Plan(200, 200, job.material.kerf, TOLERANCES * job.curves.tolerance, EMPTY, planned, colours_of(job))
