"""Manifests, paint maps and files that aren't what was written: `layercut verify` tells each."""

import json
import re
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import tampering as t
from coloraide import Color
from slips import (
    HILL,
    MANIFEST,
    MAP,
    SPACER,
    THINGS,
    Honest,
    Slip,
    change_manifest,
    changed,
    slips,
    told,
    verified,
)

from layercut.errors import DrawingError
from layercut.output.contents import sheet_files
from layercut.proof.check import check_sheets
from layercut.proof.failures import FAILURES
from layercut.proof.verify import verify_folder

Document = dict[str, Any]


def sheet(number: int, **figures: object) -> Callable[[Document], None]:
    """Other figures for one sheet; 3 is the spacer."""
    return lambda document: document["sheets"][number].update(figures)


def work(part: str, **figures: object) -> Callable[[Document], None]:
    """Other figures for a part of the work."""
    return lambda document: document["work"][part].update(figures)


def merged(colour: str, said: float | None, place: int = 0) -> Callable[[Document], None]:
    """A colour that a paint is said to stand for, and how far it is said to be off; None for the truth."""

    def change(document: Document) -> None:
        paint = document["work"]["paint"]["colours"][place]
        truth = Color(colour).delta_e(Color(paint["colour"]), method="2000")
        paint["merged"].append({"colour": colour, "difference": round(truth, 2) if said is None else said})

    return change


def unnamed(name: str) -> Callable[[Document], None]:
    """A file left out of those that have a hash."""
    return lambda document: document.update(files=[one for one in document["files"] if one["file"] != name])


MANIFESTS: list[tuple[str, Callable[[Document], object], str, str, str]] = [
    ("a layer to cut twice", sheet(1, copies=2), "manifest-differs", MANIFEST, f"2 copies of {HILL}"),
    ("a spacer too many", sheet(3, copies=9), "manifest-differs", MANIFEST, "spacers to hang on, and 9 to cut"),
    ("no spacer", sheet(3, copies=0), "manifest-differs", MANIFEST, f"no copy of {SPACER}"),
    ("spacers to hang on", work("hanging", spacers=7), "manifest-differs", MANIFEST, "says 7 spacers to hang on"),
    ("a layer that is a spacer", sheet(1, kind="spacer"), "manifest-differs", MANIFEST, "a layer's sheet behind"),
    (
        "thicker wood",
        lambda document: document["material"].update(thickness_mm=6.0),
        "manifest-differs",
        MANIFEST,
        "sheets of 6 mm make",
    ),
    ("a deeper stack", work("hanging", depth_mm=40.0), "manifest-differs", MANIFEST, "a stack 40 mm deep"),
    ("a lighter picture", work("hanging", mass_g=10.0), "manifest-differs", MANIFEST, "a mass of 10 g"),
    ("denser wood", work("hanging", density_kg_m3=900.0), "manifest-differs", MANIFEST, "where its wood makes"),
    ("more wood", sheet(1, wood_mm2=9999.0), "manifest-differs", MANIFEST, "where its wood makes"),
    ("panels to buy", work("material", panels=1), "manifest-differs", MANIFEST, "says 1 panels"),
    (
        "copies in the times",
        lambda document: document["work"]["times"]["sheets"][3].update(copies=9),
        "manifest-differs",
        MANIFEST,
        "the time of 9 of 'spacer'",
    ),
    (
        "a sheet without its time",
        lambda document: document["work"]["times"]["sheets"].pop(),
        "manifest-differs",
        MANIFEST,
        "the time of 3 sheets where there are 4",
    ),
    (
        "a colour far from its pot, said to be near",
        merged("#ff0000", 1.2),
        "pots-differ",
        MANIFEST,
        "where 1.20 is said",
    ),
    ("a colour far from its pot", merged("#ff0000", None), "pots-differ", MANIFEST, "where 2 may be"),
    (
        "a colour from two pots",
        lambda document: [merged("#123456", 0.0, place)(document) for place in (0, 1)],
        "manifest-differs",
        MANIFEST,
        "paints #123456 from two pots",
    ),
    (
        "a colour with a pot that is painted from another",
        lambda document: merged(document["work"]["paint"]["colours"][1]["colour"], 0.0)(document),
        "manifest-differs",
        MANIFEST,
        "from the pot of another colour",
    ),
    (
        "more pots than the job has",
        lambda document: [
            work("paint", most=1)(document),
            *(merged(f"#12345{place}", None, place)(document) for place in (0, 1)),
        ],
        "pots-differ",
        MANIFEST,
        "shares 2 pots",
    ),
    (
        "a paint that no map shows",
        lambda document: document["work"]["paint"]["colours"][0].update(colour="#123456"),
        "manifest-differs",
        MANIFEST,
        "which no paint map shows",
    ),
    (
        "a paint that the manifest has not",
        lambda document: document["work"]["paint"]["colours"][0].update(colour="#123456"),
        "paint-damaged",
        MAP.replace("02-hill", "01-sky"),
        "which the manifest has not",
    ),
    (
        "paints without a number",
        lambda document: document["work"]["paint"]["colours"][0].update(number=7),
        "manifest-differs",
        MANIFEST,
        "number its paints",
    ),
    ("no work", lambda document: document.update(work=None), "manifest-differs", MANIFEST, "without their work"),
    ("no proof", lambda document: document.update(proof=None), "manifest-differs", MANIFEST, "without their proof"),
    (
        "a piece that wasn't found",
        lambda document: document["proof"].update(pieces_found=2),
        "manifest-differs",
        MANIFEST,
        "2 pieces were found",
    ),
    (
        "one colour for two roles",
        lambda document: document["roles"].update(mark_line="#009e73"),
        "manifest-differs",
        MANIFEST,
        "can't tell apart",
    ),
    (
        "roles in each other's colours",
        lambda document: document["roles"].update(mark_line="#009E73", cut_opening="#CC79A7"),
        "role-differs",
        HILL,
        "the colour of cut-opening",
    ),
    ("a sheet without a hash", unnamed(HILL), "manifest-differs", MANIFEST, f"doesn't name {HILL}"),
    ("a map without a hash", unnamed(MAP), "manifest-differs", MANIFEST, f"doesn't name {MAP}"),
    ("a picture without a hash", unnamed("stack.png"), "manifest-differs", MANIFEST, "doesn't name stack.png"),
    ("a page without a hash", unnamed("traveller.html"), "manifest-differs", MANIFEST, "doesn't name traveller.html"),
    (
        "a file that no sheet has",
        lambda document: document["files"].append({"file": "sheets/09.svg", "sha256": "0" * 64}),
        "manifest-differs",
        MANIFEST,
        "names sheets/09.svg",
    ),
    (
        "a file named twice",
        lambda document: document["files"].append(document["files"][0]),
        "manifest-differs",
        MANIFEST,
        "twice",
    ),
    (
        "a sheet named twice",
        lambda document: document["sheets"].insert(1, document["sheets"][1]),
        "manifest-differs",
        MANIFEST,
        f"the sheet {HILL} twice",
    ),
    (
        "another hash",
        lambda document: document["files"][0].update(sha256="0" * 64),
        "file-changed",
        MAP.replace("02-hill", "01-sky"),
        "SHA-256",
    ),
    (
        "a sheet that isn't named",
        lambda document: document["sheets"].pop(1),
        "sheet-unknown",
        HILL,
        "not named by the manifest",
    ),
    (
        "another kerf",
        lambda document: document["material"].update(kerf_mm=0.6),
        "picture-differs",
        HILL,
        "mm2",
    ),
    (
        "another panel",
        lambda document: document["panel"].update(width_mm=130.0),
        "size-differs",
        HILL,
        "where the panel is 130 x 100",
    ),
    (
        "another frame",
        lambda document: document["panel"].update(frame_mm=9.0),
        "manifest-differs",
        MANIFEST,
        "a frame 9 mm wide",
    ),
    ("longer cuts", sheet(1, cut_mm=999.0), "length-differs", HILL, "shorter than the manifest says"),
    ("longer marks", sheet(1, mark_mm=999.0), "length-differs", HILL, "shorter than the manifest says"),
    ("larger marks", sheet(1, mark_mm2=999.0), "paint-damaged", MAP, "the 999 mm2 of the manifest"),
    (
        "a larger loose piece",
        lambda document: document["sheets"][2]["loose"][0].update(area_mm2=100.0),
        "piece-differs",
        THINGS,
        "where 100.00 are planned",
    ),
    ("no loose piece", sheet(2, loose=[]), "piece-loose", THINGS, "that the manifest doesn't name"),
    (
        "a tie elsewhere",
        lambda document: document["sheets"][2]["ties"][0].update(at_mm=[60.0, 20.0]),
        "tie-missing",
        THINGS,
        "of a tie",
    ),
]

MAPS = [
    *slips(
        "paint-damaged",
        MAP,
        (
            "a map moved",
            t.swap("<path data-paint", '<path transform="scale(2)" data-paint'),
            "'transform' on the <path>",
        ),
        ("a map with a style", t.swap("</title>", "</title><style/>"), "<style> in the map"),
        ("a map with a DOCTYPE", t.swap("<svg", "<!DOCTYPE svg><svg"), "DOCTYPE"),
        ("a paint in another's colour", t.swap('fill="#5d402d"', 'fill="#ff0000"'), "paint #5d402d in #ff0000"),
        ("a map that isn't a map", lambda _text: "<svg/>", "in the document"),
        (
            "a map without its tolerance",
            t.swap("data-tolerance-mm", "data-tolerance"),
            "'data-tolerance' on the <svg>",
        ),
        ("a map of another panel", t.swap('width="120mm"', 'width="130mm"'), "viewBox"),
        ("a map without marked areas", lambda text: t.without_map_marks(text, "mark-area"), "of the manifest by"),
    ),
    *slips(
        "mark-added",
        HILL,
        ("a map without marked lines", lambda text: t.without_map_marks(text, "mark-line"), "mm of marked lines"),
        ("a map without marks", lambda text: t.without_map_marks(text, ""), "mm of marked lines"),
    ),
    *slips(
        "paint-damaged",
        "paint",
        ("paint left out", lambda text: re.sub(r'<path data-paint="#5d402d"[^>]*/>', "", text), "mm2 unsaid"),
        (
            "paint said twice",
            t.swap("<path", '<path data-paint="#000000" fill="#000000" d="M10 10L20 10L20 20Z"/><path'),
            "mm2 twice",
        ),
    ),
]


def test_the_folder_has_everything_and_holds(honest: Honest) -> None:
    kinds = [(sheet.kind, sheet.file) for sheet in honest.build.sheets]
    assert kinds == [("layer", "sheets/01-sky.svg"), ("layer", HILL), ("layer", THINGS), ("spacer", SPACER)]
    _, hill, things, spacer = honest.build.sheets
    assert [len(area.interiors) for area in hill.mark_areas] == [1, 0]
    assert len(hill.mark_lines) >= 3
    assert things.ties
    assert things.loose
    assert spacer.copies >= 2
    assert verify_folder(honest.folder).failures == ()
    assert check_sheets(sheet_files(honest.build), honest.plan).failures == ()


@pytest.mark.parametrize(
    ("how", "code", "file", "says"), [row[1:] for row in MANIFESTS], ids=[r[0] for r in MANIFESTS]
)
def test_a_manifest_that_was_changed_is_told(
    how: Callable[[Document], object], code: str, file: str, says: str, folder: Path
) -> None:
    before = (folder / MANIFEST).read_text()
    change_manifest(folder, how)
    assert json.loads((folder / MANIFEST).read_text()) != json.loads(before)
    problems = verify_folder(folder).failures
    assert told(problems, Slip("", file, str, code, says)), problems


@pytest.mark.parametrize("slip", MAPS, ids=lambda slip: slip.name)
def test_a_map_that_was_written_wrong_is_told(slip: Slip, folder: Path) -> None:
    problems = verified(folder, {MAP: changed((folder / MAP).read_text(), slip.change)})
    assert told(problems, slip), problems


FILES = ("sheets/02-hill.svg", SPACER, MAP, "stack.png", "stack.svg", "traveller.html")


@pytest.mark.parametrize("name", FILES)
def test_a_file_that_was_replaced_is_told(name: str, folder: Path) -> None:
    """One byte is enough, and here it changes nothing that the proof looks at."""
    path = folder / name
    path.write_bytes(path.read_bytes() + b"\n")
    (problem,) = verify_folder(folder).failures
    assert (problem.code, problem.file) == ("file-changed", name)


@pytest.mark.parametrize("name", FILES)
def test_a_file_that_is_missing_is_told(name: str, folder: Path) -> None:
    (folder / name).unlink()
    codes = {"sheets": "sheet-missing", "paint": "paint-missing"}
    (problem,) = verify_folder(folder).failures
    assert (problem.code, problem.file) == (codes.get(name.partition("/")[0], "file-missing"), name)


def test_sheets_in_each_others_place_are_told(folder: Path) -> None:
    hill, things = (folder / HILL).read_bytes(), (folder / THINGS).read_bytes()
    (folder / HILL).write_bytes(things)
    (folder / THINGS).write_bytes(hill)
    found = {(problem.code, problem.file) for problem in verify_folder(folder).failures}
    assert {(code, file) for code in ("file-changed", "picture-differs") for file in (HILL, THINGS)} <= found


def test_a_file_too_many_is_told(folder: Path) -> None:
    for name in ("sheets/09-copy.svg", "paint/09-copy.svg"):
        shutil.copy(folder / HILL, folder / name)
    found = [(problem.code, problem.file) for problem in verify_folder(folder).failures]
    assert found == [("sheet-unknown", "sheets/09-copy.svg"), ("sheet-unknown", "paint/09-copy.svg")]


@pytest.mark.parametrize("key", ["roles", "files", "sheets"])
def test_a_manifest_without_what_it_needs_is_none(key: str, folder: Path) -> None:
    change_manifest(folder, lambda document: document.pop(key))
    with pytest.raises(DrawingError, match=f"'{key}'"):
        verify_folder(folder)


def test_every_slip_is_counted() -> None:
    """The table of tamperings, with those of sheets, in the tests beside this one."""
    assert len(MANIFESTS) + len(MAPS) + 2 * len(FILES) >= 55
    assert {row[2] for row in MANIFESTS} | {slip.code for slip in MAPS} <= set(FAILURES)
