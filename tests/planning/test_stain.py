"""What is stained by name, what is drawn over it, and names that mean nothing."""

import pytest
from scenes import Scenes
from shapely import box

from layercut.model import Called, Drawing, Layer, Shape
from layercut.planning.stain import is_stained, stain_findings, stained_part


@pytest.mark.parametrize("name", ["Name-Board", "name board", "nameboard", "Name-Board 2", "NAME_BOARD left"])
def test_a_name_counts_by_its_letters_and_with_words_behind_it(scenes: Scenes, name: str) -> None:
    assert is_stained(scenes.layer([scenes.ground()], name), ["name board"])


@pytest.mark.parametrize("name", ["boards", "my name board", "name boarding", "name", "", "-"])
def test_other_names_do_not(scenes: Scenes, name: str) -> None:
    assert not is_stained(scenes.layer([scenes.ground()], name), ["name board", "", "-"])


def board(scenes: Scenes, *later: Shape) -> Layer:
    named = scenes.shape(box(10, 10, 50, 20), called=Called("rect", ident="board"))
    return scenes.layer([scenes.shape(box(0, 0, 100, 30)), named, *later])


def test_what_is_drawn_over_a_stained_element_is_not_stained(scenes: Scenes) -> None:
    assert stained_part(board(scenes), ["board"]).equals(box(10, 10, 50, 20))
    over = scenes.shape(box(40, 0, 60, 30))
    assert stained_part(board(scenes, over), ["board"]).equals(box(10, 10, 40, 20))
    mark = scenes.shape(box(40, 0, 60, 30), "mark-area")
    assert stained_part(board(scenes, mark), ["board"]).equals(box(10, 10, 50, 20))
    assert stained_part(board(scenes), ["roof"]).is_empty


def test_a_name_that_nothing_bears_is_told_with_the_nearest(scenes: Scenes) -> None:
    drawing = Drawing("a.svg", "0" * 64, 100.0, 100.0, (board(scenes),))
    assert list(stain_findings(drawing, ["board", "LEAF"])) == []
    (finding,) = stain_findings(drawing, ["baord"])
    assert (finding.code, finding.severity, finding.element) == ("name-unmatched", "warning", "baord")
    assert "board" in finding.message.partition("is called so")[2]
