import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from layercut.geometry.curves import (
    Affine,
    Path,
    PathBuilder,
    Polyline,
    chord_counts,
    flatten,
    map_points,
    path_length,
    place,
)
from layercut.geometry.precision import FLATTEN_MM

SAME: Affine = (1, 0, 0, 1, 0, 0)


def flat(path: Path, matrix: Affine = SAME) -> tuple[Polyline, ...]:
    placed = place([path], [matrix])
    return flatten([path], placed, chord_counts([path], placed))[0]


def on_cubic(p: np.ndarray, t: np.ndarray) -> np.ndarray:
    """De Casteljau, written apart from the code under test."""
    t = t[:, None]
    a, b, c = p[0] + (p[1] - p[0]) * t, p[1] + (p[2] - p[1]) * t, p[2] + (p[3] - p[2]) * t
    d, e = a + (b - a) * t, b + (c - b) * t
    return d + (e - d) * t


def distance_to_polyline(points: np.ndarray, line: np.ndarray) -> np.ndarray:
    start, step = line[:-1], np.diff(line, axis=0)
    length2 = np.maximum((step**2).sum(axis=1), 1e-300)
    offset = points[:, None] - start[None]
    along = np.clip((offset * step).sum(axis=2) / length2, 0, 1)
    return np.linalg.norm(offset - along[..., None] * step, axis=2).min(axis=1)


coordinates = st.floats(-200, 200, allow_nan=False)
points = st.tuples(coordinates, coordinates)


@settings(max_examples=60)
@given(st.lists(points, min_size=4, max_size=4))
def test_chords_stay_within_the_tolerance(control: list[tuple[float, float]]) -> None:
    pen = PathBuilder()
    pen.move(*control[0])
    pen.cubic(*control[1], *control[2], *control[3])
    (line,) = flat(pen.build())
    curve = on_cubic(np.array(control), np.linspace(0, 1, 500))
    assert distance_to_polyline(curve, line.points).max() <= FLATTEN_MM + 1e-9
    assert tuple(line.points[0]) == control[0]
    assert tuple(line.points[-1]) == control[3]


AWKWARD = {
    "a cusp": [(0, 0), (10, 10), (0, 10), (10, 0)],
    "nearly a cusp": [(0, 0), (10, 10.01), (0.01, 10), (10, 0)],
    "a loop": [(0, 0), (30, 20), (-20, 20), (10, 0)],
    "a loop back to its start": [(0, 0), (20, 30), (-20, 30), (0, 0)],
    "an inflection": [(0, 0), (10, 0), (0, 10), (10, 10)],
    "a flat inflection": [(0, 0), (100, 0.01), (-20, -0.01), (80, 0)],
    "straight, and past its end": [(0, 0), (30, 0), (40, 0), (10, 0)],
    "straight, there and back": [(0, 0), (10, 0), (10, 0), (0, 0)],
    "straight, in no direction of the axes": [(0, 0), (1, 1 / 3), (2, 2 / 3), (3, 1)],
    "nearly straight": [(0, 0), (33, 0.003), (66, -0.003), (100, 0)],
    "without handles": [(0, 0), (0, 0), (10, 5), (10, 5)],
    "with one handle": [(0, 0), (0, 0), (30, 5), (10, 15)],
    "a hook at one end": [(0, 0), (0.01, 0), (0.02, 0.01), (90, 40)],
    "a point": [(7, 7), (7, 7), (7, 7), (7, 7)],
}


@pytest.mark.parametrize("size", [1e-4, 1.0, 30.0])
@pytest.mark.parametrize("name", AWKWARD)
def test_chords_of_awkward_curves_stay_within_the_tolerance(name: str, size: float) -> None:
    control = np.array(AWKWARD[name], dtype=float) * size
    pen = PathBuilder()
    pen.move(*control[0])
    pen.cubic(*control[1], *control[2], *control[3])
    (line,) = flat(pen.build())
    curve = on_cubic(control, np.linspace(0, 1, 1000))
    assert distance_to_polyline(curve, line.points).max() <= FLATTEN_MM + 1e-9
    vertices = line.points[:: max(1, len(line.points) // 50)]
    assert distance_to_polyline(vertices, on_cubic(control, np.linspace(0, 1, 5_001))).max() < 1e-4 * size + 1e-9


def test_chords_lie_where_the_curve_bends() -> None:
    """A hook: even steps of the parameter need chords for its sharpest bend everywhere."""
    pen = PathBuilder()
    pen.move(0, 0)
    pen.cubic(0, 60, 2, 2, 60, 0)
    (line,) = flat(pen.build())
    bend = np.array([(0, 0), (0, 60), (2, 2), (60, 0)], dtype=float)
    evenly = math.ceil(math.sqrt(0.75 * np.hypot(*np.diff(bend, n=2, axis=0).T).max() / FLATTEN_MM))
    assert len(line.points) - 1 < 0.75 * evenly


def test_a_circle_has_about_as_few_chords_as_can_be() -> None:
    """A chord of angle a is off by r (1 - cos a/2); each of the 16 arcs may have one chord more than it needs."""
    pen = PathBuilder()
    pen.ellipse(0, 0, 40, 40)
    (line,) = flat(pen.build())
    least = math.pi / math.acos(1 - FLATTEN_MM / 40)
    assert least <= len(line.points) - 1 <= 1.01 * least + 16


@settings(max_examples=60)
@given(st.lists(points, min_size=4, max_size=4))
def test_a_curve_drawn_the_other_way_has_the_same_chords(control: list[tuple[float, float]]) -> None:
    """Neighbours that share an edge draw it in opposite directions; without the same chords a gap would lie there."""
    lines: list[Polyline] = []
    for around in (control, control[::-1]):
        pen = PathBuilder()
        pen.move(*around[0])
        pen.cubic(*around[1], *around[2], *around[3])
        lines += flat(pen.build())
    assert len(lines[0].points) == len(lines[1].points)
    assert lines[0].points == pytest.approx(lines[1].points[::-1], abs=1e-6)


@settings(max_examples=60)
@given(st.lists(points, min_size=3, max_size=3))
def test_quadratics_are_the_same_curve(control: list[tuple[float, float]]) -> None:
    pen = PathBuilder()
    pen.move(*control[0])
    pen.quadratic(*control[1], *control[2])
    t = np.linspace(0, 1, 50)[:, None]
    a, b, c = np.array(control)
    expected = (1 - t) ** 2 * a + 2 * t * (1 - t) * b + t**2 * c
    assert on_cubic(pen.build().segments[0], t[:, 0]) == pytest.approx(expected, abs=1e-9)


def test_straight_lines_gain_no_points() -> None:
    pen = PathBuilder()
    pen.move(0, 0)
    pen.line(1000, 0)
    pen.line(1000, 500)
    pen.close()
    (line,) = flat(pen.build(), (2, 0, 0, 2, 1, 1))
    assert line.points.tolist() == [[1, 1], [2001, 1], [2001, 1001], [1, 1]]
    assert line.nodes.all()
    assert line.closed


def test_the_map_decides_how_fine_it_gets() -> None:
    pen = PathBuilder()
    pen.ellipse(0, 0, 1, 1)
    few, many = (flat(pen.build(), (scale, 0, 0, scale, 0, 0))[0] for scale in (1, 100))
    assert len(many.points) > 5 * len(few.points)
    assert np.abs(np.linalg.norm(many.points, axis=1) - 100).max() < FLATTEN_MM


@pytest.mark.parametrize(
    ("large", "sweep", "angle"), [(False, False, 90), (False, True, 90), (True, False, 270), (True, True, 270)]
)
def test_arcs_take_the_asked_way(large: bool, sweep: bool, angle: float) -> None:
    pen = PathBuilder()
    pen.move(10, 0)
    pen.arc(10, 10, 0, large, sweep, 0, 10)
    (line,) = flat(pen.build())
    length = np.linalg.norm(np.diff(line.points, axis=0), axis=1).sum()
    assert length == pytest.approx(math.radians(angle) * 10, abs=0.01)
    centre = np.array((0, 0) if large != sweep else (10, 10))
    assert np.abs(np.linalg.norm(line.points - centre, axis=1) - 10).max() < FLATTEN_MM


def test_arcs_with_too_small_radii_are_enlarged() -> None:
    pen = PathBuilder()
    pen.move(0, 0)
    pen.arc(1, 2, 0, False, True, 10, 0)
    (line,) = flat(pen.build())
    assert line.points[:, 1].min() == pytest.approx(-10, abs=FLATTEN_MM)


@pytest.mark.parametrize(("rx", "ry"), [(0, 5), (5, 0), (1e308, 1e308)])
def test_arcs_without_radii_are_lines(rx: float, ry: float) -> None:
    pen = PathBuilder()
    pen.move(0, 0)
    pen.arc(rx, ry, 30, True, True, 7, 3)
    path = pen.build()
    assert path.segments[-1, 3].tolist() == [7, 3]
    assert np.isfinite(path.segments).all() or rx > 1e300


def test_a_closed_path_goes_on_from_its_start() -> None:
    pen = PathBuilder()
    pen.move(1, 2)
    pen.line(5, 2)
    pen.close()
    pen.line(9, 9)
    first, second = flat(pen.build())
    assert first.points[-1].tolist() == second.points[0].tolist() == [1, 2]
    assert (first.closed, second.closed) == (True, False)


def test_many_paths_at_once_are_as_one_by_one() -> None:
    rng = np.random.default_rng(3)
    paths, matrices = [], []
    for _ in range(20):
        pen = PathBuilder()
        for _ in range(rng.integers(0, 4)):
            pen.move(*rng.uniform(0, 10, 2))
            for _ in range(rng.integers(1, 4)):
                pen.cubic(*rng.uniform(0, 10, 6))
        paths.append(pen.build())
        matrices.append(tuple(rng.uniform(-2, 2, 6)))
    placed = place(paths, matrices)
    together = flatten(paths, placed, chord_counts(paths, placed))
    for path, matrix, lines in zip(paths, matrices, together, strict=True):
        alone = flat(path, matrix)
        assert len(lines) == len(alone) == len(path.starts)
        for one, other in zip(lines, alone, strict=True):
            assert (one.points == other.points).all()
            assert (one.nodes == other.nodes).all()


def test_nothing_gives_nothing() -> None:
    empty = PathBuilder().build()
    assert empty.is_empty
    assert flat(empty) == ()
    assert map_points(np.empty((0, 2)), SAME).shape == (0, 2)


def test_the_length_of_a_path_is_that_of_its_curves() -> None:
    """A quarter circle by the usual cubic (off by 0.03 % of the radius), and an edge as a straight segment."""
    k = 4 / 3 * (math.sqrt(2) - 1)
    quarter = [[10, 0], [10, 10 * k], [10 * k, 10], [0, 10]]
    edge = [[0, 10], [0, 10], [0, 0], [0, 0]]
    path = Path(np.array([quarter, edge], dtype=float), np.array([False, True]), (0,), (False,))
    assert path_length(path) == pytest.approx(5 * math.pi + 10, rel=3e-4)
    assert path_length(Path(path.segments[1:], path.straight[1:], (0,), (False,))) == 10.0
