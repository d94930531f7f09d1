"""The manifest held against itself: one that a compile wrote, and one figure of it changed at a time."""

import json
from collections.abc import Callable
from typing import Any

import pytest
from slips import Honest

from layercut.errors import DrawingError
from layercut.proof.ledger import Manifest, check_manifest, map_name, read_manifest

Document = dict[str, Any]


@pytest.fixture
def document(honest: Honest) -> Document:
    made: Document = json.loads((honest.folder / "manifest.json").read_text())
    return made


def read(document: object) -> Manifest:
    return read_manifest(json.dumps(document), "out")


def test_what_a_compile_writes_agrees_with_itself(document: Document) -> None:
    assert list(check_manifest(read(document))) == []


def test_layers_are_the_sheets_with_maps(document: Document) -> None:
    manifest = read(document)
    assert [map_name(file) for file in manifest.layers] == [
        one["file"] for one in document["files"] if one["file"].startswith("paint/")
    ]
    assert manifest.colours["mark-area"] == document["roles"]["mark_area"]


def _set(*path: str | int, to: object) -> Callable[[Document], None]:
    def change(document: Any) -> None:
        for step in path[:-1]:
            document = document[step]
        assert document[path[-1]] != to
        document[path[-1]] = to

    return change


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (_set("work", "hanging", "spacers", to=99), "says 99 spacers to hang on"),
        (_set("work", "material", "panels", to=99), "says 99 panels of wood"),
        (_set("work", "hanging", "depth_mm", to=1.0), "says a stack 1 mm deep"),
        (_set("work", "hanging", "mass_g", to=1.0), "says a mass of 1 g"),
        (_set("work", "times", "sheets", 0, "copies", to=7), "reckons the time of 7"),
        (_set("proof", "pieces_found", to=99), "says that 99 pieces were found"),
        (_set("proof", to=None), "has sheets without their proof"),
        (_set("work", to=None), "has sheets without their work"),
        (_set("sheets", 0, "copies", to=2), "where a layer has one"),
        (_set("sheets", 0, "kind", to="spacer"), "behind a spacer"),
        (_set("sheets", 1, "file", to="sheets/01-sky.svg"), "names the sheet sheets/01-sky.svg twice"),
        (_set("files", 0, "file", to="sheets/other.svg"), "is no file of its sheets"),
        (_set("roles", "mark_line", to="#000"), "can't tell apart"),
    ],
)
def test_a_figure_that_hangs_together_with_others_is_told(
    document: Document, change: Callable[[Document], None], words: str
) -> None:
    if "tell apart" in words:
        document["roles"]["mark_area"] = "#000000"
    change(document)
    told = list(check_manifest(read(document)))
    assert {one.code for one in told} == {"manifest-differs"}
    assert any(words in one.message for one in told), [one.message for one in told]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("{", "a manifest.json that isn't one"),
        ("[" * 100_000, "a manifest.json that isn't one"),
        ("{}", "can't be"),
    ],
)
def test_what_is_no_manifest(text: str, words: str) -> None:
    with pytest.raises(DrawingError, match=words) as caught:
        read_manifest(text, "out")
    assert caught.value.code == "folder-unreadable"


@pytest.mark.parametrize(
    "change",
    [
        _set("format", to=2),
        _set("material", "thickness_mm", to=0),
        _set("sheets", 0, "file", to="sheets/../../etc.svg"),
        _set("files", 0, "file", to="paint/../a.svg"),
        _set("files", 0, "sha256", to="ABC"),
        _set("sheets", 0, "copies", to=-1),
    ],
)
def test_a_manifest_of_another_kind_is_refused(document: Document, change: Callable[[Document], None]) -> None:
    change(document)
    with pytest.raises(DrawingError):
        read(document)
