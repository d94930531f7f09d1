"""Strips: the shortest between bodies that face each other, and hidden ones that are longer; prices by hand."""

import numpy as np
import pytest
import shapely
from shapely import Point, box
from shapely.geometry.base import BaseGeometry

from layercut.geometry.regions import EMPTY, polygons_of
from layercut.stack.strips import Candidate, find_candidates

OUTLINE, INSIDE = box(0, 0, 100, 100), box(10, 10, 90, 90)
FRAME = OUTLINE.difference(INSIDE)
WIDTH_MM = 2.0


def _find(*bodies: BaseGeometry, opening: BaseGeometry | None = None) -> list[Candidate]:
    """Between bodies and the frame, which is node 0; cores are drawn in by half the width."""
    cores = [FRAME.buffer(-WIDTH_MM / 2), *(body.buffer(-WIDTH_MM / 2) for body in bodies)]
    wood = shapely.union_all([FRAME, *bodies])
    return find_candidates(wood, cores, 0, INSIDE.difference(wood) if opening is None else opening, WIDTH_MM)


def _between(found: list[Candidate], *nodes: int) -> list[Candidate]:
    return sorted((one for one in found if {*one.nodes} == {*nodes}), key=lambda one: one.cost)


def test_the_shortest_strip_runs_from_core_to_core() -> None:
    best = _between(_find(box(40, 15, 60, 25)), 0, 1)[0]
    assert best.strip.line.length == pytest.approx(5 + WIDTH_MM)
    assert best.strip.visible_mm2 == pytest.approx(5 * WIDTH_MM)
    assert best.cost == pytest.approx(best.strip.visible_mm2 + 0.01 * 7)


def test_another_strip_lies_well_apart() -> None:
    found = _between(_find(box(40, 15, 80, 25)), 0, 1)
    lines = [one.strip.line for one in found if one.strip.visible_mm2 < 5.1 * WIDTH_MM]
    assert max(shapely.distance(lines[0], lines).tolist()) > 4 * WIDTH_MM


@pytest.mark.parametrize("gap", [1.0, 4.0])
def test_neighbours_face_each_other(gap: float) -> None:
    best = _between(_find(Point(40, 50).buffer(6, 32), Point(52 + gap, 50).buffer(6, 32)), 1, 2)[0]
    assert best.strip.line.length == pytest.approx(gap + WIDTH_MM, abs=0.02)


def test_bodies_in_one_piece_are_tried_along_their_neck() -> None:
    pair = [box(30, 40, 45, 60), box(55, 40, 70, 60)]
    cores = [FRAME.buffer(-1), *(one.buffer(-1) for one in pair)]
    wood = shapely.union_all([FRAME, *pair, box(44, 49.5, 56, 50.5)])
    found = find_candidates(wood, cores, 0, INSIDE.difference(wood), WIDTH_MM)
    assert _between(found, 1, 2)[0].strip.line.length == pytest.approx(10 + WIDTH_MM)


def test_a_level_line_that_is_hidden_is_found() -> None:
    """9 mm to the left in sight, 29 mm to the right behind a rail."""
    body = box(19, 45, 61, 55)
    opening = INSIDE.difference(body).difference(box(61, 47, 90, 53))
    best = _between(_find(body, opening=opening), 0, 1)[0]
    assert best.strip.visible_mm2 == 0
    assert best.strip.line.length == pytest.approx(29 + WIDTH_MM, abs=0.01)
    assert abs(best.strip.line.coords[0][1] - 50) < 2


def test_every_body_can_reach_the_frame() -> None:
    chance = np.random.default_rng(3)
    discs = [Point(x, y).buffer(chance.uniform(1.5, 2.5)) for x in range(18, 85, 8) for y in range(18, 85, 8)]
    found = _find(*discs)
    assert all(_between(found, 0, index) for index in range(1, len(discs) + 1))
    assert all(shapely.covers(OUTLINE, one.strip.line) for one in found)


def test_wood_without_waste_has_nothing_that_faces() -> None:
    wood = OUTLINE
    halves = [box(1, 1, 49, 99), box(51, 1, 99, 99)]
    found = find_candidates(wood, halves, 0, EMPTY, WIDTH_MM)
    assert {one.nodes for one in found} == {(0, 1)}
    assert len(polygons_of(wood)) == 1
