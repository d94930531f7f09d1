"""Loose pieces: what carries what, with contacts worked out by hand."""

from collections.abc import Sequence

import pytest
import shapely
from scenes import Scenes
from shapely import LineString, Point, Polygon, box
from shapely.geometry.base import BaseGeometry

from layercut.geometry.regions import EMPTY, Region
from layercut.model import LoosePiece, Shape, Stack
from layercut.stack.supports import Clearances, GluedPiece, SheetSupports, SupportPlan, find_supports

LOOSE = "islands.policy=loose"
CLEARANCES = Clearances(setback_mm=1.0, gap_mm=0.2)
SQUARE = box(40, 40, 60, 60)


def _plan(
    *pieces: GluedPiece,
    framed: Region = EMPTY,
    loose: tuple[GluedPiece, ...] = (),
    spare: tuple[Polygon, ...] = (),
    unseen: Region = EMPTY,
    contact: float = 20.0,
) -> SupportPlan:
    return find_supports(pieces, SheetSupports("back", framed, loose, spare, unseen), contact, CLEARANCES)


def _loose(scenes: Scenes, *layers: Sequence[Shape | BaseGeometry], settings: tuple[str, ...] = ()) -> Stack:
    return scenes.stack(scenes.drawing([scenes.ground()], *layers), LOOSE, *settings)


def _piece(stack: Stack, name: str) -> LoosePiece:
    return next(piece for layer in stack.layers for piece in layer.loose if piece.id == name)


def test_a_piece_on_framed_wood_touches_it_all_over() -> None:
    plan = _plan(GluedPiece("front#1", SQUARE), framed=box(0, 0, 100, 100))
    (support,) = plan.supports
    assert (support.piece, support.rests_on, support.contact_mm2) == ("front#1", "back", 400)
    assert plan.risers == plan.unsupported == ()


def test_what_a_piece_touches_counts_whatever_it_is_and_the_most_names_it() -> None:
    """15 mm2 of framed wood and 30 mm2 of a loose piece make 45, mostly the loose piece."""
    framed, other = box(40, 40, 41.5, 50), GluedPiece("back#2", box(50, 50, 53, 60))
    (support,) = _plan(GluedPiece("front#1", SQUARE), framed=framed, loose=(other,)).supports
    assert (support.rests_on, support.contact_mm2) == ("back#2", pytest.approx(45))


@pytest.mark.parametrize(("contact", "held"), [(19.9, True), (20.1, False)])
def test_a_piece_needs_the_job_s_contact(contact: float, held: bool) -> None:
    plan = _plan(GluedPiece("front#1", SQUARE), framed=box(40, 40, 60, 41), contact=contact)
    assert bool(plan.supports) == held
    assert bool(plan.unsupported) != held


@pytest.mark.parametrize(("share", "held"), [(0.39, False), (0.41, True)])
def test_two_fifths_of_a_small_piece_are_enough(share: float, held: bool) -> None:
    small = GluedPiece("front#1", box(40, 40, 42, 42))
    assert bool(_plan(small, framed=box(40, 40, 42, 40 + 2 * share)).supports) == held


def test_a_piece_over_nothing_is_not_carried_even_if_no_contact_is_asked_for() -> None:
    assert _plan(GluedPiece("front#1", SQUARE), framed=box(0, 0, 10, 10), contact=0.0).unsupported


def test_a_riser_is_hidden_by_its_piece_and_drawn_back() -> None:
    """Behind the square nothing is seen: the riser is the square less the setback of 1 mm all round."""
    (riser,) = _plan(GluedPiece("front#1", SQUARE), unseen=SQUARE).risers
    assert riser.id == "back#riser-1"
    assert riser.region.bounds == pytest.approx((41, 41, 59, 59))
    assert riser.region.area == pytest.approx(18 * 18)


@pytest.mark.parametrize(("side", "inset"), [(6.0, 1.0), (3.0, 0.5), (1.5, 0.25)])
def test_a_small_piece_hides_a_riser_that_is_drawn_back_less(side: float, inset: float) -> None:
    """Two fifths of a square of side s are needed: (s - 2 i)^2 > 0.4 s^2 for i of 1, 0.5 and 0.25 mm."""
    small = box(50, 50, 50 + side, 50 + side)
    (riser,) = _plan(GluedPiece("front#1", small), unseen=small).risers
    assert riser.region.area == pytest.approx((side - 2 * inset) ** 2, abs=1e-6)


def test_a_riser_keeps_a_cut_away_from_the_sheet_s_other_wood() -> None:
    framed = box(0, 0, 40.5, 100)
    (riser,) = _plan(GluedPiece("front#1", SQUARE), framed=framed, unseen=box(0, 0, 100, 100)).risers
    assert shapely.distance(riser.region, framed) == pytest.approx(CLEARANCES.gap_mm, abs=1e-6)


@pytest.mark.parametrize("gap", [0.0, 0.05, 0.19])
def test_spare_wood_that_becomes_a_riser_is_shaved_where_it_is_too_near(gap: float) -> None:
    framed, spare = box(0, 0, 41, 100), box(41 + gap, 41, 59, 59)
    (riser,) = _plan(GluedPiece("front#1", SQUARE), framed=framed, spare=(spare,), contact=100).risers
    assert shapely.distance(riser.region, framed) == pytest.approx(CLEARANCES.gap_mm, abs=1e-6)
    assert shapely.difference(riser.region, spare).area < 1e-9


def test_spare_wood_is_taken_before_new_wood_is_kept_and_once_only() -> None:
    spare = box(30, 30, 70, 70)
    plan = _plan(GluedPiece("a", box(35, 40, 45, 60)), GluedPiece("b", box(55, 40, 65, 60)), spare=(spare,))
    assert [riser.region for riser in plan.risers] == [spare]
    assert [support.rests_on for support in plan.supports] == ["back#riser-1"] * 2


def test_no_riser_where_framed_wood_serves() -> None:
    assert _plan(GluedPiece("a", SQUARE), framed=box(0, 0, 100, 45), unseen=SQUARE).risers == ()


def test_a_locator_lies_inside_the_piece_and_on_what_carries_it() -> None:
    framed = box(0, 0, 50, 100)
    plan = _plan(GluedPiece("front#1", SQUARE), framed=framed)
    lines = shapely.union_all(list(plan.locators))
    assert lines.within(SQUARE)
    assert lines.within(framed)
    assert lines.distance(SQUARE.exterior) == pytest.approx(0.6)
    # Down the left side at x 40.6, and along top and bottom to where the wood ends, 0.3 mm short of it.
    assert lines.length == pytest.approx(18.8 + 2 * (49.7 - 40.6), abs=0.01)


def test_a_piece_too_small_for_a_locator_has_none() -> None:
    assert _plan(GluedPiece("front#1", box(50, 50, 50.5, 50.5)), framed=box(0, 0, 100, 100)).locators == ()


def test_nothing_to_carry_is_nothing() -> None:
    assert _plan(framed=SQUARE) == SupportPlan((), (), (), ())


def test_a_chain_over_two_sheets_ends_at_framed_wood(scenes: Scenes) -> None:
    """The small disc on the large one, which floats, on the ground."""
    stack = _loose(scenes, [Point(50, 50).buffer(15, 64)], [Point(50, 50).buffer(5, 64)])
    small, large = _piece(stack, "l2-1"), _piece(stack, "l1-1")
    assert (small.rests_on, large.rests_on) == ("l1-1", "l0")
    assert small.contact_mm2 == pytest.approx(3.14159 * 25, rel=2e-3)
    assert large.contact_mm2 == pytest.approx(3.14159 * 225, rel=2e-3)
    assert not any(piece.riser for layer in stack.layers for piece in layer.loose)


def test_risers_fill_every_sheet_between_a_piece_and_the_ground(scenes: Scenes) -> None:
    """Two sheets show nothing but their frames behind the disc: each keeps a riser, one on the other."""
    band = box(0, 90, 100, 100)
    stack = _loose(scenes, [band], [band], [Point(50, 50).buffer(10)])
    assert [_piece(stack, name).rests_on for name in ("l3-1", "l2#riser-1", "l1#riser-1")] == [
        "l2#riser-1",
        "l1#riser-1",
        "l0",
    ]
    for name in ("l2#riser-1", "l1#riser-1"):
        riser = _piece(stack, name)
        assert riser.riser
        # The hidden ground behind the disc, drawn back by 1 mm from what must be open.
        assert riser.region.area == pytest.approx(3.14159 * 81, rel=0.03)
        assert riser.region.within(Point(50, 50).buffer(9.01))


def test_where_the_sheet_behind_is_framed_there_is_no_riser(scenes: Scenes) -> None:
    stack = _loose(scenes, [box(0, 0, 100, 60)], [Point(50, 50).buffer(8)])
    assert [piece.rests_on for piece in stack.layers[2].loose] == ["l1"]
    assert stack.layers[1].loose == ()


def test_locators_are_covered_by_the_piece(scenes: Scenes) -> None:
    stack = _loose(scenes, [Point(50, 50).buffer(15)], [Point(50, 50).buffer(5)])
    for layer, front in zip(stack.layers, stack.layers[1:], strict=False):
        cover = shapely.union_all([piece.region for piece in front.loose])
        lines = shapely.union_all(list(layer.locators))
        assert lines.length > 10
        assert lines.within(cover.buffer(-0.25))
        assert lines.within(layer.wood)


def test_a_piece_that_nothing_can_carry_is_a_finding(scenes: Scenes) -> None:
    """A sliver of 0.4 mm can't hide a riser in the open sheet behind it."""
    stack = _loose(scenes, [box(0, 90, 100, 100)], [box(30, 50, 60, 50.3)])
    found = [finding for finding in stack.findings if finding.severity == "error"]
    assert [(finding.code, finding.layer) for finding in found] == [("unsupported-piece", "l2")]
    assert found[0].size_mm == (30, 0.3)


def test_ids_are_stable_under_small_edits(scenes: Scenes) -> None:
    """Moving another shape, adding one at the end and changing a shape's outline leave a setting where it was."""
    first, second, third = box(20, 20, 30, 30), box(50, 50, 60, 60), box(70, 20, 80, 30)
    edits = [
        [first, second, third],
        [box(15, 70, 25, 80), second, third],
        [first, second, third, box(15, 50, 20, 55)],
        [first, Point(56, 54).buffer(7), third],
        [box(0, 20, 30, 30), second, third],
    ]
    for shapes in edits:
        stack = scenes.stack(scenes.drawing([scenes.ground()], shapes), "islands.pieces.l1-2=loose")
        (piece,) = stack.layers[1].loose
        assert piece.id == "l1-2"
        assert piece.region.intersects(second)


def test_marks_of_a_loose_piece_need_no_policy(scenes: Scenes) -> None:
    line = scenes.shape(LineString([(45, 50), (55, 50)]), "mark-line")
    assert [piece.id for piece in _loose(scenes, [Point(50, 50).buffer(10), line]).layers[1].loose] == ["l1-1"]
