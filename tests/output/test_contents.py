"""What a compiled folder holds, with and without sheets."""

import hashlib
import json
from pathlib import Path

import pytest
from builds import build_made
from scenes import Scenes
from shapely import box

from layercut.errors import OutputError
from layercut.findings import Finding
from layercut.model import Made, Planned
from layercut.output.contents import folder_files, map_files, sheet_files, write_build

PAGES = {"manifest.json", "stack.png", "stack.svg", "traveller.html"}


@pytest.fixture(scope="module")
def made(scenes: Scenes) -> Made:
    """A ground and a hill before it."""
    run = scenes.make(scenes.drawing([scenes.ground()], [box(0, 60, 100, 100)]))
    return build_made(run.drawing, run.stack, run.sheets, run.job, run.findings, proof=run.proof)


@pytest.fixture
def refused(made: Made) -> Planned:
    island = Finding("island", "error", "falls out.", "l1", at_mm=(50.0, 50.0))
    return Planned(made.drawing, made.job, made.stack, (island,))


def test_a_sheet_and_a_map_for_each_layer_and_a_hash_of_each_file(made: Made) -> None:
    files = folder_files(made)
    assert {*files} == {*PAGES, *sheet_files(made), *map_files(made)}
    assert [*map_files(made)] == [file.replace("sheets/", "paint/") for file in sheet_files(made)][:2]
    named = {one["file"]: one["sha256"] for one in json.loads(files["manifest.json"])["files"]}
    assert named == {
        name: hashlib.sha256(data).hexdigest() for name, data in files.items() if name != "manifest.json"
    }


def test_what_cannot_be_made_has_its_pages_and_no_sheet(refused: Planned) -> None:
    assert (sheet_files(refused), map_files(refused)) == ({}, {})
    assert {*folder_files(refused)} == PAGES


def test_the_same_build_gives_the_same_bytes(made: Made) -> None:
    assert folder_files(made) == folder_files(made)


def test_a_folder_is_written_whole_replaced_and_never_over_the_drawing(
    made: Made, refused: Planned, tmp_path: Path
) -> None:
    folder = tmp_path / "out"
    assert write_build(made, folder) is None
    assert write_build(refused, folder) is None
    assert {path.name for path in folder.rglob("*") if path.is_file()} == PAGES
    with pytest.raises(OutputError):
        write_build(made, folder, inputs=[folder / "house.svg"])


def test_a_folder_that_was_changed_is_set_aside_when_that_is_asked_for(made: Made, tmp_path: Path) -> None:
    folder = tmp_path / "out"
    write_build(made, folder)
    (folder / "notes.txt").write_text("mine")
    with pytest.raises(OutputError):
        write_build(made, folder)
    aside = write_build(made, folder, keep_old=True)
    assert aside is not None
    assert (aside / "notes.txt").read_text() == "mine"
    assert not (folder / "notes.txt").exists()
