"""Motion times against worked examples, and against adding up small steps.

Rest to rest over d at speed v and acceleration a: d/v + v/a where d >= v^2/a, else 2 sqrt(d/a) (Lynch and Park,
Modern Robotics, chapter 9; Biagiotti and Melchiorri, Trajectory Planning for Automatic Machines and Robots, 2008).
Corner speeds follow from the arc that touches both legs and v^2 = a R.
"""

import math

import numpy as np
import pytest
from shapely import LineString, Point

from layercut.geometry.motion import Drive, corner_speeds, jump_seconds, leg_seconds, line_seconds


@pytest.mark.parametrize(
    ("d", "v", "a", "seconds"),
    [(100, 20, 500, 5.04), (10, 100, 1000, 0.2), (0.5, 100, 1000, 0.0447214), (10, 100, 500, 0.2828427)],
)
def test_rest_to_rest(d: float, v: float, a: float, seconds: float) -> None:
    assert jump_seconds([d], Drive(v, a)) == pytest.approx(seconds, abs=5e-8)
    assert line_seconds([LineString([(3, 1), (3, 1 + d)])], Drive(v, a)) == pytest.approx(seconds, abs=5e-8)


def test_with_speeds_at_both_ends() -> None:
    times = leg_seconds(np.array([100.0]), np.array([10.0]), np.array([20.0]), Drive(50, 500))
    assert times[0] == pytest.approx(2.05, abs=1e-9)


@pytest.mark.parametrize(
    ("turn_deg", "slow", "fast"),
    [
        (10, 36.1795, 114.4096),
        (45, 7.7901, 24.6344),
        (90, 3.4743, 10.9868),
        (135, 1.7606, 5.5674),
        (170, 0.6909, 2.1849),
    ],
)
def test_corner_speeds(turn_deg: float, slow: float, fast: float) -> None:
    """Legs so long that the arc has room; 500 mm/s2 at 0.01 mm, and 1000 mm/s2 at 0.05 mm."""
    turn = math.radians(turn_deg)
    moves = 1000 * np.array([[1.0, 0.0], [math.cos(turn), math.sin(turn)]])
    lengths = np.array([1000.0, 1000.0])
    assert corner_speeds(moves, lengths, Drive(1e9, 500, 0.01))[0] == pytest.approx(slow, abs=1e-4)
    assert corner_speeds(moves, lengths, Drive(1e9, 1000, 0.05))[0] == pytest.approx(fast, abs=1e-4)


def stepped_seconds(points: np.ndarray, drive: Drive, step: float = 1e-3) -> float:
    """The same motion found another way: the fastest speed at every point of a fine grid, ds / v added up."""
    moves = np.diff(points, axis=0)
    lengths = np.hypot(*moves.T)
    stations = np.concatenate([[0], np.cumsum(lengths)])
    corners = [0.0, *corner_speeds(moves, lengths, drive).tolist(), 0.0]
    s = np.arange(step / 2, stations[-1], step)
    reach = [
        np.sqrt(v * v + 2 * drive.acceleration * np.abs(s - at)) for v, at in zip(corners, stations, strict=True)
    ]
    return float((step / np.minimum(drive.speed, np.min(reach, axis=0))).sum())


def test_a_way_with_corners_against_small_steps() -> None:
    rng = np.random.default_rng(3)
    points = np.cumsum(rng.uniform(-4, 4, (12, 2)), axis=0)
    drive = Drive(30, 400, 0.03)
    exact = line_seconds([LineString(points)], drive)
    # At both ends and in sharp corners the speed rises from nearly nothing: the steps overstate that a little.
    assert stepped_seconds(points, drive) == pytest.approx(exact, rel=0.01)


def test_a_circle_is_run_at_the_speed_of_its_curve() -> None:
    """Radius 2 mm at 800 mm/s2: v = sqrt(a R) = 40 mm/s, however fine the chords are."""
    drive = Drive(1000, 800, 0.02)
    for chords in (64, 256):
        ring = Point(0, 0).buffer(2, quad_segs=chords)
        # From rest to 40 mm/s takes 0.05 s and 1 mm, and so does the end.
        cruise = (2 * math.pi * 2 - 2) / 40
        assert line_seconds([ring], drive) == pytest.approx(cruise + 0.1, rel=0.01)
