"""Islands: what would fall out or snap off is found, named and placed; what nobody sees is left out."""

import re
from collections.abc import Sequence

import pytest
import shapely
from scenes import Scenes
from shapely import Point, Polygon, affinity, box
from shapely.geometry.base import BaseGeometry

from layercut.model import Island, Shape, Stack, StackLayer

DISC = Point(50, 50).buffer(10, 32)


def _front(scenes: Scenes, *layers: Sequence[Shape | BaseGeometry], settings: tuple[str, ...] = ()) -> StackLayer:
    """The second sheet of a stack in front of a full back layer."""
    return _stack(scenes, *layers, settings=settings).layers[1]


def _stack(scenes: Scenes, *layers: Sequence[Shape | BaseGeometry], settings: tuple[str, ...] = ()) -> Stack:
    return scenes.stack(scenes.drawing([scenes.ground()], *layers), *settings)


def _ids(layer: StackLayer) -> list[tuple[str, str]]:
    return [(island.id, island.element) for island in layer.islands]


def test_wood_that_touches_the_frame_is_held(scenes: Scenes) -> None:
    layer = _front(scenes, [box(0, 40, 60, 60)])
    assert layer.islands == ()
    assert len(shapely.get_parts(layer.wood)) == 1


def test_a_disc_in_the_middle_is_an_island(scenes: Scenes) -> None:
    layer = _front(scenes, [DISC])
    (island,) = layer.islands
    assert island.neck_mm is None
    assert island.id == "l1-1"
    assert island.element == "path 's0'"
    assert island.area_mm2 == pytest.approx(DISC.area, abs=0.05)
    assert DISC.contains(Point(island.at_mm))
    assert layer.wood.intersection(DISC).area == pytest.approx(DISC.area, abs=0.05)


def test_the_back_sheet_never_has_islands(scenes: Scenes) -> None:
    stack = scenes.stack(scenes.drawing([DISC, box(10, 10, 12, 12)]))
    assert stack.layers[0].islands == ()
    assert stack.layers[0].wood.area == pytest.approx(10_000)


@pytest.mark.parametrize("width", [0.2, 0.7, 1.0, 1.4])
def test_a_disc_on_a_thin_stem_hangs_by_its_width(scenes: Scenes, width: float) -> None:
    layer = _front(scenes, [DISC, box(0, 50 - width / 2, 45, 50 + width / 2)])
    (island,) = layer.islands
    assert island.neck_mm == pytest.approx(width, abs=0.01)
    assert DISC.buffer(1.5).contains(island.region)


def test_a_disc_on_a_stem_as_wide_as_the_limit_is_held(scenes: Scenes) -> None:
    assert _front(scenes, [DISC, box(0, 49.25, 45, 50.75)]).islands == ()


def test_two_thin_stems_don_t_make_a_held_one(scenes: Scenes) -> None:
    layer = _front(scenes, [DISC, box(0, 49.5, 45, 50.5), box(55, 49.6, 100, 50.4)])
    assert [round(island.neck_mm or 0, 2) for island in layer.islands] == [1.0]


def test_an_island_hangs_by_the_widest_way_to_the_frame(scenes: Scenes) -> None:
    """Frame - 0.3 mm - first - 1.0 mm - second: both hang by 0.3 mm, whatever joins them to each other."""
    chain = [box(20, 20, 30, 30), box(40, 20, 50, 30), box(0, 24.85, 25, 25.15), box(25, 24.5, 45, 25.5)]
    layer = _front(scenes, chain)
    assert [island.neck_mm for island in layer.islands] == pytest.approx([0.3, 0.3], abs=0.01)


def test_islands_are_numbered_in_the_order_of_their_shapes(scenes: Scenes) -> None:
    boxes = [box(70, 70, 80, 80), box(20, 20, 30, 30), box(50, 50, 60, 60)]
    assert _ids(_front(scenes, boxes)) == [("l1-1", "path 's0'"), ("l1-2", "path 's1'"), ("l1-3", "path 's2'")]


def test_islands_of_one_shape_are_told_apart_by_their_outlines(scenes: Scenes) -> None:
    one = shapely.union_all([box(20, 70, 30, 80), box(20, 20, 30, 30), box(50, 40, 60, 50)])
    layer = _front(scenes, [one])
    assert [island.at_mm[1] for island in layer.islands] == sorted(island.at_mm[1] for island in layer.islands)
    assert [island.element for island in layer.islands] == ["path 's0'"] * 3
    assert all(re.fullmatch("l1-1#[a-z2-7]{7}", island.id) for island in layer.islands)
    assert len({island.id for island in layer.islands}) == 3
    assert [island.old_id for island in layer.islands] == ["l1#1", "l1#1b", "l1#1c"]


def test_the_name_of_an_island_outlives_edits_of_other_shapes(scenes: Scenes) -> None:
    held, island = box(0, 0, 30, 30), box(60, 60, 70, 70)
    before = _front(scenes, [box(40, 40, 50, 50), held, island])
    after = _front(scenes, [box(0, 40, 50, 50), held, island])
    assert [found[0] for found in _ids(before)] == ["l1-1", "l1-3"]
    assert [found[0] for found in _ids(after)] == ["l1-3"]


def test_an_island_is_named_by_the_shape_that_it_mostly_comes_from(scenes: Scenes) -> None:
    assert _ids(_front(scenes, [box(40, 40, 42, 60), box(41, 40, 70, 60)])) == [("l1-2", "path 's1'")]


def test_an_island_that_reaches_behind_a_held_layer_is_held(scenes: Scenes) -> None:
    band = box(0, 30, 100, 70)
    assert _front(scenes, [Point(50, 30).buffer(10)], [band]).islands == ()


def test_hidden_ground_that_hangs_on_nothing_is_left_out(scenes: Scenes) -> None:
    """Behind a ring that is held by a narrow stem, the hidden ground is free and nobody sees it."""
    front = DISC.union(box(0, 49.2, 45, 50.8))
    layer = _front(scenes, [box(0, 0, 20, 20)], [front])
    assert layer.islands == ()
    assert len(shapely.get_parts(layer.wood)) == 1
    assert layer.wood.intersection(DISC).area == 0


def _held(layer: StackLayer) -> None:
    """Every piece of wood is the frame's or an island's."""
    for piece in shapely.get_parts(layer.wood):
        framed = piece.contains(Point(3, 50))
        islands = [island for island in layer.islands if island.region.intersection(piece).area > 0]
        assert framed or islands, piece.bounds


@pytest.mark.parametrize("thin", [0.3, 0.9, 1.4])
def test_a_thin_stick_on_hidden_ground_that_is_left_out_is_not_forgotten(scenes: Scenes, thin: float) -> None:
    """The hidden ground behind the front disc hangs by a neck and goes; the stick in front of nothing hung on it."""
    front = box(40, 40, 60, 60).union(box(0, 48.7, 45, 51.3))
    stick = box(55, 50 - thin / 2, 90, 50 + thin / 2)
    layer = _front(scenes, [stick], [front])
    _held(layer)
    if layer.wood.intersection(box(62, 45, 90, 55)).area:
        assert layer.islands, "the stick shows, and nothing holds it"


def test_a_thin_ring_on_hidden_ground_that_is_left_out_is_not_forgotten(scenes: Scenes) -> None:
    front = box(40, 40, 60, 60).union(box(0, 48.7, 45, 51.3))
    ring = Point(64, 50).buffer(8).difference(Point(64, 50).buffer(6.8))
    layer = _front(scenes, [ring], [front])
    _held(layer)
    assert layer.islands


@pytest.mark.parametrize("off", [0.0, 1e-6, 1e-4, 6e-4, 1e-3])
def test_a_copy_behind_its_own_original_makes_no_island(scenes: Scenes, off: float) -> None:
    """What shows of the copy is thinner than the grid: nobody sees it, so it is dropped like hidden ground."""
    square = box(30, 30, 60, 60)
    layer = _front(scenes, [affinity.translate(square, off, 0)], [square.union(box(0, 44, 100, 46))])
    assert layer.islands == ()


@pytest.mark.parametrize("settings", [(), ("panel.frame=7mm", "limits.neck=2.4mm")])
def test_pins_never_cost_a_sheet_its_frame(scenes: Scenes, settings: tuple[str, ...]) -> None:
    stack = _stack(scenes, [box(0, 0, 20, 20)], settings=("panel.pins=true", *settings))
    for layer in stack.layers:
        assert shapely.difference(stack.panel.frame, layer.wood).area < 1e-3


def test_a_narrow_handle_is_worth_a_word_but_no_island(scenes: Scenes) -> None:
    handle = Point(50, 50).buffer(8, 64).difference(Point(50, 50).buffer(7, 64))
    stack = _stack(scenes, [handle.union(box(0, 30, 60, 46))])
    assert stack.layers[1].islands == ()
    assert [finding.code for finding in stack.findings] == ["narrow"]
    assert stack.findings[0].size_mm == pytest.approx((1.0,), abs=0.01)


def test_a_visible_prong_is_worth_a_word_and_a_hidden_one_is_not(scenes: Scenes) -> None:
    prong = box(0, 50, 60, 50.5)
    seen = _stack(scenes, [prong])
    assert [finding.code for finding in seen.findings] == ["narrow"]
    hidden = _stack(scenes, [prong], [box(0, 40, 100, 60)])
    assert [finding.code for finding in hidden.findings] == ["layer-unseen"]


def test_the_same_drawing_gives_the_same_islands(scenes: Scenes) -> None:
    layers = [[Point(20 + 7 * k, 20 + (11 * k) % 60).buffer(2) for k in range(9)]]
    first, second = _front(scenes, *layers), _front(scenes, *layers)
    assert [_told(island) for island in first.islands] == [_told(island) for island in second.islands]
    assert len(first.islands) == 9


def _told(island: Island) -> tuple[object, ...]:
    return (island.id, island.at_mm, island.area_mm2, island.element, island.neck_mm)


def test_an_empty_shape_in_a_layer_is_nothing(scenes: Scenes) -> None:
    assert _front(scenes, [Polygon(), DISC]).islands[0].element == "path 's1'"


def test_a_speck_too_small_to_see_is_left_out_and_told(scenes: Scenes) -> None:
    """Less than 0.01 mm2: no island, but the maker hears that it is gone."""
    stack = _stack(scenes, [box(0, 0, 20, 20), Point(50, 50).buffer(0.05)])
    layer = stack.layers[1]
    assert layer.islands == ()
    assert len(shapely.get_parts(layer.wood)) == 1
    assert [finding.code for finding in stack.findings] == ["detail-lost"]
