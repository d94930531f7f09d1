"""How far the beam travels and how long it takes: by length, speed, and the time to run up and down."""

import math

import pytest
from shapely import LineString, Polygon, box

from layercut.job import load_job
from layercut.model import OrderedSheet
from layercut.sheets.timing import time_sheet, travel_ways
from layercut.workplan import BurnTimes

PANEL = box(0, 0, 100, 80)
LINES = (LineString([(10, 0), (20, 0)]), LineString([(30, 0), (40, 0)]))


def _sheet(
    lines: tuple[LineString, ...] = (), areas: tuple[Polygon, ...] = (), openings: tuple[Polygon, ...] = ()
) -> OrderedSheet:
    return OrderedSheet("leaf", "layer", "sheets/01-leaf.svg", 1, PANEL, areas, lines, openings, PANEL)


def _times(sheet: OrderedSheet, *settings: str) -> BurnTimes:
    return time_sheet(sheet, travel_ways(sheet), load_job(None, settings).machine)


def test_the_ways_lead_from_home_by_every_stop_to_the_rim() -> None:
    opening = box(50, 0, 60, 10)
    sheet = _sheet(LINES, (), (opening,))
    last, rim = opening.exterior.coords[0], PANEL.exterior.coords[0]
    assert travel_ways(sheet) == pytest.approx([10, 10, math.dist((40, 0), last), math.dist(last, rim)])


def test_areas_are_left_at_their_lowest_row() -> None:
    ways = travel_ways(_sheet((), (box(10, 10, 40, 30),)))
    assert ways == pytest.approx([50, math.dist((40, 30), PANEL.exterior.coords[0])])


def test_time_goes_with_length_and_speed() -> None:
    sheet = _sheet((LineString([(0, 0), (60, 0)]),), (box(0, 0, 10, 10),))
    speeds = ("machine.cut_speed=10mm/s", "machine.mark_speed=20mm/s", "machine.area_speed=100mm/s")
    base = _times(sheet, *speeds, "machine.travel_speed=1000000mm/s", "machine.acceleration=1000000000mm/s2")
    assert base.total_s == pytest.approx(360 / 10 + 60 / 20 + 100 / 0.1 / 100, abs=0.02)
    assert base.rim_s == pytest.approx(36, abs=0.01)
    assert base.openings_s == 0
    slower = _times(sheet, *speeds, "machine.acceleration=100mm/s2")
    # a hundred rows, each with 2 v / a to run up and down
    assert slower.areas_s == pytest.approx(10 + 100 * 2 * 100 / 100)
    assert slower.lines_s == pytest.approx(60 / 20 + 20 / 100)


def test_every_way_between_is_in_the_time() -> None:
    sheet = _sheet(LINES, (), (box(50, 0, 60, 10),))
    times = _times(sheet, "machine.travel_speed=100mm/s", "machine.acceleration=1e9mm/s2")
    assert times.travel_s == pytest.approx(sum(travel_ways(sheet)) / 100, abs=1e-5)
