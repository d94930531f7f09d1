"""The numbers of a paint map: none hides a part that is as small as its box, none stands on another."""

import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely
from shapely import LineString, Point, Polygon, box

from layercut.geometry.regions import EMPTY, polygons_of
from layercut.model import Panel
from layercut.views.pages.map_labels import Label
from layercut.views.pages.map_notes import FIGURES_MM, labelled
from layercut.workplan import PaintedPart, SheetPaint
from samples import SAMPLES, sample_build

PANEL = Panel(100.0, 80.0, 5.0, box(0, 0, 100, 80), box(5, 5, 95, 75), box(0, 0, 100, 80))


def sheet_of(*parts: tuple[int, list[Polygon]]) -> SheetPaint:
    """A sheet with nothing but these parts, each a number and its polygons."""
    painted = tuple(PaintedPart(number, shapely.multipolygons(polygons), EMPTY) for number, polygons in parts)
    return SheetPaint(painted, EMPTY, 0.0, 0.0, EMPTY, (), 0.0)


def check(sheet: SheetPaint, panel: Panel, scale: float = 1.0) -> tuple[Label, ...]:
    """The labels of a sheet, once all that must hold of them was looked at."""
    _, labels = labelled(sheet, panel, scale)
    parts = [(part.number, polygon) for part in sheet.parts for polygon in polygons_of(part.visible)]
    polygons = np.array([polygon for _, polygon in parts], dtype=object)
    tree = shapely.STRtree(polygons)
    boxes = [box(*label.box) for label in labels]
    for label, around in zip(labels, boxes, strict=True):
        assert FIGURES_MM[1] * scale <= label.height_mm <= FIGURES_MM[0] * scale
        assert panel.outline.buffer(1e-9).covers(around) or panel.outline.envelope.buffer(1e-9).covers(around)
        touched = [int(k) for k in tree.query(around, predicate="intersects")]
        if label.to is None:
            assert any(parts[k][0] == label.number and polygons[k].contains(around) for k in touched)
            continue
        hidden = [polygons[k] for k in touched if polygons[k].intersection(around).area > 0]
        assert all(part.area > around.area for part in hidden)
        ends = [k for k in tree.query(Point(label.to), predicate="intersects") if parts[k][0] == label.number]
        assert ends, "a line that ends in no part of its colour"
    ways = [LineString(label.line) for label in labels if label.line]
    owners = [k for k, label in enumerate(labels) if label.line]
    assert met(boxes, boxes, "overlaps") <= {(k, k) for k in range(len(boxes))}
    assert met(ways, boxes, "crosses") <= set(enumerate(owners))
    assert not met(ways, ways, "crosses")
    return labels


def met(ones: list[Any], others: list[Any], how: Any) -> set[tuple[int, int]]:
    """The places of all pairs that meet in a way."""
    pairs = shapely.STRtree(others).query(ones, predicate=how) if ones and others else np.zeros((2, 0), dtype=int)
    return {(int(one), int(other)) for one, other in pairs.T}


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
@pytest.mark.parametrize("scale", [1.0, 1.52])
def test_the_samples_numbers_hide_nothing(path: Path, scale: float) -> None:
    build = sample_build(path)
    for sheet in build.work.paint.sheets:
        labels = check(sheet, build.stack.panel, scale)
        # Every colour that is seen has its number, but where a map is fuller than the page has room for.
        told = {label.number for label in labels}
        assert len({part.number for part in sheet.parts} - told) <= (0 if scale == 1.0 else 1)


def test_a_number_stands_in_its_part_where_it_fits() -> None:
    (label,) = check(sheet_of((7, [box(20, 20, 60, 60)])), PANEL)
    assert label.to is None
    assert label.height_mm == FIGURES_MM[0]


def test_a_leaf_has_its_number_beside_it() -> None:
    leaf = box(49, 39, 51, 41)
    ground, small = check(sheet_of((1, [box(10, 10, 90, 70).difference(leaf)]), (2, [leaf])), PANEL)
    assert ground.number == 1
    assert small.number == 2
    assert small.to is not None
    assert leaf.contains(Point(small.to))
    assert not box(*small.box).intersects(leaf)
    assert math.dist(small.at, (50, 40)) < 8


def test_leaves_in_a_row_leave_each_other_free() -> None:
    leaves = [box(10 + 4 * k, 30, 12 + 4 * k, 32) for k in range(20)]
    labels = check(sheet_of(*((k + 1, [leaf]) for k, leaf in enumerate(leaves))), PANEL)
    assert {label.number for label in labels} == set(range(1, 21))


def test_neighbours_of_one_colour_share_a_number_where_room_is_scarce() -> None:
    leaves = [box(6 + 2.2 * k, 6 + 2.2 * j, 8 + 2.2 * k, 8 + 2.2 * j) for k in range(38) for j in range(30)]
    labels = check(sheet_of((1, leaves[::2]), (2, leaves[1::2])), PANEL)
    assert {label.number for label in labels} == {1, 2}
    assert len(labels) < 200


def test_a_map_full_of_specks_goes_without_rather_than_hide_one() -> None:
    specks = [box(0.2 + 2 * k, 0.2 + 2 * j, 2 + 2 * k, 2 + 2 * j) for k in range(50) for j in range(40)]
    assert check(sheet_of((1, specks)), PANEL) == ()


@pytest.mark.parametrize("seed", range(12))
def test_random_leaves(seed: int) -> None:
    random = np.random.default_rng(seed)
    free = box(0, 0, 100, 80)
    parts = []
    for number in range(1, 15):
        polygons = []
        for x, y, size, turn in random.uniform((5, 5, 0.5, 0), (95, 75, 9, 6.3), (12, 4)).tolist():
            leaf = shapely.affinity.rotate(Point(0, 0).buffer(1), 0)
            leaf = shapely.affinity.rotate(shapely.affinity.scale(leaf, size, size / 3), turn, use_radians=True)
            kept = shapely.intersection(shapely.affinity.translate(leaf, x, y), free)
            free = shapely.difference(free, kept)
            polygons += polygons_of(kept)
        if polygons:
            parts.append((number, polygons))
    sheet = sheet_of(*parts)
    assert check(sheet, PANEL) == labelled(sheet, PANEL)[1]
