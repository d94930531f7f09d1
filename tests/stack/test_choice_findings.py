"""What is said about choices: what was done, what it costs, what came next, and what is too small to handle."""

import pytest
from shapely import Point, box

from layercut.findings import Finding
from layercut.geometry.regions import EMPTY
from layercut.model import Choice, Guest, LoosePiece, Price, StackLayer, Tie, WayOut
from layercut.stack.choice_findings import choice_findings, small_findings

LEAF = box(20, 20, 27, 24)
WAYS = (Price("tie", 2.4), Price("loose", None, "nothing lies behind it"), Price("behind", 6.1), Price("out", 20.0))


def _choice(chosen: WayOut | None, ways: tuple[Price, ...] = WAYS, own: bool = False) -> Choice:
    return Choice("leaf", "path 'leaf'", 1, LEAF, chosen, ways, own, ("leaf",))


def _layer(name: str, *choices: Choice, ties: tuple[Tie, ...] = (), given: tuple[Guest, ...] = ()) -> StackLayer:
    return StackLayer(name, EMPTY, EMPTY, EMPTY, EMPTY, EMPTY, (), choices=choices, ties=ties, given=given)


def _found(choice: Choice, ties: tuple[Tie, ...] = (), given: tuple[Guest, ...] = ()) -> list[Finding]:
    layers = [_layer("sky"), _layer("roses", choice, ties=ties, given=given)]
    return list(choice_findings(layers, 2.4, 2.4))


def _tie(length_mm: float, holds: str = "leaf") -> Tie:
    return Tie((0.0, 0.0), 1.5, 1.0, EMPTY, holds, length_mm)


def test_a_tie_is_told_with_its_length_and_what_came_next() -> None:
    (found,) = _found(_choice("tie"), ties=(_tie(3.7), _tie(9.0, "bird")))
    assert (found.code, found.severity, found.layer, found.element) == ("chosen", "info", "roses", "path 'leaf'")
    assert found.message == (
        "leaf, 7.0 x 4.0 mm of wood that would fall out, is tied by a strip 3.7 mm long: 2.4 mm² of what a viewer "
        'sees. Next best is painted behind, 6.1 mm²; to have that, write [islands.pieces] "leaf" = "behind".'
    )


def test_two_ties_are_told_with_both_lengths_the_shorter_first() -> None:
    (found,) = _found(_choice("tie"), ties=(_tie(5.0), _tie(2.5)))
    assert "tied by 2 strips 2.5 and 5.0 mm long" in found.message


def test_what_is_painted_behind_is_told_with_the_sheet_that_shows_it() -> None:
    (found,) = _found(_choice("behind"), given=(Guest("leaf", "path 'leaf'", LEAF, 1, 0),))
    assert "is painted on sky behind it: 6.1 mm²" in found.message
    assert "Next best is tied, 2.4 mm²" in found.message


def test_what_is_left_out_is_a_warning() -> None:
    (found,) = _found(_choice("out"))
    assert found.severity == "warning"


def test_where_there_is_no_other_way_it_says_how_to_refuse() -> None:
    (found,) = _found(_choice("out", (Price("tie", None, "no strip joins it"), Price("out", 20.0))))
    assert found.message.endswith(
        'There is no other way; draw it otherwise, or refuse it: [islands.pieces] "leaf" = "refuse".'
    )


@pytest.mark.parametrize("choice", [_choice(None), _choice("tie", own=True), _choice("tie", ())])
def test_what_the_maker_said_or_nobody_chose_needs_no_word(choice: Choice) -> None:
    assert _found(choice) == []


@pytest.mark.parametrize(("bound_mm2", "told"), [(2.4, False), (2.4 * (1 - 1e-9), False), (1.5, True)])
def test_that_a_better_choice_might_exist_is_told_once(bound_mm2: float, told: bool) -> None:
    layers = [_layer("sky"), _layer("roses", _choice("tie"))]
    _, *more = choice_findings(layers, 2.4, bound_mm2)
    assert [finding.layer for finding in more] == (["roses"] if told else [])
    assert all("no other one can do with less than 1.5 mm²" in finding.message for finding in more)


def _piece(width_mm: float, riser: bool = False) -> LoosePiece:
    return LoosePiece("leaf", Point(20, 20).buffer(width_mm / 2), (20.0, 20.0), "sky", 9.0, riser, (), width_mm)


@pytest.mark.parametrize(
    ("piece", "own", "told"),
    [
        (_piece(3.9), True, True),
        (_piece(4.0), True, False),
        (_piece(3.9), False, False),  # layercut chose it: that it is large enough was looked after
        (_piece(3.9, riser=True), False, True),
    ],
)
def test_a_piece_too_small_to_handle_is_told_where_the_maker_wants_it(
    piece: LoosePiece, own: bool, told: bool
) -> None:
    found = list(small_findings("roses", [piece], [_choice("loose", own=own)], 4.0))
    assert [finding.code for finding in found] == (["piece-small"] if told else [])
    assert all(f"{piece.width_mm:.1f} mm across; limits.piece is 4 mm" in finding.message for finding in found)
