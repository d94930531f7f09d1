"""Ties: strips worked out by hand, their width by sampling, and what they cover."""

import itertools
from collections.abc import Sequence

import numpy as np
import pytest
import shapely
from scenes import Scenes
from shapely import LineString, Point, Polygon, box
from shapely.geometry.base import BaseGeometry

from layercut.geometry.regions import EMPTY
from layercut.model import Shape, Stack, StackLayer
from layercut.stack.strips import Strip
from layercut.stack.ties import TieWidths, find_ties

TIE = "islands.policy=tie"
FRAME_MM, NECK_MM = 6.35, 1.5
FRAME = box(0, 0, 100, 100).difference(box(10, 10, 90, 90))
INSIDE = box(10, 10, 90, 90)
ANCHOR = Point(5, 50)
DISC = Point(50, 20).buffer(5, 32)


def _find(*islands: BaseGeometry, opening: BaseGeometry | None = None, width: float = NECK_MM) -> tuple[Strip, ...]:
    """The ties of islands in an open frame; without hidden ground unless `opening` leaves some."""
    wood = shapely.union_all([FRAME, *islands])
    return find_ties(wood, INSIDE.difference(wood) if opening is None else opening, ANCHOR, TieWidths(NECK_MM, width))


def _tied(scenes: Scenes, *layers: Sequence[Shape | BaseGeometry], settings: tuple[str, ...] = ()) -> Stack:
    return scenes.stack(scenes.drawing([scenes.ground()], *layers), TIE, *settings)


def _is_one_body(layer: StackLayer, width_mm: float) -> bool:
    """Whether a disc a hundredth narrower than a width can go everywhere that it has room, without lifting."""
    cores = shapely.get_parts(shapely.buffer(layer.wood, -(width_mm - 0.03) / 2, quad_segs=32))
    return sum(core.area > 0.01 for core in cores) == 1


def test_without_islands_there_is_nothing_to_tie(scenes: Scenes) -> None:
    assert _find() == ()
    assert _tied(scenes, [box(0, 0, 30, 30)]).layers[1].ties == ()


def test_a_small_disc_gets_one_tie_the_shortest_and_straight() -> None:
    """5 mm from the frame's edge: 1.5 mm x 5 mm, and what the disc's round leaves free: less than 2 x 0.75 x 0.06."""
    (strip,) = _find(DISC)
    (x0, y0), (x1, y1) = strip.line.coords
    assert (x0, x1) == pytest.approx((50, 50), abs=0.01)
    assert sorted((y0, y1)) == pytest.approx([10 - 0.74, 15 + 0.74], abs=0.01)
    assert strip.visible_mm2 == pytest.approx(1.5 * 5, abs=0.1)
    assert strip.visible_mm2 > 1.5 * 5


@pytest.mark.parametrize("width", [1.5, 2.0, 4.0])
def test_a_tie_is_as_wide_as_asked_along_its_whole_length(width: float) -> None:
    """Across the line at a hundred places, the wood reaches half the width to either side."""
    (strip,) = _find(DISC, width=width)
    wood = shapely.union_all([FRAME, DISC, strip.region]).buffer(1e-6)
    (x0, y0), (x1, y1) = strip.line.coords
    along = np.array([x1 - x0, y1 - y0]) / strip.line.length
    across = np.array([-along[1], along[0]]) * (width / 2 - 1e-3)
    for share in np.linspace(0, 1, 100):
        middle = np.array(strip.line.interpolate(share, normalized=True).coords[0])
        assert wood.covers(LineString([middle - across, middle + across])), share


@pytest.mark.parametrize(
    ("settings", "width"), [((), 1.5), (("islands.tie_width=3mm",), 3.0), (("limits.neck=2.4mm",), 2.4)]
)
def test_a_tied_sheet_is_one_body_as_wide_as_a_tie(scenes: Scenes, settings: tuple[str, ...], width: float) -> None:
    layer = _tied(scenes, [DISC, box(60, 60, 80, 80)], settings=("limits.slender=100", *settings)).layers[1]
    assert {tie.width_mm for tie in layer.ties} == {width}
    assert _is_one_body(layer, width)


def test_a_tie_is_never_narrower_than_the_neck_limit(scenes: Scenes) -> None:
    layer = _tied(scenes, [DISC], settings=("islands.tie_width=0.4mm",)).layers[1]
    assert [tie.width_mm for tie in layer.ties] == [NECK_MM]


def test_without_a_limit_and_a_width_a_tie_still_holds(scenes: Scenes) -> None:
    layer = _tied(scenes, [DISC], settings=("limits.neck=0mm",)).layers[1]
    assert len(layer.ties) == 1
    assert layer.ties[0].width_mm >= 1.0
    assert len(shapely.get_parts(layer.wood)) == 1


def test_a_long_island_gets_two_ties_and_a_small_one_one() -> None:
    """A bar of 60 mm would swing on one tie of 1.5 mm (its end is more than 8 widths off), a square of 6 mm not."""
    assert len(_find(box(20, 15, 80, 19))) == 2
    assert len(_find(box(47, 15, 53, 21))) == 1


def test_two_ties_of_one_island_lie_well_apart() -> None:
    first, second = _find(box(20, 15, 80, 19))
    assert first.line.distance(second.line) > 4 * NECK_MM


def test_a_body_far_from_everything_gets_two_ties() -> None:
    """Through 35 mm of open air a tie of 1.5 mm would swing itself."""
    assert len(_find(Point(50, 50).buffer(5))) == 2


def test_a_ring_around_a_disc_ties_both() -> None:
    ring = Point(50, 22).buffer(9).difference(Point(50, 22).buffer(6.5))
    strips = _find(ring, Point(50, 22).buffer(3))
    joined = shapely.union_all([FRAME, ring, Point(50, 22).buffer(3), *(strip.region for strip in strips)])
    assert isinstance(joined, Polygon)


def test_neighbours_are_tied_to_each_other_where_that_covers_less() -> None:
    """Two discs 2 mm apart, one 5 mm from the frame, the other 17 mm: the second hangs on the first."""
    strips = _find(DISC, Point(50, 32).buffer(5, 32))
    assert sum(strip.visible_mm2 for strip in strips) == pytest.approx(1.5 * (5 + 2), abs=0.3)


def test_hidden_ground_is_used_first(scenes: Scenes) -> None:
    """A rail in front, 3.2 mm wide: the hidden ground behind it, drawn back, is too narrow to hold the disc, but a
    tie of 1.5 mm fits, though it has to go 59 mm to the right instead of 9 mm up."""
    layer = _tied(scenes, [Point(30, 20).buffer(5)], [box(30, 18.4, 100, 21.6)]).layers[1]
    (tie,) = layer.ties
    assert tie.visible_mm2 == pytest.approx(0, abs=1e-6)
    assert tie.at_mm[1] == pytest.approx(20, abs=0.2)


@pytest.mark.parametrize("turn", [0, 20, 45, 70])
def test_a_hidden_way_is_found_in_any_direction(scenes: Scenes, turn: float) -> None:
    rail = shapely.affinity.rotate(box(30, 28.2, 150, 31.8), turn, (30, 30))
    layer = _tied(scenes, [Point(30, 30).buffer(5)], [rail]).layers[1]
    assert sum(tie.visible_mm2 for tie in layer.ties) == pytest.approx(0, abs=0.01)
    assert _is_one_body(layer, NECK_MM)


def test_of_two_ways_the_one_that_covers_less() -> None:
    """8 mm from the frame below, 12 mm from the frame above, but 9 mm of those lie behind something in front."""
    island = box(40, 62, 60, 82)
    above = INSIDE.difference(island).difference(box(45, 10, 55, 60))
    assert min(strip.visible_mm2 for strip in _find(island, opening=above)) == pytest.approx(1.5 * 2, abs=0.05)


def test_a_part_that_hangs_by_a_narrow_neck_is_tied(scenes: Scenes) -> None:
    lollipop = DISC.union(box(49.6, 0, 50.4, 16))
    stack = _tied(scenes, [lollipop])
    assert stack.findings == ()
    assert stack.layers[1].ties
    assert _is_one_body(stack.layers[1], NECK_MM)


def test_a_stick_too_thin_for_the_limit_is_tied_at_its_middle(scenes: Scenes) -> None:
    stack = _tied(scenes, [box(48, 15, 52, 15.6)])
    assert not [finding for finding in stack.findings if finding.severity == "error"]
    assert len(shapely.get_parts(stack.layers[1].wood)) == 1


def test_a_visible_tie_is_seen_and_painted_as_the_island(scenes: Scenes) -> None:
    island = scenes.shape(DISC, colour="#00aa00")
    elsewhere = scenes.shape(box(0, 60, 100, 100), colour="#aa0000")
    layer = _tied(scenes, [elsewhere, island]).layers[1]
    (tie,) = layer.ties
    assert tie.visible_mm2 == pytest.approx(1.5 * (15 - FRAME_MM), abs=0.1)
    assert shapely.difference(tie.region, layer.visible).area < 1e-6
    paint = [part.paint.colour for part in layer.painted if part.region.intersection(tie.region).area > 1]
    assert paint == ["#00aa00"]


def test_a_tie_adds_to_what_is_seen_and_takes_from_the_opening(scenes: Scenes) -> None:
    untied = scenes.stack(scenes.drawing([scenes.ground()], [DISC])).layers[1]
    tied = _tied(scenes, [DISC]).layers[1]
    area = tied.ties[0].visible_mm2
    assert tied.visible.area - untied.visible.area == pytest.approx(area, abs=1e-3)
    assert untied.opening.area - tied.opening.area == pytest.approx(area, abs=1e-3)
    assert tied.visible.intersection(tied.opening).area < 1e-6


def test_deeper_sheets_open_less_behind_a_visible_tie(scenes: Scenes) -> None:
    """The middle sheet is open all around the front disc's tie; behind the tie itself it shows nothing."""
    stack = _tied(scenes, [box(0, 80, 100, 100)], [DISC])
    middle, front = stack.layers[1], stack.layers[2]
    (tie,) = front.ties
    assert middle.opening.intersection(tie.region).area < 1e-6
    assert stack.layers[0].visible.intersection(tie.region).area < 1e-6
    shown = [stack.bare, *(layer.visible for layer in stack.layers)]
    assert sum(region.area for region in shown) == pytest.approx(stack.panel.interior.area, abs=1e-3)
    for one, other in itertools.combinations(shown, 2):
        assert one.intersection(other).area < 1e-6


def test_ties_never_fill_pin_holes(scenes: Scenes) -> None:
    """An island beside each pin, and ties wide enough to reach into the frame as far as the pins."""
    settings = ("panel.pins=true", "islands.tie_width=9mm")
    pins = _tied(scenes, [], settings=settings).panel.pins
    beside = [Point(pin.centroid.x, 50).buffer(3) for pin in pins]
    layer = _tied(scenes, [Point(50, 50).buffer(20), *beside], settings=settings).layers[1]
    assert layer.ties
    for pin in pins:
        assert layer.wood.intersection(pin).area < 1e-9
        assert all(tie.region.intersection(pin).area == 0 for tie in layer.ties)


@pytest.mark.parametrize("width", [6, 8, 10])
def test_the_widest_tie_stays_within_the_rim(scenes: Scenes, width: float) -> None:
    made = scenes.make(scenes.drawing([scenes.ground()], [box(30, 30, 60, 60)]), TIE, f"islands.tie_width={width}mm")
    layer = made.stack.layers[1]
    assert layer.ties
    assert shapely.difference(layer.wood, made.stack.panel.outline).area < 1e-6
    assert made.proof.stack_mismatch_mm2 == 0


@pytest.mark.parametrize("corner", [4, 30, 50])
def test_round_panels_keep_their_opening_free_of_slivers(scenes: Scenes, corner: float) -> None:
    layer = _tied(
        scenes, [Point(50, 30).buffer(5)], settings=(f"panel.corner={corner}mm", "limits.slender=100")
    ).layers[1]
    assert layer.ties
    assert layer.wood.intersection(layer.opening).area < 1e-6


def test_policies_of_a_layer_and_of_a_piece(scenes: Scenes) -> None:
    layers = ([DISC, box(60, 60, 70, 70)], [Point(20, 70).buffer(4)])
    drawing = scenes.drawing([scenes.ground()], *layers)
    layer = scenes.stack(drawing, "islands.layers.l1.policy=tie", "limits.slender=100").layers
    assert (len(layer[1].islands), len(layer[2].islands)) == (0, 1)
    piece = scenes.stack(drawing, "islands.pieces.l1-2=tie", "limits.slender=100").layers[1]
    assert [island.id for island in piece.islands] == ["l1-1"]
    assert all(tie.region.distance(box(60, 60, 70, 70)) < 0.1 for tie in piece.ties)
    both = scenes.stack(
        drawing, TIE, "limits.slender=100", "islands.layers.l2.policy=loose", "islands.pieces.l1-1=refuse"
    ).layers
    assert [island.id for island in both[1].islands] == ["l1-1"]
    assert [piece.id for piece in both[2].loose] == ["l2-1"]


def test_an_opening_that_is_all_hidden_costs_nothing() -> None:
    strips = _find(DISC, opening=EMPTY)
    assert [strip.visible_mm2 for strip in strips] == [0.0]


def test_the_order_of_the_wood_doesn_t_matter() -> None:
    islands = [DISC, box(60, 60, 80, 64), Point(20, 60).buffer(4)]
    found = [{strip.line.wkt for strip in _find(*order)} for order in itertools.permutations(islands)]
    assert all(lines == found[0] for lines in found)
