"""Sheets as smooth curves: what is written, in which order, from where, and that the proof reads it back."""

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
import shapely
from shapely import LineString, Point, Polygon, box

from layercut.geometry.curves import Path
from layercut.job import Job, load_job
from layercut.model import OrderedSheet
from layercut.proof.plan import colours_of
from layercut.proof.reader import read_sheet
from layercut.sheets.smoothing import deviation_mm, smooth_sheets
from layercut.sheets.svg_out import write_sheet, write_sheets
from layercut.stack.panel import make_panel

COLOURS = colours_of(Job())
DISC = Polygon(np.round(shapely.get_coordinates(Point(40, 40).buffer(12, quad_segs=60).exterior), 3))
RING = Point(75, 60).buffer(9, quad_segs=60).difference(Point(75, 60).buffer(4, quad_segs=40))


OPENINGS = (DISC, box(60, 20, 70, 30))


def _sheet(number: int = 1) -> OrderedSheet:
    x = np.linspace(5, 60, 300)
    return OrderedSheet(
        name="harbour",
        kind="layer",
        file=f"sheets/0{number}-harbour.svg",
        copies=1,
        wood=box(0, 0, 100, 80),
        mark_areas=(RING,),
        mark_lines=(LineString(np.column_stack([x, 70 + 3 * np.sin(x / 4)])),),
        openings=OPENINGS,
        outline=box(-0.075, -0.075, 100.075, 80.075),
    )


def _text(*settings: str) -> str:
    job = load_job(None, settings)
    (sheet,) = smooth_sheets([_sheet()], job)
    return write_sheet(sheet, make_panel(100, 80, job), job)


def _lines(sheet: OrderedSheet) -> dict[str, list[LineString]]:
    return {
        "mark-area": [LineString(r.coords) for a in sheet.mark_areas for r in (a.exterior, *a.interiors)],
        "mark-line": list(sheet.mark_lines),
        "cut-opening": [LineString(ring.exterior.coords) for ring in sheet.openings],
        "cut-outline": [LineString(sheet.outline.exterior.coords)],
    }


@pytest.mark.parametrize("tolerance", ["0.02mm", "0.1mm"])
def test_what_is_read_back_is_within_the_tolerance_of_what_was_planned(tolerance: str) -> None:
    read = read_sheet(_text(f"curves.tolerance={tolerance}"), "sheet", COLOURS)
    allowed = float(tolerance[:-2])
    for role, lines in _lines(_sheet()).items():
        found = read.contours(role)
        assert len(found) == len(lines)
        for points, line in zip(found, lines, strict=True):
            assert shapely.hausdorff_distance(LineString(points), line, densify=0.01) <= allowed


def test_each_contour_begins_where_the_beam_does() -> None:
    job = load_job(None, [])
    (sheet,) = smooth_sheets([_sheet()], job)
    read = read_sheet(_text(), "sheet", COLOURS)
    for role, lines in _lines(sheet).items():
        for points, line in zip(read.contours(role), lines, strict=True):
            # Where the outline of a filled area begins, no beam does: it need only lie on it.
            begins = line if role == "mark-area" else Point(line.coords[0])
            assert begins.distance(Point(points[0])) <= 0.02


def test_the_travel_told_is_that_of_the_file() -> None:
    job = load_job(None, [])
    (sheet,) = smooth_sheets([_sheet()], job)
    read = read_sheet(_text(), "sheet", COLOURS)
    (area,) = sheet.mark_areas
    here, travel = np.array(area.bounds[2:]), math.hypot(*area.bounds[2:])
    for points in (line for role in ("mark-line", "cut-opening", "cut-outline") for line in read.contours(role)):
        travel += float(np.hypot(*(points[0] - here)))
        here = points[-1]
    assert sheet.travel_mm == pytest.approx(travel, abs=0.1)
    assert sheet.seconds == pytest.approx(sheet.times.total_s)
    assert [len(ring.exterior.coords) for ring in sheet.openings] == [len(ring.exterior.coords) for ring in OPENINGS]


@pytest.mark.parametrize("away_mm", [0.0, 30.0])
def test_a_contour_begins_at_a_corner_only_where_that_saves_way(away_mm: float) -> None:
    """A shape with two corners and a round side: from near a corner, and from far behind it."""
    half = Point(40, 40).buffer(12, quad_segs=60).intersection(box(40, 0, 80, 80))
    loop = shapely.get_coordinates(half)[:-1]
    loop = np.roll(loop, -int(np.hypot(*(loop - (51.3, 44)).T).argmin()), axis=0)  # planned amid the round side
    half = Polygon(loop)
    sheet = replace(_sheet(), mark_areas=(), mark_lines=(LineString([(0, 0), (40, 28 - away_mm)]),), openings=(half,))
    curves = smooth_sheets([sheet], load_job(None, []))[0].curves
    begun = curves.openings[0].segments[0, 0]
    at_corner = min(np.hypot(*(begun - corner)) for corner in ((40, 28), (40, 52))) < 0.1
    assert at_corner == (_saved_mm(curves.openings[0], sheet) > 2)


def _saved_mm(path: Path, sheet: OrderedSheet) -> float:
    """How much way the best corner saves over the best other node, on the way from the mark to the rim."""
    here, rim = np.array(sheet.mark_lines[0].coords[-1]), shapely.get_coordinates(sheet.outline.exterior)
    nodes = path.segments[:, 0]
    way = np.hypot(*(nodes - here).T) + np.hypot(*(nodes[:, None] - rim).transpose(2, 0, 1)).min(axis=1)
    corner = np.hypot(*(nodes[:, None] - [(40, 28), (40, 52)]).transpose(2, 0, 1)).min(axis=1) < 0.1
    return float(way[~corner].min() - way[corner].min())


def test_curves_are_written_as_curves_and_lines_as_lines() -> None:
    paths = [line for line in _text().splitlines() if line.startswith("<path")]
    assert [path.count("C") > 0 for path in paths] == [True, True, True, False, False]
    assert paths[3:] == [
        '<path d="M70 20L70 30L60 30L60 20Z"/>',
        '<path d="M100.075 -0.075L100.075 80.075L-0.075 80.075L-0.075 -0.075Z"/>',
    ]
    assert paths[2].count("C") <= 5


def test_the_job_can_keep_short_lines() -> None:
    text = _text("curves.smooth=false")
    assert "C" not in "".join(line for line in text.splitlines() if line.startswith("<path"))
    (disc, _) = read_sheet(text, "sheet", COLOURS).contours("cut-opening")
    assert disc.tolist() == [list(point) for point in DISC.exterior.coords]


def test_nothing_is_smoothed_where_the_tolerance_leaves_no_room() -> None:
    assert deviation_mm(0.002) == 0
    assert "C" not in "".join(line for line in _text("curves.tolerance=0.002mm").splitlines() if "<path" in line)


def test_sheets_together_are_the_same_as_one_by_one() -> None:
    job: Job = load_job(None, [])
    panel = make_panel(100, 80, job)
    sheets = [_sheet(1), _sheet(2)]
    together = write_sheets(smooth_sheets(sheets, job), panel, job)
    assert together == {
        one.file: write_sheet(one, panel, job) for sheet in sheets for one in smooth_sheets([sheet], job)
    }


def test_an_area_keeps_its_holes() -> None:
    (sheet,) = smooth_sheets([_sheet()], load_job(None, []))
    assert [len(area) for area in sheet.curves.mark_areas] == [2]


def test_curves_of_a_sheet_go_on_from_each_other() -> None:
    (sheet,) = smooth_sheets([_sheet()], load_job(None, []))
    for path in (*sheet.curves.openings, sheet.curves.outline):
        assert path.closed == (True,)
        assert all((a[3] == b[0]).all() for a, b in pairwise([*path.segments, path.segments[0]]))
