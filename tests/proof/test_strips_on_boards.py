"""Strips on boards: an honest folder holds, and each harm to a strip is told."""

import json
import shutil
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import tampering as t
from marked_scenes import write_build
from slips import change_manifest, verified

from layercut.job import load_job
from layercut.pipeline import compile_drawing
from layercut.proof.verify import verify_folder

Document = dict[str, Any]
SETTINGS = (
    "islands.policy=loose",
    "hanging.spacers=3",
    "hanging.spacer_from=strips",
    "material.stock_width=600mm",
    "material.stock_height=400mm",
)
BOARD, STRIPS = "boards/01.svg", "sheets/strips-"


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    root = tmp_path_factory.mktemp("strips-on-boards")
    (root / "garden.svg").write_text(t.GARDEN)
    write_build(compile_drawing(root / "garden.svg", load_job(None, SETTINGS)), root / "made")
    return root / "made"


@pytest.fixture
def folder(whole: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(whole, tmp_path / "made"))


def test_an_honest_folder_names_each_strip_once_and_holds(whole: Path) -> None:
    document = json.loads((whole / "manifest.json").read_text())
    sheets = [one for one in document["sheets"] if one["strips"]]
    parts = [part for board in document["boards"] for part in board["parts"] if part["sheet"].startswith(STRIPS)]
    numbers = [strip["number"] for sheet in sheets for strip in sheet["strips"]]
    assert [sheet["file"] for sheet in sheets] == [f"{STRIPS}{k}.svg" for k in (1, 2)]
    assert len(numbers) == 12
    assert Counter(part["piece"] for part in parts) == Counter(f"strip {number}" for number in numbers)
    assert verify_folder(whole).failures == ()


@pytest.mark.parametrize(
    ("change", "code"),
    [
        (t.without_path("cut-outline", -1), "part-missing"),
        (t.with_path("cut-outline", "M500 380L540 380L540 386L500 386Z"), "part-added"),
    ],
)
def test_a_harmed_board_is_told(folder: Path, change: t.Change, code: str) -> None:
    text = (folder / BOARD).read_text()
    assert change(text) != text
    assert any(one.code == code and one.file == BOARD for one in verified(folder, {BOARD: change(text)}))


def test_a_strip_cut_shorter_on_its_board_is_told(folder: Path) -> None:
    """The rim of one strip, two millimetres shorter at its right end."""
    text = (folder / BOARD).read_text()
    rims = t.group_of(text, "cut-outline").split('d="')[1:]
    strip = next(rim.split('"')[0] for rim in rims if height_of(rim.split('"')[0]) < 30)
    right = max(xs_of(strip))
    shorter = strip.replace(f"{right:g} ", f"{right - 2:g} ")
    assert shorter != strip
    problems = verified(folder, {BOARD: text.replace(strip, shorter)})
    assert [one.code for one in problems] == ["part-differs"]
    assert "strip " in problems[0].message


def pairs_of(path: str) -> list[list[float]]:
    return [[float(v) for v in pair.split()] for pair in path.strip("MZ").replace("L", "\n").splitlines()]


def xs_of(path: str) -> list[float]:
    return [pair[0] for pair in pairs_of(path)]


def height_of(path: str) -> float:
    if "C" in path:
        return 1e9
    ys = [pair[1] for pair in pairs_of(path)]
    return max(ys) - min(ys)


def strip_parts(document: Document) -> list[Document]:
    return [part for board in document["boards"] for part in board["parts"] if part["sheet"].startswith(STRIPS)]


def removed(document: Document) -> None:
    for board in document["boards"]:
        for part in board["parts"]:
            if part["sheet"].startswith(STRIPS):
                board["parts"].remove(part)
                return


@pytest.mark.parametrize(
    ("change", "codes"),
    [
        (removed, {"part-missing", "part-added", "manifest-differs"}),
        (lambda document: document["boards"][0]["parts"].append(strip_parts(document)[0]), {"part-twice"}),
        (lambda document: strip_parts(document)[0].update(piece="strip 99"), {"part-missing", "manifest-differs"}),
        (
            lambda document: strip_parts(document)[0].update(piece=strip_parts(document)[1]["piece"]),
            {"part-missing", "part-twice"},
        ),
        (lambda document: strip_parts(document)[0].update(piece=None), {"part-twice", "part-missing"}),
        (lambda document: strip_parts(document)[0].update(at_mm=[3.0, 3.0]), {"part-missing", "part-added"}),
    ],
)
def test_a_manifest_that_says_otherwise(folder: Path, change: Callable[[Document], object], codes: set[str]) -> None:
    change_manifest(folder, change)
    assert codes <= {one.code for one in verify_folder(folder).failures}
