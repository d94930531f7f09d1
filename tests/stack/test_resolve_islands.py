"""Sheets resolved one after the other: each island's policy, what is cut at its neck, cut free and kept whole."""

from collections.abc import Sequence

import pytest
import shapely
from scenes import Scenes
from shapely import Point, box
from shapely.geometry.base import BaseGeometry

from layercut.model import StackLayer
from layercut.pipeline import plan_stack
from layercut.stack.cells import map_cells
from layercut.stack.panel import make_panel
from layercut.stack.resolve_islands import resolve_islands

LOOSE, TIE = "islands.policy=loose", "islands.policy=tie"
DISC = Point(50, 50).buffer(10, 32)
KERF_MM = 0.15


def _front(scenes: Scenes, shapes: Sequence[BaseGeometry], *settings: str) -> StackLayer:
    return scenes.stack(scenes.drawing([scenes.ground()], shapes), *settings).layers[1]


def _apart(layer: StackLayer) -> float:
    """The least distance between two pieces of a sheet's wood."""
    pieces = shapely.get_parts(layer.wood)
    return min(shapely.distance(a, b) for number, a in enumerate(pieces) for b in pieces[:number])


def test_an_empty_stack_is_resolved(scenes: Scenes) -> None:
    panel = make_panel(100, 100, scenes.job())
    assert resolve_islands((), map_cells([], panel), panel, scenes.job()) == ()


@pytest.mark.parametrize(
    ("policy", "islands", "ties", "loose"), [("refuse", 1, 0, 0), ("tie", 0, 2, 0), ("loose", 0, 0, 1)]
)
def test_each_policy_does_its_own(scenes: Scenes, policy: str, islands: int, ties: int, loose: int) -> None:
    layer = _front(scenes, [DISC], f"islands.policy={policy}", "limits.slender=100")
    assert (len(layer.islands), len(layer.ties), len(layer.loose)) == (islands, ties, loose)


def test_one_policy_each_on_one_sheet(scenes: Scenes) -> None:
    squares = [box(20, 20, 28, 28), box(50, 20, 58, 28), box(20, 60, 28, 68)]
    layer = _front(
        scenes, squares, LOOSE, "limits.slender=100", "islands.pieces.l1-2=tie", "islands.pieces.l1-3=refuse"
    )
    assert [piece.id for piece in layer.loose] == ["l1-1"]
    assert [island.id for island in layer.islands] == ["l1-3"]
    assert layer.ties
    assert all(tie.region.distance(squares[1]) < 0.1 for tie in layer.ties)


def test_a_held_drawing_is_the_same_under_every_policy(scenes: Scenes) -> None:
    drawing = scenes.drawing([scenes.ground()], [box(0, 0, 40, 60)], [box(0, 70, 100, 100)])
    first, *others = (scenes.stack(drawing, f"islands.policy={policy}") for policy in ("refuse", "tie", "loose"))
    for other in others:
        for here, there in zip(first.layers, other.layers, strict=True):
            assert here.wood.equals(there.wood)


@pytest.mark.parametrize("width", [0.3, 0.8, 1.4])
def test_a_hung_piece_is_cut_at_its_neck(scenes: Scenes, width: float) -> None:
    """The stem is cut through somewhere along its neck; the disc comes free, a kerf and a hair apart."""
    stem = box(0, 50 - width / 2, 45, 50 + width / 2)
    layer = _front(scenes, [DISC, stem], LOOSE)
    (piece,) = layer.loose
    assert shapely.difference(DISC, piece.region).area < 0.5
    assert shapely.difference(piece.region, DISC.union(stem)).area < 1e-2
    assert _apart(layer) >= KERF_MM - 1e-3


def test_both_necks_of_a_piece_are_cut(scenes: Scenes) -> None:
    layer = _front(scenes, [DISC, box(0, 49.6, 100, 50.4)], LOOSE)
    assert len(layer.loose) == 1
    assert len(shapely.get_parts(layer.wood)) == 2


def test_a_chain_of_pieces_comes_apart_at_each_neck(scenes: Scenes) -> None:
    discs = [Point(25 + 25 * number, 50).buffer(7) for number in range(3)]
    layer = _front(scenes, [*discs, box(0, 49.7, 80, 50.3)], LOOSE)
    assert [piece.id for piece in layer.loose] == ["l1-1", "l1-2", "l1-3"]
    assert _apart(layer) >= KERF_MM - 1e-3


@pytest.mark.parametrize("overlap", [0.0, 0.01, 0.05])
def test_a_piece_that_barely_touches_the_frame_leaves_it_whole(scenes: Scenes, overlap: float) -> None:
    made = scenes.make(scenes.drawing([scenes.ground()], [Point(50, 6.35 + 10 - overlap).buffer(10, 32)]), LOOSE)
    assert shapely.difference(made.stack.panel.frame, made.stack.layers[1].wood).area < 1e-6
    assert made.proof.stack_mismatch_mm2 == 0
    assert made.proof.pieces_found == made.proof.pieces_planned


def test_hidden_wood_that_is_dropped_leaves_the_frame_whole(scenes: Scenes) -> None:
    """The ground hidden by a disc that just reaches into the frame hangs on nothing wide enough."""
    disc = Point(50, 6.35 + 9.99).buffer(10, 32)
    stack = scenes.stack(scenes.drawing([scenes.ground()], [box(0, 90, 100, 100)], [disc]), LOOSE)
    for layer in stack.layers:
        assert shapely.difference(stack.panel.frame, layer.wood).area < 1e-6


@pytest.mark.parametrize("kerf", [0.05, 0.15, 0.4])
@pytest.mark.parametrize("gap", [0.0, 0.01, 0.1, 0.2])
def test_pieces_that_nearly_touch_are_cut_free_or_joined(scenes: Scenes, kerf: float, gap: float) -> None:
    """Never nearer than the beam parts: nearer ones are one piece, told as a pinched opening, or shaved."""
    shapes = [box(40, 40, 50, 50), box(50 + gap, 40, 60, 50)]
    made = scenes.make(scenes.drawing([scenes.ground()], shapes), LOOSE, f"material.kerf={kerf}mm")
    layer = made.stack.layers[1]
    assert _apart(layer) >= kerf + 0.02 - 1e-3
    assert made.proof.pieces_found == made.proof.pieces_planned == 2 + len(layer.loose)


def test_pieces_that_touch_in_a_corner_are_parted(scenes: Scenes) -> None:
    made = scenes.make(scenes.drawing([scenes.ground()], [box(40, 40, 50, 50), box(50, 50, 60, 60)]), LOOSE)
    assert len(made.stack.layers[1].loose) == 2
    assert _apart(made.stack.layers[1]) >= KERF_MM + 0.02 - 1e-3
    assert made.proof.pieces_found == made.proof.pieces_planned == 4


def test_a_visible_tie_hides_what_lies_behind_on_every_deeper_sheet(scenes: Scenes) -> None:
    stack = scenes.stack(scenes.drawing([scenes.ground()], [box(0, 80, 100, 100)], [Point(50, 20).buffer(5)]), TIE)
    (tie,) = stack.layers[2].ties
    for layer in stack.layers[:2]:
        assert layer.visible.intersection(tie.region).area < 1e-6
        assert layer.opening.intersection(tie.region).area < 1e-6


def test_what_can_t_be_tied_without_hiding_others_is_still_the_same_twice(scenes: Scenes) -> None:
    drawing = scenes.drawing([scenes.ground()], [DISC, box(20, 20, 24, 24)], [Point(30, 70).buffer(6)])
    job = scenes.job(TIE)
    first, second = plan_stack(drawing, job), plan_stack(drawing, job)
    assert [layer.wood.wkb for layer in first.layers] == [layer.wood.wkb for layer in second.layers]
