"""Pieces that are painted on a sheet behind their own: which sheet, which colours, which marks."""

import pytest
import shapely
from scenes import Scenes
from shapely import LineString, Point, box
from shapely.geometry.base import BaseGeometry

from layercut.model import Drawing, Shape, Stack

BEHIND = "islands.policy=behind"
RED, BLUE, GREEN = "#cc2222", "#2244cc", "#22aa44"


def _area(first: BaseGeometry, second: BaseGeometry) -> float:
    return float(shapely.intersection(first, second).area)


def _painted(stack: Stack, place: int, colour: str) -> shapely.Geometry:
    return shapely.union_all([p.region for p in stack.layers[place].painted if p.paint.colour == colour])


def _scene(scenes: Scenes, *front: Shape | BaseGeometry, hill: BaseGeometry | None = None) -> Drawing:
    """A sky, a hill with a face of its own, and shapes of a third layer in front."""
    hill = box(0, 60, 100, 100) if hill is None else hill
    return scenes.drawing([scenes.ground()], [scenes.shape(hill, colour=GREEN)], list(front))


def test_a_piece_over_the_sky_is_painted_on_the_sky(scenes: Scenes) -> None:
    disc = Point(50, 30).buffer(5)
    made = scenes.make(_scene(scenes, scenes.shape(disc, colour=RED)), BEHIND)
    sky, hill, front = made.stack.layers
    assert [guest.id for guest in sky.guests] == [choice.id for choice in front.choices]
    assert _area(sky.visible, disc) == pytest.approx(disc.area, abs=0.01)
    assert _area(_painted(made.stack, 0, RED), disc) == pytest.approx(disc.area, abs=0.01)
    for sheet in (hill, front):
        assert _area(sheet.wood, disc) < 0.01
        assert _area(sheet.opening, disc) == pytest.approx(disc.area, abs=0.01)
    assert made.proof.stack_mismatch_mm2 == 0
    assert made.proof.pieces_found == made.proof.pieces_planned == 3


def test_a_piece_before_the_hill_is_painted_on_the_hill(scenes: Scenes) -> None:
    disc = Point(50, 80).buffer(5)
    stack = scenes.stack(_scene(scenes, scenes.shape(disc, colour=RED)), BEHIND)
    assert [guest.home for guest in stack.layers[2].given] == [1]
    assert _area(stack.layers[1].wood, disc) == pytest.approx(disc.area, abs=0.01)
    assert _area(_painted(stack, 1, RED), disc) == pytest.approx(disc.area, abs=0.01)
    assert _area(_painted(stack, 1, GREEN), disc) < 0.01


def test_where_several_sheets_show_around_it_each_takes_its_part(scenes: Scenes) -> None:
    disc = Point(50, 60).buffer(5)
    made = scenes.make(_scene(scenes, scenes.shape(disc, colour=RED)), BEHIND)
    assert len(made.stack.layers[2].given) == 2
    assert {guest.home for guest in made.stack.layers[2].given} == {0, 1}
    for place in (0, 1):
        assert _area(_painted(made.stack, place, RED), disc) == pytest.approx(disc.area / 2, abs=0.05)
    assert made.proof.stack_mismatch_mm2 == 0
    assert not [finding for finding in made.findings if finding.severity == "error"]


def test_its_outline_is_marked_once_and_only_where_the_job_says_so(scenes: Scenes) -> None:
    disc = Point(50, 30).buffer(5, 64)
    drawing = _scene(scenes, scenes.shape(disc, colour=RED))
    rim = shapely.buffer(disc.exterior, 0.05)
    for settings, share in (((BEHIND,), 1.0), ((BEHIND, "marks.behind=false", "marks.colour_boundaries=false"), 0.0)):
        lines = shapely.union_all(scenes.make(drawing, *settings).sheets[0].mark_lines)
        assert shapely.intersection(lines, rim).length == pytest.approx(share * disc.exterior.length, rel=0.01)


def test_the_outline_is_marked_where_both_colours_are_the_same(scenes: Scenes) -> None:
    disc = Point(50, 30).buffer(5, 64)
    made = scenes.make(_scene(scenes, disc), BEHIND)
    assert made.sheets[0].mark_mm == pytest.approx(disc.exterior.length, rel=0.01)


def test_its_colours_and_marks_move_with_it(scenes: Scenes) -> None:
    disc, eye = Point(50, 80).buffer(8), Point(52, 80).buffer(2)
    feather = scenes.shape(LineString([(44, 80), (48, 80)]), role="mark-line", colour="#000000")
    drawing = _scene(scenes, scenes.shape(disc, colour=RED), scenes.shape(eye, colour=BLUE), feather)
    made = scenes.make(drawing, BEHIND)
    assert _area(_painted(made.stack, 1, BLUE), eye) == pytest.approx(eye.area, abs=0.01)
    lines = shapely.union_all(made.sheets[1].mark_lines)
    assert shapely.intersection(lines, box(44, 79.9, 48, 80.1)).length == pytest.approx(4, abs=0.05)
    assert not made.sheets[2].mark_lines


def test_marks_that_it_covered_stay_covered(scenes: Scenes) -> None:
    disc = Point(50, 80).buffer(8)
    furrow = scenes.shape(LineString([(10, 80), (90, 80)]), role="mark-line", colour="#000000")
    drawing = scenes.drawing([scenes.ground()], [box(0, 60, 100, 100), furrow], [scenes.shape(disc, colour=RED)])
    lines = shapely.union_all(scenes.make(drawing, BEHIND).sheets[1].mark_lines)
    assert shapely.intersection(lines, disc.buffer(-0.2)).length == 0


def test_a_piece_on_an_island_moves_with_the_island(scenes: Scenes) -> None:
    cloud, bird = Point(50, 30).buffer(12), Point(50, 30).buffer(4)
    layers = [scenes.ground()], [scenes.shape(cloud, colour=BLUE)], [scenes.shape(bird, colour=RED)]
    made = scenes.make(scenes.drawing(*layers), BEHIND)
    assert [guest.home for guest in made.stack.layers[2].given] == [1]
    assert [guest.home for guest in made.stack.layers[1].given] == [0]
    assert _area(_painted(made.stack, 0, RED), bird) == pytest.approx(bird.area, abs=0.01)
    assert _area(_painted(made.stack, 0, BLUE), bird) < 0.01
    assert made.proof.stack_mismatch_mm2 == 0


def test_a_piece_that_hangs_by_a_neck_leaves_the_rest_whole(scenes: Scenes) -> None:
    stem = box(0, 29.7, 46, 30.3)
    made = scenes.make(_scene(scenes, Point(50, 30).buffer(5), stem), BEHIND, "limits.narrow_reach=200mm")
    assert [guest.home for guest in made.stack.layers[2].given] == [0]
    seen = shapely.union_all([layer.visible for layer in made.stack.layers])
    assert seen.area == pytest.approx(made.stack.panel.interior.area, abs=0.02)
    assert made.proof.stack_mismatch_mm2 == 0


def test_a_piece_that_is_left_out_shows_what_lies_deeper(scenes: Scenes) -> None:
    over = box(45, 55, 55, 65)  # half before the sky, half before the hill
    made = scenes.make(_scene(scenes, scenes.shape(over, colour=RED)), "islands.pieces.l2#1=out")
    sky, hill, front = made.stack.layers
    assert _area(hill.visible, over) == pytest.approx(50, abs=0.01)
    assert _area(sky.visible, over) == pytest.approx(50, abs=0.01)
    assert _area(front.wood, over) < 0.01
    assert not any(part.paint.colour == RED for layer in made.stack.layers for part in layer.painted)
    assert made.proof.stack_mismatch_mm2 == 0


def test_a_loose_piece_may_rest_where_another_is_painted(scenes: Scenes) -> None:
    disc, leaf = Point(50, 80).buffer(6), Point(50, 80).buffer(3)
    layers = [scenes.ground()], [box(0, 60, 100, 100)], [scenes.shape(disc, colour=RED)], [leaf]
    stack = scenes.stack(
        scenes.drawing(*layers), BEHIND, "islands.layers.l3.policy=loose", "limits.glue_contact=5mm2"
    )
    # The disc left the sheet on which the leaf would rest; what hides behind the leaf carries it.
    (leaf_piece,) = [piece for piece in stack.layers[3].loose if not piece.riser]
    assert leaf_piece.contact_mm2 > 5
