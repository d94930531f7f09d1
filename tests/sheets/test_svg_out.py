"""The written sheet: groups, roles, colours, order and numbers as the outside contract says."""

import re

import pytest
from elements import value
from lxml import etree
from shapely import LineString, Point, box

from layercut.geometry.path_text import number
from layercut.job import load_job
from layercut.model import OrderedSheet
from layercut.sheets.smoothing import smooth_sheets
from layercut.sheets.svg_out import write_sheet
from layercut.stack.panel import make_panel

SVG = "{http://www.w3.org/2000/svg}"
ROLES = ["mark-area", "mark-line", "cut-opening", "cut-outline"]
NUMBER = re.compile(r"-?\d+(?:\.\d{1,3})?")


def _sheet(name: str = "garden") -> OrderedSheet:
    ring = Point(50, 40).buffer(10).difference(Point(50, 40).buffer(4))
    return OrderedSheet(
        name=name,
        kind="layer",
        file="sheets/02-garden.svg",
        copies=1,
        wood=box(0, 0, 100, 80),
        mark_areas=(box(10, 10, 20, 20), ring),
        mark_lines=(LineString([(30, 30), (31.23456, 40)]), LineString([(5, 5), (9, 5), (9, 9), (5, 5)])),
        openings=(box(60, 20, 70, 30), box(55, 15, 80, 40)),
        outline=box(-0.075, -0.075, 100.075, 80.075),
    )


def _written(sheet: OrderedSheet | None = None, *settings: str) -> tuple[str, etree._Element]:
    job = load_job(None, settings)
    (smooth,) = smooth_sheets([sheet or _sheet()], job)
    text = write_sheet(smooth, make_panel(100, 80, job), job)
    return text, etree.fromstring(text.encode())


def test_one_unit_is_one_millimetre() -> None:
    _, root = _written()
    assert root.tag == SVG + "svg"
    assert (root.get("width"), root.get("height"), root.get("viewBox")) == ("100mm", "80mm", "0 0 100 80")


def test_four_groups_in_burning_order_even_when_empty() -> None:
    _, root = _written()
    assert [group.get("data-role") for group in root.iter(SVG + "g")] == ROLES
    assert [len(group) for group in root.iter(SVG + "g")] == [2, 2, 2, 1]


def test_the_colours_are_the_roles() -> None:
    _, root = _written()
    area, line, opening, outline = root.iter(SVG + "g")
    assert (area.get("fill"), area.get("stroke")) == ("#56B4E9", "none")
    strokes = [(group.get("fill"), group.get("stroke")) for group in (line, opening, outline)]
    assert strokes == [("none", "#CC79A7"), ("none", "#009E73"), ("none", "#E69F00")]


def test_the_job_can_change_each_colour() -> None:
    settings = [f"roles.{role.replace('-', '_')}=#00000{k}" for k, role in enumerate(ROLES, start=1)]
    _, root = _written(None, *settings)
    area, *strokes = root.iter(SVG + "g")
    assert area.get("fill") == "#000001"
    assert [group.get("stroke") for group in strokes] == ["#000002", "#000003", "#000004"]


def test_a_contour_is_one_closed_path_of_plain_lines() -> None:
    _, root = _written()
    for group in root.iter(SVG + "g"):
        for path in group:
            assert path.tag == SVG + "path"
            assert set(path.attrib) == {"d"}
            if group.get("data-role", "").startswith("cut"):
                assert re.fullmatch(r"M[-0-9. ]+(?:L[-0-9. ]+)+Z", value(path, "d"))


def test_paths_keep_their_burning_order() -> None:
    _, root = _written()
    opening = list(root.iter(SVG + "g"))[2]
    assert [value(path, "d") for path in opening] == ["M70 20L70 30L60 30L60 20Z", "M80 15L80 40L55 40L55 15Z"]


def test_a_hole_of_a_marked_area_is_a_second_contour() -> None:
    _, root = _written()
    area = next(root.iter(SVG + "g"))
    assert [value(path, "d").count("Z") for path in area] == [1, 2]
    assert area.get("fill-rule") == "evenodd"


def test_an_open_line_stays_open_and_a_closed_one_closes() -> None:
    _, root = _written()
    assert [value(path, "d") for path in list(root.iter(SVG + "g"))[1]] == ["M30 30L31.235 40", "M5 5L9 5L9 9Z"]


def test_coordinates_have_the_grids_digits_at_most() -> None:
    _, root = _written()
    for path in root.iter(SVG + "path"):
        for found in re.findall(r"[-0-9.e+]+", value(path, "d")):
            assert NUMBER.fullmatch(found), found
            assert found != "-0"


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (0, "0"),
        (-0.0, "0"),
        (-0.0004, "0"),
        (0.0005001, "0.001"),
        (10, "10"),
        (100, "100"),
        (1.5, "1.5"),
        (-0.075, "-0.075"),
        (1e-9, "0"),
        (279.4, "279.4"),
        (12345.6789, "12345.679"),
    ],
)
def test_numbers(value: float, text: str) -> None:
    assert number(value) == text


@pytest.mark.parametrize("name", ["a < b & c", "]]>", '"quoted"', "tab\tand\x00nul", "\u202eright to left", "\ud800"])
def test_any_name_makes_a_well_formed_file(name: str) -> None:
    _, root = _written(_sheet(name))
    title = root.findtext(SVG + "title", "")
    assert title == "".join(c for c in name if c.isprintable())


def test_the_same_sheet_gives_the_same_text() -> None:
    assert _written()[0] == _written()[0]
    assert _written()[0].endswith("</svg>\n")
