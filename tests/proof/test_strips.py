"""Boards of strips: an honest one holds, and each harm to one is told."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import tampering as t
from builds import made_of
from slips import change_manifest, verified

from layercut.job import load_job
from layercut.output.contents import write_build
from layercut.pipeline import compile_drawing
from layercut.proof.verify import verify_folder

BOARD = "sheets/strips.svg"
SETTINGS = ("islands.policy=loose", "hanging.spacers=1", "hanging.spacer_from=strips", "panel.pins=blind")


@pytest.fixture(scope="module")
def glued(tmp_path_factory: pytest.TempPathFactory) -> Path:
    base = tmp_path_factory.mktemp("strips")
    (base / "garden.svg").write_text(t.GARDEN)
    write_build(made_of(compile_drawing(base / "garden.svg", load_job(None, SETTINGS))), base / "garden")
    return base / "garden"


@pytest.fixture
def board_folder(glued: Path, tmp_path: Path) -> Path:
    copy = tmp_path / "garden"
    for path in sorted(glued.rglob("*")):
        target = copy / path.relative_to(glued)
        if path.is_dir():
            target.mkdir(parents=True)
        else:
            target.parent.mkdir(parents=True, exist_ok=True)
            target.write_bytes(path.read_bytes())
    return copy


def test_an_honest_board_holds(glued: Path) -> None:
    verdict = verify_folder(glued)
    assert verdict.failures == ()
    (board,) = [sheet for sheet in verdict.sheets if sheet.file == BOARD]
    assert board.pieces_on_frame == 0
    assert [piece.id for piece in board.loose] == [f"strip {n}" for n in sorted(numbers(glued), key=order(glued))]
    assert verdict.proof.pieces_found == verdict.pieces_planned


def strips_of(folder: Path) -> list[dict[str, Any]]:
    document = json.loads((folder / "manifest.json").read_text())
    return [strip for sheet in document["sheets"] for strip in sheet["strips"]]


def numbers(folder: Path) -> list[int]:
    return [strip["number"] for strip in strips_of(folder)]


def order(folder: Path) -> Callable[[int], int]:
    return numbers(folder).index


@pytest.mark.parametrize(
    ("change", "code", "says"),
    [
        (t.without_path("cut-outline", -1), "piece-missing", "doesn't let strip"),
        (t.without_path("cut-outline", -1), "frame-differs", "of spacer"),
        (t.without_path("cut-opening", 0), "frame-differs", "holes where"),
        (t.twice("cut-outline"), "rim-differs", "one for each strip"),
        (t.with_path("cut-outline", "M100 90L108 90L108 93L100 93Z"), "piece-loose", "come loose"),
        (t.offset("cut-outline", 0.4), "frame-differs", "as its strips are glued"),
        (t.with_path("mark-line", "M10 3L20 3"), "mark-added", "marked lines"),
    ],
)
def test_a_harmed_board_is_told(board_folder: Path, change: t.Change, code: str, says: str) -> None:
    text = (board_folder / BOARD).read_text()
    assert change(text) != text
    problems = verified(board_folder, {BOARD: change(text)})
    assert any(one.code == code and one.file == BOARD and says in one.message for one in problems), problems


def board_of(document: dict[str, Any]) -> dict[str, Any]:
    return next(sheet for sheet in document["sheets"] if sheet["strips"])


@pytest.mark.parametrize(
    ("change", "code", "says"),
    [
        (lambda board: board["strips"][0].update(moved_mm=[5.0, 5.0]), "frame-differs", "of spacer"),
        (lambda board: board["strips"][0].update(turned_deg=33.0), "frame-differs", "of spacer"),
        (lambda board: board["strips"][0].update(spacer=2 + board["strips"][0]["spacer"]), "frame-differs", "lacks"),
        (lambda board: board["strips"].pop(), "piece-loose", "come loose"),
        (lambda board: board.update(copies=2), "manifest-differs", "a board of strips has one"),
    ],
)
def test_a_manifest_that_lays_strips_otherwise_is_told(
    board_folder: Path, change: Callable[[dict[str, Any]], object], code: str, says: str
) -> None:
    change_manifest(board_folder, lambda document: change(board_of(document)))
    problems = verify_folder(board_folder).failures
    assert any(one.code == code and says in one.message for one in problems), problems


def test_a_blind_front_has_no_pin_holes_and_the_others_have(glued: Path, board_folder: Path) -> None:
    counts = [(glued / f).read_text().count("<path") for f in ("sheets/02-hill.svg", "sheets/03-things.svg")]
    assert min(counts) > 0
    hole = (glued / "sheets/01-sky.svg").read_text()
    first = t.group_of(hole, "cut-opening").split('d="')[1].split('"')[0]
    front = (board_folder / "sheets/03-things.svg").read_text()
    problems = verified(board_folder, {"sheets/03-things.svg": t.with_path("cut-opening", first)(front)})
    assert any(one.code == "frame-differs" and "lacks" in one.message for one in problems), problems
