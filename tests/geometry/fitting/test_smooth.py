"""Smoothing: few curves, certified near to their polyline, with its corners and its straight lines."""

import math
from itertools import pairwise

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, STRtree

from layercut.geometry.curves import Path
from layercut.geometry.fitting.cubic_fit import find_loops
from layercut.geometry.fitting.directions import find_directions
from layercut.geometry.fitting.smooth import smooth_lines

DEVIATION = 0.015
ROUNDING = 1e-9


def subpaths(path: Path, count: int = 60) -> list[np.ndarray]:
    """Dense points along each subpath, so many for each segment."""
    found = []
    t = np.linspace(0, 1, count)[:, None]
    weights = ((1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t**2 * (1 - t), t**3)
    for begin, end in pairwise([*path.starts, len(path.segments)]):
        points = [sum(w * p for w, p in zip(weights, s, strict=True)) for s in path.segments[begin:end]]
        found.append(np.vstack(points))
    return found


def apart(path: Path, lines: list[np.ndarray]) -> float:
    """The Hausdorff distance of curves and polylines, by dense samples of both."""
    return max(
        max(
            farthest(curve, line),
            farthest(shapely.get_coordinates(shapely.segmentize(LineString(line), 0.05)), curve),
        )
        for curve, line in zip(subpaths(path, 400), lines, strict=True)
    )


def farthest(points: np.ndarray, line: np.ndarray) -> float:
    """The largest distance of any of the points from a polyline."""
    tree = STRtree(shapely.linestrings(np.stack([line[:-1], line[1:]], axis=1)))
    _, distance = tree.query_nearest(shapely.points(points), return_distance=True, all_matches=False)
    return float(distance.max())


def wave(size: float, bumps: int, depth: float, turn: float, count: int = 400) -> np.ndarray:
    """A closed wavy ring on the grid."""
    a = np.linspace(0, 2 * math.pi, count, endpoint=False) + turn
    radius = size * (1 + depth * np.sin(bumps * a))
    ring = np.round(np.column_stack([radius * np.cos(a), radius * np.sin(a)]) + 50, 3)
    return np.vstack([ring, ring[:1]])


def square(*, extra: bool = False) -> np.ndarray:
    corners = (
        [(0, 0), (3, 0), (10, 0), (10, 10), (0, 10), (0, 0)] if extra else [(0, 0), (9, 0), (9, 9), (0, 9), (0, 0)]
    )
    return np.array(corners, dtype=float)


waves = st.builds(
    wave, st.floats(0.5, 40), st.integers(0, 9), st.floats(0, 0.4), st.floats(0, 6), st.sampled_from([40, 150, 700])
)
jagged = st.lists(
    st.tuples(st.integers(0, 20_000), st.integers(0, 20_000)), min_size=2, max_size=25, unique=True
).map(lambda points: np.array(points, dtype=float) / 1000)


@settings(max_examples=12)
@given(waves, st.sampled_from([0.006, 0.015, 0.1]))
def test_no_curve_is_further_away_than_allowed(ring: np.ndarray, deviation: float) -> None:
    path = smooth_lines([ring], deviation)
    assert apart(path, [ring]) <= deviation + ROUNDING


@settings(max_examples=12)
@given(jagged)
def test_nor_is_one_of_a_jagged_line(line: np.ndarray) -> None:
    assert apart(smooth_lines([line], DEVIATION), [line]) <= DEVIATION + ROUNDING


@settings(max_examples=15)
@given(jagged)
def test_simple_lines_stay_simple(line: np.ndarray) -> None:
    if LineString(line).is_simple:
        (curve,) = subpaths(smooth_lines([line], DEVIATION))
        drop = np.append(True, np.hypot(*np.diff(curve, axis=0).T) > 0)
        assert LineString(curve[drop]).is_simple


@settings(max_examples=15)
@given(waves)
def test_closed_stays_closed_and_begins_at_a_node_near_its_start(ring: np.ndarray) -> None:
    path = smooth_lines([ring], DEVIATION)
    assert path.closed == (True,)
    assert (path.segments[0, 0] == path.segments[-1, 3]).all()
    assert (path.segments[1:, 0] == path.segments[:-1, 3]).all()
    # Only the node behind or before the start can be nearest along the line, whatever lies across.
    (curve,) = subpaths(path)
    place = np.hypot(*(curve - ring[0]).T).argmin()
    steps = len(curve) // len(path.segments)
    assert place <= steps or place >= len(curve) - 1 - steps


def test_where_a_ring_begins_costs_no_node() -> None:
    ring = wave(20, 5, 0.2, 0.3)[:-1]
    turned = [np.roll(ring, -k, axis=0) for k in (0, 7, 40, 111)]
    counts = {len(smooth_lines([np.vstack([loop, loop[:1]])], DEVIATION).segments) for loop in turned}
    assert len(counts) == 1


def test_a_wavy_ring_takes_far_fewer_nodes() -> None:
    ring = wave(20, 5, 0.2, 0.3)
    assert len(smooth_lines([ring], DEVIATION).segments) < len(ring) / 12


def test_open_lines_keep_their_ends() -> None:
    x = np.linspace(0, 20, 200)
    line = np.round(np.column_stack([x, np.sin(x)]), 3)
    path = smooth_lines([line], DEVIATION)
    assert path.closed == (False,)
    assert path.segments[0, 0].tolist() == line[0].tolist()
    assert path.segments[-1, 3].tolist() == line[-1].tolist()


def test_straight_stays_straight_and_loses_needless_vertices() -> None:
    path = smooth_lines([square(extra=True)], DEVIATION)
    assert path.straight.all()
    assert path.segments[:, 0].tolist() == [[0, 0], [10, 0], [10, 10], [0, 10]]


def test_a_line_that_runs_into_an_arc_stays_a_line() -> None:
    a = np.linspace(0, math.pi / 2, 30)
    arc = np.column_stack([20 + 5 * np.sin(a), 5 - 5 * np.cos(a)])
    line = np.round(np.vstack([[[0, 0], [7, 0]], arc, [[25, 30]]]), 3)
    path = smooth_lines([line], DEVIATION)
    assert path.straight[[0, -1]].all()
    assert path.segments[0, 3].tolist() == [20, 0]
    assert path.segments[-1, 0].tolist() == [25, 5]


@pytest.mark.parametrize("degrees", [20, 35, 60, 90, 150, 175])
def test_corners_stay_corners(degrees: float) -> None:
    a = np.linspace(0, 1.2, 60)
    bow = np.column_stack([8 * np.sin(a), 8 - 8 * np.cos(a)])
    turn = math.radians(degrees) + 1.2
    ahead = bow @ np.array([[math.cos(turn), math.sin(turn)], [-math.sin(turn), math.cos(turn)]]) + bow[-1]
    line = np.round(np.vstack([bow, ahead[1:]]), 3)
    segments = smooth_lines([line], DEVIATION).segments
    here = np.flatnonzero((segments[:, 0] == line[59]).all(axis=1))
    assert len(here) == 1
    assert (segments[here[0], 1] != segments[here[0], 0]).any()
    into, out = segments[here[0] - 1, 3] - segments[here[0] - 1, 2], segments[here[0], 1] - segments[here[0], 0]
    found = abs(math.degrees(math.atan2(into[0] * out[1] - into[1] * out[0], into @ out)))
    assert abs(found - degrees) < 4


def test_smooth_joints_are_smooth() -> None:
    segments = smooth_lines([wave(30, 4, 0.15, 0)], DEVIATION).segments
    into, out = segments[:, 3] - segments[:, 2], np.roll(segments[:, 1] - segments[:, 0], -1, axis=0)
    turn = np.degrees(np.arctan2(into[:, 0] * out[:, 1] - into[:, 1] * out[:, 0], (into * out).sum(axis=1)))
    assert np.abs(turn).max() < 1


@pytest.mark.parametrize("bend_deg", [0.0, 4.0])
def test_directions_are_those_of_the_drawn_curves_where_these_meet(bend_deg: float) -> None:
    """An arc of 20 mm goes on as one of 4 mm, smoothly or with a bend; a circle across both would be neither's."""
    bend = math.radians(bend_deg)
    steps = np.arange(-12, 1) * 0.02
    wide = 20 * np.exp(1j * (steps - math.pi / 2)) + 20j
    tight = (4 * np.exp(1j * (-steps[::-1][1:] * 2.2 - math.pi / 2)) + 4j) * np.exp(1j * bend)
    places = np.round(np.append(wide, tight), 3)
    ends = np.array([0]), np.array([len(places) - 1])
    across = np.full(len(places), np.exp(0.3j))
    arriving, leaving = find_directions(places, across, *ends, np.array([False]), np.array([False]))
    assert abs(np.degrees(np.angle(arriving[12]))) < 0.25
    assert abs(np.degrees(np.angle(leaving[12])) - bend_deg) < 0.25
    back, ahead = find_directions(places[::-1], -across, *ends, np.array([False]), np.array([False]))
    assert np.abs(np.concatenate([ahead[::-1] + arriving, back[::-1] + leaving])).max() < 1e-12


@pytest.mark.parametrize(("reach", "loop"), [(0.3, False), (0.99, False), (1.01, True), (3.0, True)])
def test_handles_that_pass_each_other_make_a_loop(reach: float, loop: bool) -> None:
    """At 1 the curve stops in its middle: (P1 - P0) + 2 (P2 - P1) + (P3 - P2) = 2 - 2 reach along x."""
    assert find_loops(np.array([[0, reach + 1j, 1 - reach + 1j, 1]])).tolist() == [loop]


def test_loops_are_those_that_dense_samples_show() -> None:
    random = np.random.default_rng(7)
    controls = random.normal(size=(300, 4)) + 1j * random.normal(size=(300, 4))
    path = Path(np.stack([controls.real, controls.imag], axis=-1), np.zeros(300, np.bool_), tuple(range(300)), ())
    shown = [not LineString(points).is_simple for points in subpaths(path, 400)]
    assert find_loops(controls).tolist() == shown
    assert any(shown)


def test_a_thin_slit_is_not_crossed() -> None:
    """Two lines nearer to each other than twice the deviation, each of which alone might stray over the other."""
    x = np.linspace(0, 30, 300)
    low = np.column_stack([x, 0.6 * np.sin(x) + 0.004 * np.sin(17 * x)])
    high = low[::-1] + np.array([0, 0.012])
    ring = np.round(np.vstack([low, high, low[:1]]), 4)
    (curve,) = subpaths(smooth_lines([ring], DEVIATION))
    drop = np.append(True, np.hypot(*np.diff(curve, axis=0).T) > 0)
    assert LineString(curve[drop]).is_simple


def test_lines_that_touch_nowhere_still_touch_nowhere() -> None:
    rings = [wave(10 + 0.02 * k, 6, 0.1, 0.01 * k) for k in range(4)]
    assert not any(LineString(a).intersects(LineString(b)) for a, b in pairwise(rings))
    curves = [LineString(points) for points in subpaths(smooth_lines(rings, DEVIATION))]
    assert not any(a.intersects(b) for a, b in pairwise(curves))


def test_the_same_lines_give_the_same_curves() -> None:
    rings = [wave(12, 5, 0.2, 0.7), square()]
    one, other = smooth_lines(rings, DEVIATION), smooth_lines(rings, DEVIATION)
    assert one.segments.tobytes() == other.segments.tobytes()


@settings(max_examples=12)
@given(waves, st.integers(0, 39))
def test_neither_direction_nor_start_changes_the_curve(ring: np.ndarray, shift: int) -> None:
    turned = np.roll(ring[:-1], shift, axis=0)[::-1]
    turned = np.vstack([turned, turned[:1]])
    one, other = smooth_lines([ring], DEVIATION), smooth_lines([turned], DEVIATION)
    nodes = [{tuple(point) for point in path.segments[:, 0].tolist()} for path in (one, other)]
    assert nodes[0] ^ nodes[1] <= {tuple(path.segments[0, 0].tolist()) for path in (one, other)}
    curves = [np.vstack(subpaths(path, 400)) for path in (one, other)]
    assert max(farthest(*curves), farthest(*curves[::-1])) < 0.003


def test_moving_the_line_moves_the_curve() -> None:
    ring = wave(12, 5, 0.2, 0.7)
    one, moved = smooth_lines([ring], DEVIATION), smooth_lines([ring + np.array([64, 128])], DEVIATION)
    assert np.abs(one.segments + np.array([64, 128]) - moved.segments).max() < 0.0021


def test_stretches_that_two_lines_share_become_the_same_curve() -> None:
    bow = wave(20, 3, 0.2, 0)[:180]
    one = np.vstack([bow, [[90, 90]], bow[:1]])
    other = np.vstack([bow[::-1], [[5, 5]], bow[-1:]])
    path = smooth_lines([one, other], DEVIATION)
    cut = path.starts[1]
    forward = {segment.tobytes() for segment in path.segments[:cut][~path.straight[:cut]]}
    backward = {segment[::-1].tobytes() for segment in path.segments[cut:][~path.straight[cut:]]}
    assert forward == backward
    assert forward


def test_without_room_for_smoothing_lines_stay_as_they_are() -> None:
    ring = wave(5, 3, 0.1, 0, 50)
    path = smooth_lines([ring], 0.0)
    assert path.straight.all()
    assert path.segments[:, 0].tolist() == ring[:-1].tolist()


def test_nothing_gives_nothing() -> None:
    assert smooth_lines([], DEVIATION).is_empty


@pytest.mark.parametrize(
    "line",
    [
        [(0, 0), (5, 5)],
        [(0, 0), (5, 5), (0, 0)],
        [(0, 0), (5, 5), (0, 0), (5, 5)],
        [(0, 0), (1, 0), (1, 0), (1, 1), (0, 0)],
        [(0, 0), (4, 4), (4, 0), (0, 4), (0, 0)],
    ],
)
def test_odd_lines_come_back_as_they_are(line: list[tuple[float, float]]) -> None:
    points = np.array(line, dtype=float)
    path = smooth_lines([points], DEVIATION)
    assert path.straight.all()
    assert apart(path, [points]) < 1e-9


def test_a_thin_ring_keeps_an_inside() -> None:
    """One edge there and back would be within the deviation of it, and no ring."""
    for width in (0.002, 0.01, 0.02, 0.028):
        ring = np.array([[0, 0], [20, 0.3], [20, 0.3 + width], [0, width], [0, 0]])
        path = smooth_lines([ring], 0.015)
        assert path.closed == (True,)
        assert len(path.segments) >= 3, width
