"""Faces: later shapes lie over earlier ones, openings take away, paints tile the face."""

import pytest
import shapely
from scenes import Scenes
from shapely import Point, Polygon, box

from layercut.model import Role, Shape
from layercut.stack.faces import Face, find_face

RED, BLUE = "#ff0000", "#0000ff"


def _areas(face: Face) -> dict[str, float]:
    return {part.paint.colour: round(part.region.area, 6) for part in face.painted}


def test_one_paint_is_one_union(scenes: Scenes) -> None:
    face = find_face(scenes.layer([box(0, 0, 10, 10), box(5, 5, 15, 15)]))
    assert face.region.area == pytest.approx(175)
    assert len(face.painted) == 1
    assert face.painted[0].region.equals(face.region)


def test_the_later_paint_lies_over_the_earlier(scenes: Scenes) -> None:
    shapes = [scenes.shape(box(0, 0, 10, 10), colour=RED), scenes.shape(box(5, 0, 15, 10), colour=BLUE)]
    assert _areas(find_face(scenes.layer(shapes))) == {RED: 50, BLUE: 100}
    assert _areas(find_face(scenes.layer(shapes[::-1]))) == {RED: 100, BLUE: 50}


def test_a_paint_that_is_wholly_covered_is_not_painted(scenes: Scenes) -> None:
    shapes = [scenes.shape(box(2, 2, 4, 4), colour=RED), scenes.shape(box(0, 0, 10, 10), colour=BLUE)]
    assert _areas(find_face(scenes.layer(shapes))) == {BLUE: 100}


def test_an_opening_takes_away_only_what_it_lies_over(scenes: Scenes) -> None:
    hole = scenes.shape(box(2, 2, 8, 8), "opening")
    under, over = scenes.shape(box(0, 0, 10, 10), colour=RED), scenes.shape(box(4, 4, 6, 6), colour=BLUE)
    face = find_face(scenes.layer([under, hole, over]))
    assert face.region.area == pytest.approx(100 - 36 + 4)
    assert _areas(face) == {RED: 64, BLUE: 4}
    assert find_face(scenes.layer([hole, under])).region.area == pytest.approx(100)


@pytest.mark.parametrize("shapes", [[], ["mark-line"], ["opening"], ["mark-area"]])
def test_a_layer_without_wood_has_an_empty_face(scenes: Scenes, shapes: list[Role]) -> None:
    line = box(0, 0, 1, 1).exterior
    made = [scenes.shape(line if role == "mark-line" else box(0, 0, 1, 1), role) for role in shapes]
    face = find_face(scenes.layer(made))
    assert face.region.is_empty
    assert face.painted == ()


def test_everything_opened_leaves_nothing(scenes: Scenes) -> None:
    face = find_face(scenes.layer([box(0, 0, 1, 1), scenes.shape(box(-1, -1, 2, 2), "opening")]))
    assert face.region.is_empty
    assert face.painted == ()


def test_shapes_without_area_leave_nothing(scenes: Scenes) -> None:
    shapes = [scenes.shape(Polygon(), colour=RED), scenes.shape(Polygon(), colour=BLUE)]
    face = find_face(scenes.layer(shapes))
    assert face.region.is_empty
    assert face.painted == ()


def _crowd(scenes: Scenes, seed: int) -> list[Shape]:
    spots = [((seed * 7 + 13 * k) % 37, (seed * 11 + 17 * k) % 41) for k in range(12)]
    colours = [RED, BLUE, "#00ff00"]
    return [
        scenes.shape(
            Point(x, y).buffer(3 + k % 5, quad_segs=8) if k % 2 else box(x, y, x + 9, y + 4 + k % 3),
            "opening" if k % 5 == 4 else "wood",
            colours[k % 3],
        )
        for k, (x, y) in enumerate(spots)
    ]


@pytest.mark.parametrize("seed", range(8))
def test_paints_tile_the_face_and_are_what_set_algebra_says(scenes: Scenes, seed: int) -> None:
    shapes = _crowd(scenes, seed)
    expected: dict[str, shapely.Geometry] = {}
    for shape in shapes:
        expected = {colour: region.difference(shape.geometry) for colour, region in expected.items()}
        if shape.role == "wood":
            mine = expected.get(shape.paint.colour, Polygon())
            expected[shape.paint.colour] = mine.union(shape.geometry)
    face = find_face(scenes.layer(shapes))
    found = {part.paint.colour: part.region for part in face.painted}
    for colour, region in expected.items():
        assert shapely.symmetric_difference(found.get(colour, Polygon()), region).area < 0.001 * region.length + 1e-3
    assert sum(region.area for region in found.values()) == pytest.approx(face.region.area, abs=1e-6)
    assert face.region.is_valid


def test_parts_smaller_than_the_grid_are_left_out(scenes: Scenes) -> None:
    """Such a part, a crumb of a clipped shape, shrinks to a point when it is rounded."""
    crumb = Polygon([(30.0001, 0.0001), (30.0003, 0.0001), (30.0002, 0.0003)])
    shapes = [
        scenes.shape(shapely.MultiPolygon([crumb, box(0, 0, 10, 10)]), colour=RED),
        scenes.shape(box(5, 0, 15, 10), colour=BLUE),
    ]
    assert _areas(find_face(scenes.layer(shapes))) == {RED: 50, BLUE: 100}


@pytest.mark.parametrize("gap", [0.0, 1e-10, 1e-7, 1e-5, 4e-4])
@pytest.mark.parametrize("colour", [RED, BLUE])
def test_edges_that_nearly_meet_leave_no_gap_in_the_stack(scenes: Scenes, gap: float, colour: str) -> None:
    shapes = [
        scenes.shape(box(0, 0, 50.00003, 100), colour=RED),
        scenes.shape(box(50.00003 + gap, 0, 100, 100), colour=colour),
    ]
    front = scenes.stack(scenes.drawing([scenes.ground()], shapes)).layers[1]
    assert front.opening.is_empty
    assert len(front.visible.interiors) == 0
