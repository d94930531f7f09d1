"""Misregistration: distances worked out by hand."""

import math
from collections.abc import Sequence

import pytest
import shapely
from scenes import Scenes
from shapely import Point, affinity, box
from shapely.geometry.base import BaseGeometry

from layercut.model import Shape, Stack
from layercut.stack.misregistration import allowed_misregistrations


def _distances(stack: Stack) -> list[float]:
    return [allowed.distance_mm for allowed in allowed_misregistrations(stack)]


def _stack(scenes: Scenes, *layers: Sequence[Shape | BaseGeometry], settings: tuple[str, ...] = ()) -> Stack:
    return scenes.stack(scenes.drawing([scenes.ground()], *layers), *settings)


def test_one_sheet_may_lie_anywhere(scenes: Scenes) -> None:
    assert _distances(_stack(scenes)) == [math.inf]


def test_without_hidden_ground_nothing_wrong_can_show(scenes: Scenes) -> None:
    """The ground fills its sheet, and the front sheet has nothing in front."""
    assert _distances(_stack(scenes, [box(0, 60, 100, 100)])) == [math.inf, math.inf]


@pytest.mark.parametrize("setback", [0.5, 1.0, 3.0])
def test_hidden_ground_may_lie_aside_by_its_setback(scenes: Scenes, setback: float) -> None:
    """The middle sheet's ground behind the front house stops a setback short of the house's edge: it may move that
    far before it shows beside it, and so may the house before it uncovers the ground."""
    layers = ([box(0, 0, 100, 20)], [box(40, 40, 100, 100)])
    distances = _distances(_stack(scenes, *layers, settings=(f"limits.setback={setback}mm",)))
    assert distances[0] == math.inf
    assert distances[1:] == pytest.approx([setback, setback], rel=0.03)
    assert min(distances[1:]) >= setback - 1e-6


def test_a_back_sheet_in_part_bare_shows_wrong_at_once(scenes: Scenes) -> None:
    """Without a setback the hidden ground ends where the house does."""
    layers = ([box(0, 0, 100, 20)], [box(40, 40, 100, 100)])
    distances = _distances(_stack(scenes, *layers, settings=("limits.setback=0mm",)))
    assert distances[1:] == pytest.approx([0, 0], abs=1e-6)


def test_two_sheets_in_front_hide_for_each_other(scenes: Scenes) -> None:
    """Ground behind a small and a larger house: the small one may move away, the larger still hides it."""
    layers = ([box(0, 0, 100, 20)], [box(30, 30, 100, 100)], [box(50, 50, 100, 100)])
    distances = _distances(_stack(scenes, *layers))
    assert distances[3] == math.inf
    assert distances[2] == pytest.approx(1.0, rel=0.03)


def test_a_riser_may_show_as_well(scenes: Scenes) -> None:
    """The riser behind a loose disc of 10 mm is drawn back by 1 mm."""
    stack = _stack(scenes, [box(0, 90, 100, 100)], [Point(50, 50).buffer(10, 64)], settings=("islands.policy=loose",))
    assert any(piece.riser for piece in stack.layers[1].loose)
    assert _distances(stack)[1:] == pytest.approx([1, 1], rel=0.03)


@pytest.mark.parametrize("seed", range(4))
def test_it_is_the_distance_of_whole_overlays(scenes: Scenes, seed: int) -> None:
    """Two sheets: how far the ground behind the front one is from where the front one leaves it open."""
    spots = [((seed * 17 + 29 * k) % 70 + 15, (seed * 23 + 31 * k) % 70 + 15, 4 + (k * 5) % 7) for k in range(9)]
    leaves = [Point(x, y).buffer(r, quad_segs=32) for x, y, r in spots]
    stack = _stack(scenes, [box(0, 0, 100, 20)], [box(0, 80, 100, 100), *leaves], settings=("islands.policy=loose",))
    back, middle, front = stack.layers
    risers = [piece.region for piece in middle.loose if piece.riser]
    ground = shapely.union_all([shapely.intersection(middle.hidden, middle.wood), *risers])
    beside = shapely.difference(stack.panel.interior, front.wood)
    assert _distances(stack)[1:] == pytest.approx([shapely.distance(ground, beside)] * 2, abs=1e-6)
    assert back.slip_mm == math.inf


def test_distances_are_kept_with_the_sheets(scenes: Scenes) -> None:
    stack = _stack(scenes, [box(0, 0, 100, 20)], [box(40, 40, 100, 100)])
    assert [layer.slip_mm for layer in stack.layers] == _distances(stack)


@pytest.mark.parametrize("angle", range(0, 360, 45))
def test_a_sheet_moved_by_less_shows_no_bare_ground(scenes: Scenes, angle: int) -> None:
    """Independent check: move one sheet by nine tenths of what it may, and look which sheet shows at the front."""
    layers = ([box(0, 0, 100, 20), Point(20, 60).buffer(9)], [box(40, 40, 100, 100)], [Point(50, 50).buffer(14)])
    stack = _stack(scenes, *layers, settings=("islands.policy=loose",))
    interior = stack.panel.interior.buffer(-2)
    ground = [shapely.intersection(layer.hidden, layer.wood).buffer(-0.02) for layer in stack.layers]
    for moved, distance in enumerate(_distances(stack)):
        by = 0.9 * min(distance, 1.5)
        dx, dy = by * math.cos(math.radians(angle)), by * math.sin(math.radians(angle))
        woods = [layer.wood for layer in stack.layers]
        bare = list(ground)
        woods[moved], bare[moved] = affinity.translate(woods[moved], dx, dy), affinity.translate(bare[moved], dx, dy)
        for index in range(len(woods)):
            shown = shapely.difference(bare[index], shapely.union_all(woods[index + 1 :]))
            assert shapely.intersection(shown, interior).area < 0.01, (moved, index, angle)
