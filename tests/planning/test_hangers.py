"""Hangers: rings on wood, level, above the centre of gravity; the hook above it, hidden, or told how it would be."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import LineString, Point

from layercut.job import load_job
from layercut.model import Panel
from layercut.planning.hangers import LEVER, WIRE_END_MM, place_hangers, wire_pull_n, wire_tension_n
from layercut.stack.panel import make_panel
from layercut.workplan import HIGHEST, HOOK_ROOM_MM, LOWEST, Hangers

WIDTH = 14.0


def hangers_of(
    size: tuple[float, float], centre: tuple[float, float], *settings: str, whole: bool = False
) -> tuple[Panel, Hangers]:
    job = load_job(None, settings)
    panel = make_panel(*size, job)
    return panel, place_hangers(panel, WIDTH, centre, job.hanging, whole=whole)


def test_on_a_square_picture_all_follows_from_the_angle() -> None:
    """By hand: rings on the middles of two strips 14 mm wide, 286 mm apart; 143 tan 20 = 52.05 mm up to the hook."""
    _, found = hangers_of((300, 300), (150, 150), "hanging.wire_angle=20deg", "hanging.top=1.5m")
    assert found.rings_mm == ((7, 75), (293, 75))
    assert found.spacing_mm == 286
    assert found.sag_mm == pytest.approx(143 * math.tan(math.radians(20)))
    assert found.hook_mm == pytest.approx((150, 75 - 52.05), abs=0.01)
    assert found.wire_mm == pytest.approx(286 / math.cos(math.radians(20)))
    assert found.cut_mm == pytest.approx(found.wire_mm + 2 * WIRE_END_MM)
    assert found.hook_height_mm == pytest.approx(1500 - 22.95, abs=0.01)
    assert (found.hidden, found.on_wood, found.beside_mm) == (True, True, 0)


@given(
    st.tuples(st.floats(60, 600), st.floats(60, 600)),
    st.tuples(st.floats(0.35, 0.65), st.floats(0.35, 0.65)),
    st.floats(5, 60),
    st.sampled_from([0.0, 8.0, 29.0]),
)
def test_rings_are_level_on_wood_and_above_the_centre_of_gravity(
    size: tuple[float, float], share: tuple[float, float], angle: float, corner: float
) -> None:
    wide, high = size
    centre = (share[0] * wide, share[1] * high)
    settings = (f"hanging.wire_angle={angle!r}deg", f"panel.corner={corner}mm")
    panel, found = hangers_of((wide, high), centre, *settings)
    (left, level), (right, other) = found.rings_mm
    assert level == other
    assert level <= max(centre[1] - LEVER * high, HIGHEST * high / 2) + 1e-6
    assert level < centre[1]
    assert found.on_wood
    assert found.hook_mm[0] == centre[0]
    # What hangs beside the rings' middle is told, to the last bit.
    assert (left + right) / 2 + found.beside_mm == pytest.approx(centre[0], abs=2e-3)
    wire = LineString([found.rings_mm[0], found.hook_mm, found.rings_mm[1]])
    assert found.wire_mm == pytest.approx(wire.length)
    assert panel.outline.contains(Point(found.rings_mm[0]))


@given(st.floats(100, 400), st.floats(100, 400), st.floats(1, 80))
def test_the_hook_hides_whenever_some_usual_height_hides_it(wide: float, high: float, angle: float) -> None:
    _, found = hangers_of((wide, high), (wide / 2, high / 2), f"hanging.wire_angle={angle!r}deg")
    level, rise = found.rings_mm[0][1], found.sag_mm
    assert found.hook_mm[1] == pytest.approx(level - rise)
    if found.hook_mm[1] >= HOOK_ROOM_MM - 1e-9:
        # No higher place would have hidden it, but for the usual highest.
        assert level == pytest.approx(HIGHEST * high) or level - rise <= HOOK_ROOM_MM + 0.01 * high
    else:
        assert level <= LOWEST * high + 1e-9
        assert angle > found.hides_deg


@pytest.mark.parametrize("size", [(300.0, 150.0), (400.0, 100.0), (240.0, 240.0)])
def test_the_angle_that_is_told_hides_the_hook(size: tuple[float, float]) -> None:
    centre = (size[0] / 2, size[1] / 2)
    _, steep = hangers_of(size, centre, "hanging.wire_angle=60deg")
    assert not steep.hidden
    _, flat = hangers_of(size, centre, f"hanging.wire_angle={steep.hides_deg}deg")
    assert flat.hook_mm[1] >= HOOK_ROOM_MM - 1e-6
    _, next_one = hangers_of(size, centre, f"hanging.wire_angle={steep.hides_deg + 1}deg")
    assert next_one.hook_mm[1] < HOOK_ROOM_MM


def test_on_a_disc_the_rings_lie_on_its_ring() -> None:
    panel, found = hangers_of((240, 240), (119, 130), "panel.corner=120mm")
    for ring in found.rings_mm:
        assert abs(math.dist(ring, (120, 120)) - 113) < 0.01
    assert panel.outline.contains(Point(found.hook_mm))


def test_a_wide_frame_lets_the_rings_follow_the_centre_of_gravity() -> None:
    job = load_job(None, ["panel.frame=30mm"])
    panel = make_panel(300, 200, job)
    found = place_hangers(panel, 30.0, (156, 100), job.hanging)
    assert sum(x for x, _ in found.rings_mm) / 2 == pytest.approx(156)
    assert found.beside_mm == 0
    assert found.on_wood


def test_a_back_without_openings_takes_rings_anywhere() -> None:
    _, found = hangers_of((300, 200), (120, 100), whole=True)
    (left, _), (right, _) = found.rings_mm
    assert ((left + right) / 2, left, found.beside_mm) == (120, 7, 0)


def test_a_plate_wider_than_the_wood_is_told() -> None:
    job = load_job(None, ["hanging.plate=20mm"])
    found = place_hangers(make_panel(300, 200, job), WIDTH, (150, 100), job.hanging)
    assert not found.on_wood


@pytest.mark.parametrize("corner", [0.0, 100.0])
def test_one_hanger_sits_in_the_frame_above_the_centre_of_gravity(corner: float) -> None:
    settings = ("hanging.hanger=one", f"panel.corner={corner}mm", "hanging.top=1600mm")
    panel, found = hangers_of((200, 200), (108, 110), *settings)
    ((x, y),) = found.rings_mm
    assert x == 108
    assert found.on_wood
    assert Point(x, y).distance(panel.outline.exterior) == pytest.approx(WIDTH / 2, abs=0.01)
    assert (found.wire_mm, found.cut_mm, found.spacing_mm) == (0, 0, 0)
    assert found.hook_height_mm == 1600 - y
    assert wire_pull_n(5.0, found, 30.0) is None


@given(st.floats(5, 80), st.floats(5, 80))
def test_two_angles_share_the_weight_and_pull_alike_sideways(one: float, other: float) -> None:
    larger = wire_tension_n(10, one, other)
    steep, flat = max(one, other), min(one, other)
    smaller = larger * math.cos(math.radians(steep)) / math.cos(math.radians(flat))
    up = larger * math.sin(math.radians(steep)) + smaller * math.sin(math.radians(flat))
    assert up == pytest.approx(10)
    assert larger >= smaller - 1e-9
