import itertools
import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from layercut.geometry.curves import PathBuilder, Polyline, chord_counts, flatten, place
from layercut.geometry.fill import fill_region
from layercut.geometry.precision import FLATTEN_MM
from layercut.geometry.strokes import Cap, Join, StrokeStyle, dash_count, dashed, stroke_region, stroke_rings


def line(*points: tuple[float, float], closed: bool = False) -> Polyline:
    all_points = [*points, points[0]] if closed else points
    return Polyline(np.array(all_points, dtype=float), np.ones(len(all_points), dtype=bool), closed)


def curve(*numbers: float) -> Polyline:
    pen = PathBuilder()
    pen.move(*numbers[:2])
    pen.cubic(*numbers[2:])
    path = pen.build()
    placed = place([path], [(1, 0, 0, 1, 0, 0)])
    return flatten([path], placed, chord_counts([path], placed))[0][0]


CORNER = line((0, 0), (10, 0), (10, 10))
ROUND = math.pi / 2  # half a disc of radius one
CHORDS = (
    2.5 * math.pi * 2 / 3 * FLATTEN_MM
)  # chords of 450 degrees of arc lie within it by two thirds of the tolerance


@pytest.mark.parametrize(
    ("cap", "ends"), [("butt", 0.0), ("square", 4.0), ("round", math.pi)], ids=["butt", "square", "round"]
)
@pytest.mark.parametrize(
    ("join", "corner"),
    [("miter", 1.0), ("bevel", 0.5), ("round", math.pi / 4)],
    ids=["miter", "bevel", "round"],
)
def test_caps_and_joins(cap: Cap, ends: float, join: Join, corner: float) -> None:
    style = StrokeStyle(2, cap, join)
    # Two arms of 10 x 2 share a square of 1 at the corner; the join fills up to another one.
    assert stroke_region([CORNER], style).area == pytest.approx(40 - 1 + corner + ends, abs=CHORDS)


@pytest.mark.parametrize(("limit", "mitred"), [(1.0, False), (1.41, False), (1.42, True), (4.0, True)])
def test_miter_limit_falls_back_to_a_bevel(limit: float, mitred: bool) -> None:
    # At a right angle the miter is sqrt 2 times as long as the line is wide (SVG 2, "stroke-miterlimit").
    area = stroke_region([CORNER], StrokeStyle(2, miter_limit=limit)).area
    assert area == pytest.approx(40 if mitred else 39.5)


def test_closed_lines_have_joins_and_no_caps() -> None:
    square = line((0, 0), (10, 0), (10, 10), (0, 10), closed=True)
    region = stroke_region([square], StrokeStyle(2, "square"))
    assert region.area == pytest.approx(12**2 - 8**2)
    assert len(region.interiors) == 1


@pytest.mark.parametrize(("cap", "area"), [("butt", 0), ("square", 4), ("round", math.pi)])
def test_a_line_without_length(cap: Cap, area: float) -> None:
    style = StrokeStyle(2, cap)
    assert stroke_region([line((3, 3), (3, 3))], style).area == pytest.approx(area, abs=0.01)


def test_no_width_is_empty() -> None:
    assert stroke_region([CORNER], StrokeStyle(0)).is_empty


def test_a_line_back_on_itself() -> None:
    there_and_back = line((0, 0), (10, 0), (4, 0))
    assert stroke_region([there_and_back], StrokeStyle(2)).area == pytest.approx(20)
    assert stroke_region([there_and_back], StrokeStyle(2, join="round")).area == pytest.approx(20 + ROUND, abs=0.01)


def allowed(width: float) -> float:
    """By how much edges may differ: the hundredth of its distance that GEOS drops, and the chords of both.

    In the notch where two edges meet at a sharp angle, a disc as wide as that fits between the two outlines.
    """
    return 0.005 * width + 2 * FLATTEN_MM


coordinates = st.floats(0, 40, allow_nan=False)


@settings(max_examples=60)
@given(st.lists(coordinates, min_size=8, max_size=8), st.floats(0.2, 12))
def test_round_strokes_are_all_within_half_the_width(numbers: list[float], width: float) -> None:
    drawn = curve(*numbers)
    if len(drawn.points) < 4:
        return
    region = stroke_region([drawn], StrokeStyle(width, "round", "round"))
    # GEOS's disc along the same chords, with so many sides that it is as good as round.
    # In two parts, for GEOS drops the spikes of a line that ends where it begins.
    halves = [shapely.LineString(part) for part in (drawn.points[:3], drawn.points[2:])]
    disc = shapely.union_all(shapely.buffer(halves, width / 2, quad_segs=180))
    assert region.is_valid
    assert region.symmetric_difference(disc).buffer(-allowed(width)).is_empty


@settings(max_examples=60)
@given(
    st.lists(st.floats(0, 3), min_size=14, max_size=14),
    st.floats(0.3, 1.6),
    st.sampled_from(["butt", "round", "square"]),
    st.sampled_from(["miter", "round", "bevel"]),
    st.booleans(),
)
def test_tight_bends_come_out_the_same_either_way(
    numbers: list[float], width: float, cap: Cap, join: Join, closed: bool
) -> None:
    pen = PathBuilder()
    pen.move(*numbers[:2])
    pen.cubic(*numbers[2:8])
    pen.cubic(*numbers[8:])
    if closed:
        pen.close()
    path = pen.build()
    placed = place([path], [(1, 0, 0, 1, 0, 0)])
    (drawn,) = flatten([path], placed, chord_counts([path], placed))[0]
    style = StrokeStyle(width, cap, join)
    buffered = stroke_region([drawn], style)
    noded = fill_region(stroke_rings([drawn], style), "nonzero")
    assert buffered.is_valid
    off = buffered.symmetric_difference(noded)
    assert off.buffer(-allowed(width)).is_empty


def test_a_sharp_turn_back_on_long_chords() -> None:
    long = line((0, 0), (1e4, 0), (0, 1e-4), (1e4, 0))
    assert stroke_region([long], StrokeStyle(0.01)).area == pytest.approx(100, rel=0.01)


def test_a_bend_tighter_than_the_pen_stays_round_whatever_the_join() -> None:
    hairpin = curve(0, 0, 0, -1, 0.5, -1, 0.5, 0)
    for join in ("miter", "bevel", "round"):
        region = stroke_region([hairpin], StrokeStyle(10, join=join))
        disc = shapely.Point(0.25, -0.75).buffer(4.9)
        above = shapely.box(-20, -20, 20, -1)
        assert disc.intersection(above).difference(region).area < 0.01


def lengths(dashes: list[Polyline]) -> list[float]:
    return [round(float(np.linalg.norm(np.diff(dash.points, axis=0), axis=1).sum()), 9) for dash in dashes]


@pytest.mark.parametrize(
    ("pattern", "offset", "expected"),
    [
        ((4, 2), 0, [4, 4, 4, 2]),
        ((4, 2), 1, [3, 4, 4, 3]),
        ((4, 2), 5, [4, 4, 4, 1]),
        ((4, 2), -1, [4, 4, 4, 1]),
        ((4, 2), 601, [3, 4, 4, 3]),
        ((5,), 0, [5, 5]),
        ((4, 2, 1), 0, [4, 1, 2, 4]),  # an odd list is taken twice: on 4, off 2, on 1, off 4, on 2, off 1
        ((30, 5), 0, [20]),
    ],
)
def test_dash_patterns(pattern: tuple[float, ...], offset: float, expected: list[float]) -> None:
    style = StrokeStyle(1, dashes=pattern, offset=offset)
    result = lengths(dashed([line((0, 0), (12, 0), (12, 8))], style))
    assert result == expected


@pytest.mark.parametrize("pattern", [(), (0, 0), (0,), (-1, 2), (math.inf,)])
def test_patterns_that_draw_a_solid_line(pattern: tuple[float, ...]) -> None:
    assert lengths(dashed([CORNER], StrokeStyle(1, dashes=pattern))) == [20]


def test_a_closed_line_joins_its_first_and_last_dash() -> None:
    square = line((0, 0), (10, 0), (10, 10), (0, 10), closed=True)
    dashes = dashed([square], StrokeStyle(2, dashes=(6, 8)))
    assert lengths(dashes) == [6, 6, 6]  # 0 to 6, 14 to 20 and 28 to 34; the one from 42 is beyond the end
    turned = dashed([square], StrokeStyle(2, dashes=(6, 8), offset=3))
    corner = [dash for dash in turned if (dash.points == 0).all(axis=1).any()]
    assert len(corner) == 1
    assert not corner[0].closed


def test_dashes_without_length_are_dots() -> None:
    dots = stroke_region([line((0, 0), (10, 0))], StrokeStyle(1, "round", dashes=(0, 5)))
    assert dots.area == pytest.approx(2 * math.pi / 4, abs=0.01)
    squares = stroke_region([line((0, 0), (10, 10))], StrokeStyle(2, "square", dashes=(0, 100)))
    assert squares.area == pytest.approx(4)
    assert squares.bounds[0] == pytest.approx(-math.sqrt(2))  # turned along the line


@settings(max_examples=50)
@given(st.lists(st.floats(0.5, 9), min_size=1, max_size=4), st.floats(-50, 50))
def test_dashes_lie_on_the_line_in_order(pattern: list[float], offset: float) -> None:
    drawn = curve(0, 0, 40, 0, 0, 40, 40, 40)
    style = StrokeStyle(1, dashes=tuple(pattern), offset=offset)
    dashes = dashed([drawn], style)
    whole = shapely.LineString(drawn.points)
    places = [whole.project(shapely.Point(point)) for dash in dashes for point in (dash.points[0], dash.points[-1])]
    assert all(a <= b + 1e-6 for a, b in itertools.pairwise(places))
    assert abs(len(dashes) - dash_count([drawn], style)) <= len(pattern) + 1
