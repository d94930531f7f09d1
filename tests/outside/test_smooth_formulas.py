"""Smoothing against formulas and against fonts: circles, ellipses, and letters whose curves the font itself knows."""

import math
from itertools import pairwise
from pathlib import Path as File

import numpy as np
import pytest
import shapely
from fontTools.pens.recordingPen import DecomposingRecordingPen
from fontTools.ttLib import TTFont
from shapely import LineString

from layercut.drawing.lettering.fonts import Fonts, Wish
from layercut.geometry.curves import Path, PathBuilder, chord_counts, flatten, place
from layercut.geometry.fitting.smooth import smooth_lines
from layercut.geometry.precision import FLATTEN_MM

DEVIATION = 0.015
TOTAL = 0.02
FACE = Fonts(File()).find("sans-serif", Wish())


def sampled(path: Path, count: int = 200) -> np.ndarray:
    """Points along all segments."""
    t = np.linspace(0, 1, count)[:, None, None]
    p0, p1, p2, p3 = (path.segments[:, k] for k in range(4))
    points = (1 - t) ** 3 * p0 + 3 * t * (1 - t) ** 2 * p1 + 3 * t**2 * (1 - t) * p2 + t**3 * p3
    return points.transpose(1, 0, 2).reshape(-1, 2)


def flattened(path: Path) -> list[np.ndarray]:
    """The path as the reader of drawings flattens it, on the grid."""
    placed = place([path], [(1, 0, 0, 1, 0, 0)])
    (lines,) = flatten([path], placed, chord_counts([path], placed))
    return [np.round(line.points, 3) for line in lines]


@pytest.mark.parametrize("radius", [0.3, 1, 5, 20, 80, 200])
def test_a_circle_is_within_the_tolerance_of_its_formula_and_has_few_nodes(radius: float) -> None:
    builder = PathBuilder()
    builder.ellipse(250, 250, radius, radius)
    path = smooth_lines(flattened(builder.build()), DEVIATION)
    off = np.hypot(*(sampled(path) - 250).T) - radius
    assert np.abs(off).max() <= TOTAL
    # A cubic for 90 degrees is off by 2.7e-4 of the radius, and its error grows with the sixth power of the angle;
    # one node more is where the circle begins, and one where the last piece is short.
    angle = 90 * (0.012 / (2.7e-4 * radius)) ** (1 / 6)
    assert len(path.segments) <= math.ceil(360 / min(angle, 150)) + 2


@pytest.mark.parametrize(("a", "b"), [(10, 6), (40, 5), (3, 100), (0.5, 0.9)])
def test_an_ellipse_is_within_the_tolerance_of_its_formula(a: float, b: float) -> None:
    builder = PathBuilder()
    builder.ellipse(200, 200, a, b)
    path = smooth_lines(flattened(builder.build()), DEVIATION)
    t = np.linspace(0, 2 * math.pi, 20_000)
    true = LineString(np.column_stack([200 + a * np.cos(t), 200 + b * np.sin(t)]))
    assert shapely.distance(shapely.points(sampled(path)), true).max() <= TOTAL
    curve = LineString(sampled(path))
    assert shapely.distance(shapely.points(shapely.get_coordinates(true)[::10]), curve).max() <= TOTAL
    assert len(path.segments) <= 16  # as many as the drawing's own arcs are made of


def letter(name: str, size_mm: float) -> Path:
    """A letter's outlines from the font's own tables, each as its own path of lines and curves."""
    assert FACE is not None
    font = TTFont(FACE.path, fontNumber=FACE.number)
    glyphs = font.getGlyphSet()
    pen = DecomposingRecordingPen(glyphs)
    glyphs[font.getBestCmap()[ord(name)]].draw(pen)
    scale = size_mm / font["head"].unitsPerEm
    builder = PathBuilder()
    for what, given in pen.value:
        points = [(x * scale, (font["head"].unitsPerEm - y) * scale) for x, y in filter(None, given)]
        if what == "moveTo":
            builder.move(*points[0])
        elif what == "lineTo":
            builder.line(*points[0])
        elif what == "curveTo":
            builder.cubic(*(value for point in points for value in point))
        elif what == "qCurveTo":
            controls = points[:-1]
            between = [((ax + bx) / 2, (ay + by) / 2) for (ax, ay), (bx, by) in pairwise(controls)]
            for control, end in zip(controls, [*between, points[-1]], strict=True):
                builder.quadratic(*control, *end)
        else:
            builder.close()
    return builder.build()


@pytest.mark.skipif(FACE is None, reason="this machine has no font")
@pytest.mark.parametrize("name", "aBgS&8Ri")
@pytest.mark.parametrize("size_mm", [8, 60])
def test_a_letter_is_within_the_tolerance_of_its_fonts_curves(name: str, size_mm: float) -> None:
    exact = letter(name, size_mm)
    path = smooth_lines(flattened(exact), DEVIATION)
    cuts = [*path.starts, len(path.segments)]
    own = [*exact.starts, len(exact.segments)]
    for (begin, end), (first, last) in zip(pairwise(cuts), pairwise(own), strict=True):
        curve = LineString(_along(path.segments[begin:end]))
        true = LineString(_along(exact.segments[first:last]))
        assert shapely.distance(shapely.points(shapely.get_coordinates(curve)), true).max() <= TOTAL
        assert shapely.distance(shapely.points(shapely.get_coordinates(true)), curve).max() <= TOTAL
    # Not more nodes than the font has, but for one at each contour's beginning.
    assert len(path.segments) <= len(exact.segments) + len(exact.starts)
    assert FLATTEN_MM < DEVIATION


def _along(segments: np.ndarray) -> np.ndarray:
    t = np.linspace(0, 1, 200)[:, None]
    return np.vstack(
        [
            (1 - t) ** 3 * p0 + 3 * t * (1 - t) ** 2 * p1 + 3 * t**2 * (1 - t) * p2 + t**3 * p3
            for p0, p1, p2, p3 in segments
        ]
    )
