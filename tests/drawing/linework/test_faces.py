"""Layers drawn in lines: what lines enclose is wood, gaps are bridged up to a size, and what stays open is said."""

from pathlib import Path

import pytest
import shapely
from builds import made_of
from line_work import SQUARE, area, found, read, wood, write

from layercut import compile_drawing
from layercut.job import Job


def test_a_closed_line_is_wood_and_stays_a_mark(tmp_path: Path) -> None:
    drawing = read(SQUARE, tmp_path)
    face, mark = drawing.layers[1].shapes
    assert (face.role, face.geometry.area, face.element) == ("wood", pytest.approx(1600), "path 'square'")
    assert (mark.role, mark.geometry.length) == ("mark-line", pytest.approx(160))
    assert drawing.findings == ()


def test_the_outer_line_is_cut_and_the_inner_ones_are_marked(tmp_path: Path) -> None:
    body = '<path d="M10 100V50L50 20L90 50V100Z"/><path id="door" d="M40 70H60V85H40Z"/><path d="M20 60H30"/>'
    build = compile_drawing(write(body, tmp_path), Job())
    sheet = made_of(build).sheets[1]
    assert sheet.wood.covers(shapely.Point(50, 78))  # the door is a mark, not a hole
    assert not sheet.wood.covers(shapely.Point(20, 20))
    assert sheet.mark_mm == pytest.approx(70 + 10)
    assert [finding.code for finding in build.findings if finding.severity == "error"] == []


def test_lines_of_several_elements_enclose_together(tmp_path: Path) -> None:
    body = '<path d="M20 20H60"/><path d="M60 20V60"/><path d="M60 60H20V20"/>'
    assert area(read(body, tmp_path)) == pytest.approx(1600)
    crossing = "".join(f'<path d="M{d}"/>' for d in ("15 20H65", "60 15V65", "65 60H15", "20 65V15"))
    drawing = read(crossing, tmp_path)
    assert area(drawing) == pytest.approx(1600)
    assert found(drawing, "gap-bridged") == []


def gapped(width: float) -> str:
    return f'<path id="square" d="M{20 + width} 20H60V60H20V20"/>'


@pytest.mark.parametrize("width", [0.1, 0.3, 0.499])
def test_a_small_gap_is_bridged_with_its_place_and_width(width: float, tmp_path: Path) -> None:
    drawing = read(gapped(width), tmp_path)
    assert area(drawing) == pytest.approx(1600)
    (finding,) = drawing.findings
    assert (finding.code, finding.layer, finding.element) == ("gap-bridged", "hill", "path 'square'")
    assert finding.size_mm == pytest.approx((width,), abs=0.005)
    assert finding.at_mm == pytest.approx((20 + width / 2, 20), abs=0.006)


def test_a_wider_gap_stays_open_with_a_word(tmp_path: Path) -> None:
    drawing = read(gapped(0.6), tmp_path)
    assert wood(drawing) == []
    (finding,) = found(drawing, "line-open")
    assert finding.element == "path 'square'"
    assert finding.size_mm == (0.6,)
    assert finding.at_mm in ((20.6, 20.0), (20.0, 20.0))
    assert [shape.role for shape in drawing.layers[1].shapes] == ["mark-line"]
    assert area(read(gapped(0.6), tmp_path, "layers.hill.gap=0.7mm")) == pytest.approx(1600)
    assert wood(read(gapped(0.1), tmp_path, "layers.hill.gap=0mm")) == []


def test_ends_that_miss_by_rounding_are_closed_in_silence(tmp_path: Path) -> None:
    drawing = read(gapped(0.004), tmp_path)
    assert area(drawing) == pytest.approx(1600)
    assert drawing.findings == ()


def test_an_end_is_bridged_to_a_line_that_it_nearly_reaches(tmp_path: Path) -> None:
    body = '<path id="ground" d="M10 60H90"/><path id="arch" d="M30 59.7V30H70V59.8"/>'
    drawing = read(body, tmp_path)
    assert area(drawing) == pytest.approx(40 * 30)
    assert sorted(finding.size_mm or () for finding in found(drawing, "gap-bridged")) == [(0.2,), (0.3,)]


def test_a_loop_that_nearly_meets_its_own_line(tmp_path: Path) -> None:
    drawing = read('<path id="six" d="M20 10V60H60V30H20.4"/>', tmp_path)
    assert area(drawing) == pytest.approx(40 * 30)
    (finding,) = found(drawing, "gap-bridged")
    assert finding.size_mm == (0.4,)


@pytest.mark.parametrize("over", [0.05, 0.2, 0.45])
def test_lines_that_shoot_over_a_corner_are_no_gaps(over: float, tmp_path: Path) -> None:
    corner = f'<path d="M20 20L60 20L{60 + over} 20"/><path d="M60 60L60 {20 - over}"/><path d="M60 60H20V20"/>'
    sharp = f'<path d="M20 20L{60 + over} 20"/><path d="M20 30L{60 + over} {20 - over / 4}"/><path d="M20 20V30"/>'
    for body in (corner, sharp):
        drawing = read(body, tmp_path)
        assert found(drawing, "gap-bridged") == []
        assert found(drawing, "line-open") == []
    assert area(read(corner, tmp_path)) == pytest.approx(1600)


def test_a_gap_inside_the_wood_needs_no_bridge(tmp_path: Path) -> None:
    drawing = read(f'{SQUARE}<path d="M30 30H40V40H30V30.3"/><path d="M50 50V55"/>', tmp_path)
    assert area(drawing) == pytest.approx(1600)
    assert drawing.findings == ()


def test_a_line_beside_the_wood_is_named(tmp_path: Path) -> None:
    drawing = read(f'{SQUARE}<path id="mast" d="M40 20V5"/>', tmp_path)
    assert area(drawing) == pytest.approx(1600)
    (finding,) = drawing.findings
    assert (finding.code, finding.element, finding.at_mm) == ("line-open", "path 'mast'", (40.0, 5.0))


def test_small_closed_curves(tmp_path: Path) -> None:
    circles = "".join(f'<circle cx="{20 + 10 * n}" cy="50" r="{0.3 + 0.1 * n}"/>' for n in range(5))
    drawing = read(circles, tmp_path)
    assert area(drawing) == pytest.approx(sum(3.14159265 * (0.3 + 0.1 * n) ** 2 for n in range(5)), rel=0.01)
    assert drawing.findings == ()


def test_many_gaps_are_listed_up_to_a_number_and_counted(tmp_path: Path) -> None:
    body = "".join(f'<path d="M{5 + x * 6 + 0.2} {5 + y * 6}h3.8v4h-4v-4"/>' for x in range(15) for y in range(15))
    drawing = read(body, tmp_path)
    assert area(drawing) == pytest.approx(225 * 16)
    assert len(found(drawing, "gap-bridged")) == 100
    assert "125 more" in drawing.findings[-1].message
