"""A compiled folder with boards: `layercut verify` passes it, and tells what is done to it."""

import hashlib
import json
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from marked_scenes import write_build
from tampering import GARDEN, SETTINGS

from layercut.job import load_job
from layercut.pipeline import compile_drawing
from layercut.proof.verify import verify_folder

Document = dict[str, Any]
BOARD = "boards/01.svg"


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    root = tmp_path_factory.mktemp("boards")
    drawing = root / "garden.svg"
    drawing.write_text(GARDEN)
    stock = ("material.stock_width=380mm", "material.stock_height=215mm")
    folder = root / "made"
    write_build(compile_drawing(drawing, load_job(None, (*SETTINGS, *stock))), folder)
    return folder


@pytest.fixture
def folder(whole: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(whole, tmp_path / "made"))


def codes(folder: Path) -> set[str]:
    return {problem.code for problem in verify_folder(folder).failures}


def test_an_honest_folder_holds(folder: Path) -> None:
    assert (folder / BOARD).is_file()
    assert codes(folder) == set()


def test_a_board_that_is_gone_or_strange(folder: Path) -> None:
    (folder / "boards" / "09.svg").write_bytes((folder / BOARD).read_bytes())
    assert codes(folder) == {"sheet-unknown"}
    (folder / "boards" / "09.svg").unlink()
    (folder / BOARD).write_text((folder / BOARD).read_text() + "\n")
    assert codes(folder) == {"file-changed"}
    (folder / BOARD).unlink()
    assert codes(folder) == {"board-missing"}


def test_a_board_that_is_changed_with_its_hash(folder: Path) -> None:
    text = (folder / BOARD).read_text().replace("#009E73", "#E69F00")
    (folder / BOARD).write_text(text)
    document = json.loads((folder / "manifest.json").read_text())
    for one in document["files"]:
        if one["file"] == BOARD:
            one["sha256"] = hashlib.sha256(text.encode()).hexdigest()
    (folder / "manifest.json").write_text(json.dumps(document))
    assert codes(folder) == {"role-differs"}


ROWS: list[tuple[str, Callable[[Document], object], set[str]]] = [
    ("another share", lambda d: d["boards"][0].update(waste_share=0.9), {"manifest-differs"}),
    ("no plan", lambda d: d.update(board_plan=None), {"manifest-differs"}),
    ("a part of no sheet", lambda d: d["boards"][0]["parts"][0].update(sheet="sheets/77.svg"), {"manifest-differs"}),
    ("a spare of no piece", lambda d: d["boards"][0]["parts"][-1].update(piece="ghost"), {"manifest-differs"}),
    ("a part elsewhere", lambda d: d["boards"][0]["parts"][0].update(at_mm=[9.0, 9.0]), {"part-differs"}),
    ("a part turned", lambda d: d["boards"][0]["parts"][0].update(turned_deg=180), {"part-missing"}),
    ("a part twice", lambda d: d["boards"][0]["parts"].append(d["boards"][0]["parts"][0]), {"part-twice"}),
    ("a wider gap", lambda d: d["board_plan"].update(gap_mm=2.5), {"parts-close"}),
    ("a larger board", lambda d: d["boards"][0].update(width_mm=400), {"board-damaged"}),
]


@pytest.mark.parametrize(("change", "told"), [row[1:] for row in ROWS], ids=[row[0] for row in ROWS])
def test_a_manifest_that_says_otherwise(folder: Path, change: Callable[[Document], object], told: set[str]) -> None:
    document = json.loads((folder / "manifest.json").read_text())
    change(document)
    (folder / "manifest.json").write_text(json.dumps(document))
    assert told <= codes(folder)
