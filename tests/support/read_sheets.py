"""Sheets as if they had been read back, and what they are held against, for single checks of the proof."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from shapely import LineString, Polygon, box
from shapely.geometry.base import BaseGeometry

from layercut.proof.looks import ROLES
from layercut.proof.plan import Plan, PlannedMarks, PlannedSheet
from layercut.proof.reader import ReadSheet

SIZE_MM, FRAME_MM = 100.0, 10.0
PANEL = box(0, 0, SIZE_MM, SIZE_MM)
WINDOW = box(FRAME_MM, FRAME_MM, SIZE_MM - FRAME_MM, SIZE_MM - FRAME_MM)
FILE = "sheets/02-hill.svg"


def read_as(
    *openings: Polygon,
    lines: Sequence[LineString] = (),
    areas: Sequence[Polygon] = (),
    rims: Sequence[Polygon] = (PANEL,),
    roles: tuple[str, ...] = ROLES,
    size_mm: float = SIZE_MM,
) -> ReadSheet:
    """A sheet with these openings, marks and rims."""
    paths = {
        "mark-area": tuple((_points(area.exterior),) for area in areas),
        "mark-line": tuple((_points(line),) for line in lines),
        "cut-opening": tuple((_points(opening.exterior),) for opening in openings),
        "cut-outline": tuple((_points(rim.exterior),) for rim in rims),
    }
    return ReadSheet(size_mm, size_mm, paths, roles)


def planned(shown: BaseGeometry, deeper: BaseGeometry, **more: object) -> PlannedSheet:
    """A sheet that shows one region, and lets another be seen behind it."""
    plain = PlannedSheet(FILE, shown, deeper, (), (), 0.0, 0.0, PlannedMarks())
    return replace(plain, **more)  # type: ignore[arg-type]


def plan_with(*sheets: PlannedSheet, kerf_mm: float = 0.0, tolerance_mm: float = 0.01) -> Plan:
    """The panel without pins, its frame 10 mm wide."""
    return Plan(SIZE_MM, SIZE_MM, kerf_mm, tolerance_mm, PANEL.difference(WINDOW), sheets, {})


def _points(line: LineString) -> np.ndarray:
    return np.array(line.coords)
