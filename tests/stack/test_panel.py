"""The panel: its frame is whole, its pins fit one way round only, and a job that doesn't go with it is refused."""

import math

import numpy as np
import pytest
import shapely
from shapely import Point, Polygon, affinity

from layercut.errors import JobError
from layercut.job import load_job
from layercut.model import Panel
from layercut.stack.panel import PIN_WALL_MM, make_panel

SIZES = [(100.0, 100.0), (279.4, 215.9), (60.0, 200.0), (200.0, 60.0)]


def _panel(size: tuple[float, float], *settings: str) -> Panel:
    return make_panel(*size, load_job(None, settings))


@pytest.mark.parametrize("size", SIZES)
def test_outline_interior_and_frame_make_up_the_panel(size: tuple[float, float]) -> None:
    panel = _panel(size, "panel.frame=5mm")
    assert panel.outline.area == pytest.approx(size[0] * size[1])
    assert panel.interior.area == pytest.approx((size[0] - 10) * (size[1] - 10))
    assert panel.frame.area + panel.interior.area == pytest.approx(panel.outline.area)
    assert panel.pins == ()


def test_a_rounded_panel_keeps_its_frame_width_round_the_corners() -> None:
    panel = _panel((100, 80), "panel.frame=5mm", "panel.corner=12mm")
    exact = 100 * 80 - (4 - math.pi) * 144 - (90 * 70 - (4 - math.pi) * 49)
    assert panel.frame.area == pytest.approx(exact, abs=0.4)
    edge = shapely.points(shapely.get_coordinates(panel.interior.exterior))
    away = shapely.distance(panel.outline.exterior, edge)
    assert away.min() == pytest.approx(5, abs=0.003)
    assert away.max() == pytest.approx(5, abs=0.003)


def test_a_corner_sharper_than_the_frame_leaves_a_square_interior() -> None:
    assert len(_panel((100, 80), "panel.frame=5mm", "panel.corner=4mm").interior.exterior.coords) == 5


def test_half_the_side_makes_a_disc() -> None:
    panel = _panel((100, 100), "panel.frame=5mm", "panel.corner=50mm")
    assert panel.outline.area == pytest.approx(math.pi * 2500, abs=0.7)
    assert panel.interior.area == pytest.approx(math.pi * 2025, abs=0.7)


def _pinned(size: tuple[float, float], corner: float = 0.0) -> Panel:
    return _panel(size, "panel.pins=true", f"panel.corner={corner}mm")


@pytest.mark.parametrize("corner", [0.0, 3.0, 15.0, 30.0])
@pytest.mark.parametrize("size", SIZES)
def test_pin_holes_lie_in_the_frame_with_wood_on_both_sides(size: tuple[float, float], corner: float) -> None:
    panel = _pinned(size, corner)
    ring = Polygon(panel.outline.exterior, [panel.interior.exterior])
    assert len(panel.pins) == 3
    for pin in panel.pins:
        assert ring.contains(pin)
        assert pin.distance(ring.boundary) >= PIN_WALL_MM - 0.003
        assert pin.area == pytest.approx(math.pi, rel=0.005)
    assert panel.frame.area == pytest.approx(ring.area - sum(pin.area for pin in panel.pins))
    assert panel.frame.is_valid


def _own_symmetries(size: tuple[float, float]) -> list[np.ndarray]:
    """The turns and flips that bring a rectangle's outline onto itself, but for doing nothing."""
    found = [np.diag([-1.0, 1.0]), np.diag([1.0, -1.0]), np.diag([-1.0, -1.0])]
    if size[0] == size[1]:
        swap = np.array([[0.0, 1.0], [1.0, 0.0]])
        found += [swap, -swap, np.diag([1.0, -1.0]) @ swap, np.diag([-1.0, 1.0]) @ swap]
    return found


@pytest.mark.parametrize("corner", [0.0, 15.0, 30.0])
@pytest.mark.parametrize("size", SIZES)
def test_a_turned_or_flipped_sheet_misses_a_pin(size: tuple[float, float], corner: float) -> None:
    panel = _pinned(size, corner)
    spots = np.array([pin.centroid.coords[0] for pin in panel.pins]) - np.array(size) / 2
    for move in _own_symmetries(size):
        away = np.hypot(*(spots[:, None] - (spots @ move.T)[None]).transpose(2, 0, 1)).min(axis=0)
        assert away.max() > 1.0, move  # a pin's radius: the hole lies beside the pin


def test_on_a_disc_no_turn_and_no_flip_fits_but_the_right_one() -> None:
    panel = _pinned((100, 100), 50.0)
    holes = shapely.union_all(panel.pins)
    for mirrored in (False, True):
        start = affinity.scale(holes, -1, 1, origin=(50, 50)) if mirrored else holes
        for step in range(0 if mirrored else 1, 360):
            turned = affinity.rotate(start, step, origin=(50, 50))
            assert turned.intersection(holes).area < 0.7 * holes.area, (mirrored, step)


@pytest.mark.parametrize(
    ("settings", "code"),
    [
        (["panel.frame=50mm"], "panel-frame"),
        (["panel.frame=1mm"], "panel-frame"),
        (["panel.frame=0mm", "limits.neck=0mm"], "panel-frame"),
        (["panel.corner=50.1mm"], "panel-corner"),
        (["panel.pins=true", "panel.frame=3.9mm"], "panel-pins"),
        (["panel.pins=true", "panel.pin_diameter=5mm"], "panel-pins"),
        (["machine.bed_width=99mm"], "panel-bed"),
        (["machine.bed_width=300mm", "machine.bed_height=99mm"], "panel-bed"),
    ],
)
def test_what_does_not_go_with_the_panel_is_refused_with_a_hint(settings: list[str], code: str) -> None:
    with pytest.raises(JobError) as caught:
        _panel((100, 100), *settings)
    assert caught.value.code == code
    assert caught.value.hint


def test_a_panel_may_lie_turned_on_the_bed() -> None:
    _panel((100, 200), "machine.bed_width=200mm", "machine.bed_height=100mm")
    with pytest.raises(JobError, match="bed"):
        _panel((100, 200), "machine.bed_width=199mm", "machine.bed_height=199mm")


def test_walls_beside_a_pin_are_never_narrower_than_a_neck() -> None:
    """The frame must hold round its pins: with thinner walls every sheet hangs in three parts."""
    with pytest.raises(JobError) as caught:
        _panel((100, 100), "panel.pins=true", "panel.frame=4mm", "limits.neck=1.5mm")
    assert caught.value.code == "panel-pins"


def test_a_pin_hole_is_as_wide_as_its_pin() -> None:
    panel = _panel((100, 100), "panel.pins=true", "panel.pin_diameter=3mm")
    centre = Point(panel.pins[0].centroid)
    assert shapely.hausdorff_distance(panel.pins[0].exterior, centre.buffer(1.5, quad_segs=64).exterior) < 0.004


def test_blind_pins_leave_the_face_whole_and_lie_where_others_do() -> None:
    through, blind = _panel((200, 150), "panel.pins=true"), _panel((200, 150), "panel.pins=blind")
    assert blind.pins == through.pins
    assert blind.frame.equals(through.frame)
    assert len(blind.face.interiors) == 1
    assert through.face is through.frame
    assert blind.face.area == pytest.approx(blind.frame.area + sum(pin.area for pin in blind.pins))


def test_pins_are_true_false_or_blind() -> None:
    with pytest.raises(JobError, match="needs true, false or") as caught:
        load_job(None, ["panel.pins=hidden"])
    assert "'panel.pins'" in caught.value.message
