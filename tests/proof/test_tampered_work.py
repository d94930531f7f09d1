"""Cuts and marks that aren't what was planned: each is told.

Each slip is told by the last stage of a compile and by `layercut verify` alike, though the manifest has the hash of
the wrong sheet.
"""

from pathlib import Path

import pytest
import tampering as t
from shapely import box
from slips import HILL, SKY, SPACER, THINGS, Honest, Slip, assert_told, slips

CUTS = [
    *slips(
        "picture-differs",
        HILL,
        ("an opening that is gone", t.without_path("cut-opening", -1), "mm2"),
        ("a hole too many", t.with_path("cut-opening", "M20 70L24 70L24 74Z"), "lacks 9.04 mm2"),
        ("openings off their places", t.moved("cut-opening", 0.3), "mm2"),
        ("a kerf made up for twice", t.offset("cut-opening", 0.15), "mm2"),
    ),
    *slips(
        "length-differs",
        HILL,
        (
            "a hole too many where nobody sees it",
            t.with_path("cut-opening", "M50 90L58 90L58 93Z"),
            "longer than the manifest says",
        ),
    ),
    *slips(
        "sheet-damaged",
        HILL,
        ("an opening cut twice", t.twice("cut-opening"), "the same contour twice"),
    ),
    *slips(
        "order-inside",
        THINGS,
        ("contours from the outside in", t.reordered("cut-opening"), "before one inside it"),
    ),
    *slips(
        "order-roles",
        HILL,
        (
            "openings before marks",
            lambda s: (
                s.replace(t.group_of(s, "mark-line"), "@")
                .replace(t.group_of(s, "cut-opening"), t.group_of(s, "mark-line"))
                .replace("@", t.group_of(s, "cut-opening"))
            ),
            "cut-opening, mark-line",
        ),
    ),
    *slips(
        "rim-differs",
        HILL,
        ("a rim cut short", t.in_group("cut-outline", t.swap("120.075", "117", 9)), "differs from the panel"),
        ("a rim that is gone", t.without_path("cut-outline"), "has 0 rims"),
        ("a rim too many", t.twice("cut-outline"), "has 2 rims"),
    ),
    *slips(
        "size-differs",
        HILL,
        (
            "a page larger than the panel",
            lambda s: s.replace('width="120mm"', 'width="130mm"').replace("0 0 120 ", "0 0 130 "),
            "130 x 100 mm",
        ),
    ),
    *slips(
        "frame-differs",
        HILL,
        ("a frame with a gap", t.with_path("cut-opening", "M50 1L58 1L58 4L50 4Z"), "of its frame"),
    ),
    *slips(
        "tie-missing",
        THINGS,
        ("a tie cut through", t.offset("cut-opening", 0.8), "should be 1.5 mm wide"),
    ),
    *slips(
        "piece-loose",
        HILL,
        (
            "a piece set free",
            lambda s: t.with_path("cut-opening", "M50 90L60 90L60 96L50 96Z")(
                t.with_path("cut-opening", "M51 91L59 91L59 95L51 95Z")(s)
            ),
            "come loose",
        ),
    ),
    *slips(
        "piece-missing",
        THINGS,
        ("a loose piece that still hangs", t.bridged(box(0, 24, 30, 26)), "let cloud come loose"),
    ),
    *slips(
        "picture-differs",
        THINGS,
        ("another sheet's contours", t.emptied("cut-opening"), "covers"),
    ),
]

MARKS = [
    *slips(
        "mark-missing",
        HILL,
        ("all marked areas gone", t.emptied("mark-area"), "mm2 of marked areas"),
        ("one letter gone", t.without_path("mark-area"), "mm2 of marked areas"),
        ("letters mirrored in place", t.mirrored("mark-area", 99), "mm2 of marked areas"),
        ("letters moved by 5 mm", t.moved("mark-area", 0, 5), "mm2 of marked areas"),
        ("a letter moved by a tenth", t.moved("mark-area", 0.1, which=1), "mm2 of marked areas"),
        ("every line moved by 3 mm", t.moved("mark-line", 0, 3), "mm of marked lines"),
        ("a line moved by a tenth", t.moved("mark-line", 0, 0.1, which=0), "mm of marked lines"),
        ("all lines gone", t.emptied("mark-line"), "mm of marked lines"),
        ("one line gone", t.without_path("mark-line"), "mm of marked lines"),
        ("a line cut short", t.shortened("mark-line"), "mm of marked lines"),
    ),
    *slips(
        "mark-added",
        HILL,
        ("letters mirrored", t.mirrored("mark-area", 99), "mm2 of marked areas"),
        ("a letter's hole filled", t.without_hole("mark-area"), "mm2 of marked areas"),
        ("a letter engraved twice", t.twice("mark-area"), "mm2 of marked areas"),
        (
            "400 mm2 more to engrave",
            t.with_path("mark-area", "M10 88L50 88L50 98L10 98Z"),
            "400.00 mm2 of marked areas",
        ),
        (
            "a speck more to engrave",
            t.with_path("mark-area", "M30 90L30.3 90L30.3 90.3L30 90.3Z"),
            "0.09 mm2 of marked areas",
        ),
        (
            "an area out of the world",
            t.with_path("mark-area", "M900000 900000L900000.3 900000L900000 900000.3Z"),
            "mm2 of marked areas",
        ),
        (
            "a line out of the world",
            t.with_path("mark-line", "M900000 900000L900000.8 900000"),
            "0.8 mm of marked lines",
        ),
        ("lines where nobody planned them", t.moved("mark-line", 0, 3), "mm of marked lines"),
        ("a line too many", t.with_path("mark-line", "M20 90L20.4 90"), "0.4 mm of marked lines"),
        ("a line burnt twice", t.twice("mark-line"), "mm of marked lines"),
        ("a line to and fro", t.to_and_fro("mark-line"), "longer than planned"),
    ),
    *slips(
        "mark-added",
        SKY,
        ("a mark on the back sheet", t.with_path("mark-line", "M40 40L50 40"), "10.0 mm of marked lines"),
    ),
    *slips(
        "mark-added",
        SPACER,
        ("a mark on a spacer", t.with_path("mark-line", "M40 3L50 3"), "10.0 mm of marked lines"),
    ),
    *slips(
        "mark-in-air",
        HILL,
        ("a mark in the air", t.with_path("mark-line", "M54 72L54 80"), "where no wood is"),
        ("an area in the air", t.with_path("mark-area", "M52 72L58 72L58 78Z"), "where no wood is"),
    ),
    *slips(
        "mark-on-cut",
        HILL,
        ("a mark along a cut", t.with_path("mark-line", "M50.02 72L50.02 80"), "run along cuts"),
    ),
]


@pytest.mark.parametrize("slip", [*CUTS, *MARKS], ids=lambda slip: slip.name)
def test_it_is_told(slip: Slip, honest: Honest, folder: Path) -> None:
    assert_told(slip, honest, folder)
